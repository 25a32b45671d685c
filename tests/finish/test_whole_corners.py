"""A half whose card is made `whole` is its own mirror image, whatever its corners.

The reference is the mirror image itself, and the half's own card.
"""

from dataclasses import replace
from itertools import product

import pytest
import shapely
from garments import edge
from shapely.affinity import scale
from shapely.geometry import Polygon

from plotout.finish.prepare import cut_line, ready
from plotout.pattern.model import Cut, Piece
from plotout.pattern.settings import Corner, Defaults

KINDS = tuple(Corner)


def half(kinds, hem, neck=10.0):
    """Half a piece on its fold, x = 0, its side leaning in: no two allowances of it are alike."""
    hem_kind, side_kind, top_kind = kinds
    edges = (
        edge("hem", [[0, 0], [150, 0]], hem, corner=hem_kind),
        edge("side", [[150, 0], [120, 300]], 12.0, corner=side_kind),
        edge("shoulder", [[120, 300], [60, 315]], 8.0, corner=top_kind),
        edge("neck", [[60, 315], [0, 250]], neck, corner=side_kind),
        edge("fold", [[0, 250], [0, 0]], 0.0),
    )
    return Piece("Front", edges, (Cut("self", on_fold=True),), fold="fold")


def card(piece, *, whole):
    return Polygon(cut_line(ready(replace(piece, whole=whole)), Defaults()))


def mirrored(shape):
    return scale(shape, -1.0, 1.0, origin=(0.0, 0.0))


@pytest.mark.parametrize("hem", [0.0, 25.0, (25.0, 15.0)])
@pytest.mark.parametrize("neck", [10.0, (10.0, 6.0)])
def test_a_whole_card_is_its_own_mirror_image_and_twice_the_half(hem, neck):
    for kinds in product(KINDS, repeat=3):
        piece = half(kinds, hem, neck)
        whole, own = card(piece, whole=True), card(piece, whole=False)
        assert whole.symmetric_difference(mirrored(whole)).area < 1e-3, kinds
        both = shapely.union_all([own.buffer(1e-7), mirrored(own).buffer(1e-7)])
        assert both.symmetric_difference(whole).area < 1e-3, kinds


def test_a_square_corner_of_the_other_side_is_square_too():
    """A side of 12 mm that leans in by 30 in 300 ends square at the hem, 20 mm below it.

    Its stitching line, extended, meets the hem's cutting line at x = 152, and the corner lies
    12 mm square to it from there: at x = 152 + 12 cos, y = -20 + 12 sin of its lean.
    """
    piece = half((Corner.MITRE, Corner.SQUARE, Corner.MITRE), 20.0)
    lean = shapely.Point(30.0, 300.0)
    long = (lean.x**2 + lean.y**2) ** 0.5
    at = 152.0 + 12.0 * lean.y / long, -20.0 + 12.0 * lean.x / long
    whole = card(piece, whole=True)
    for x in (at[0], -at[0]):
        assert shapely.MultiPoint(whole.exterior.coords).distance(shapely.Point(x, at[1])) < 1e-6
