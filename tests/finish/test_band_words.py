"""Words along the edges of bands, where the block of lettering would take their room.

That each long side should say what it is sewn to is common practice; 2.5 mm is the least height of
letters of ISO 3098-1, distances are measured by shapely.
"""

from dataclasses import replace

import numpy as np
import pytest
from garments import a_set, rectangle
from shapely.geometry import LineString, MultiPoint, Point, Polygon, box

from plotout.finish import finish
from plotout.geometry.lettering import text_width
from plotout.geometry.strokes import Mark
from plotout.pattern.model import Cut, Seam, Side
from plotout.pattern.settings import Defaults

NECK = "neck, to Back and Front"


def band(long, wide, **more):
    """A set with half a collar, its fold at the foot, and pieces that its neck edge goes to."""
    plain = rectangle(
        "Collar", wide, long, 10.0,
        grain=np.array([[wide / 2.0, 40.0], [wide / 2.0, long - 50.0]]),
        cuts=(Cut("self", 2, on_fold=True), Cut("fusing", on_fold=True)),
    )  # fmt: skip
    names = {"foot": "fold", "right": "neck", "top": "end", "left": "top edge"}
    edges = tuple(replace(edge, name=names[edge.name]) for edge in plain.edges)
    over = Side((("Back", "foot", False), ("Front", "foot", False)))
    seam = Seam("neck", Side((("Collar", "neck", False),)), over)
    others = (rectangle(name, long / 2.0, 200.0) for name in ("Back", "Front"))
    collar = replace(plain, edges=edges, fold="fold")
    return a_set(collar, *others, seams=(seam,), **more)


def letters_of(card):
    return [s.points for s in card.strokes if s.mark is Mark.LETTERING]


@pytest.mark.parametrize(("long", "wide"), [(222, 45), (200, 50), (260, 36)])
@pytest.mark.parametrize("qr", [False, True])
def test_the_block_gives_way_to_the_words_along_a_bands_edges(long, wide, qr):
    card = finish(band(long, wide, defaults=Defaults(qr=qr)))[0]
    assert not [warning for warning in card.warnings if "along its lines" in warning]
    near = box(wide - 8, 0, wide, long)  # at most 3.5 mm high, 0.8 of that from the stitching line
    words = MultiPoint(np.vstack([p for p in letters_of(card) if near.contains(LineString(p))]))
    low, foot, high, top = words.bounds
    assert top - foot >= text_width(NECK, 2.5) - 1.0
    assert high - low >= 2.5


@pytest.mark.parametrize("long", [150, 190, 222])
@pytest.mark.parametrize("wide", [36, 44, 52])
def test_no_words_touch_the_hole_the_edge_or_one_another(long, wide):
    """Letters lie at least 1.5 mm from all else that is drawn, and 3 mm from the card's edge."""
    card = finish(band(long, wide))[0]
    letters = MultiPoint(np.vstack(letters_of(card)))
    assert Polygon(card.outline).buffer(-2.99).contains(letters)
    assert Point(card.hole).distance(letters) > 4.0
    for stroke in card.strokes:
        if stroke.mark in (Mark.GRAIN, Mark.NOTCH):
            assert LineString(stroke.points).distance(letters) >= 1.49


def test_words_longer_than_their_edge_are_told():
    """The end is 24 mm long, which no words make longer."""
    made = band(222, 30)
    own = Seam("ends", Side((("Collar", "end", False),)), Side((("Back", "right", False),)))
    card = finish(replace(made, seams=(*made.seams, own)))[0]
    assert [w for w in card.warnings if "along its lines" in w and "'end, to Back'" in w]


@pytest.mark.parametrize(("wide", "told"), [(22.4, False), (8.0, True), (4.0, True)])
def test_a_short_edges_words_are_lettered_or_told(wide, told):
    """No edge is too short to be lettered if its word isn't longer, nor to be missed if it is."""
    lapel = rectangle("Front", 300.0, 200.0)
    cut_off = np.array([[300.0, 0.0], [300.0, 200.0 - wide], [300.0, 200.0]])
    points = {"right": cut_off[:2], "lapel": cut_off[1:]}
    foot, right, *rest = lapel.edges
    edges = [replace(right, name=name, points=line) for name, line in points.items()]
    (card, *_) = finish(a_set(replace(lapel, edges=(foot, *edges, *rest))))
    near = box(280.0, 200.0 - wide, 300.0, 200.0)
    there = [p for p in letters_of(card) if near.contains(LineString(p))]
    listed = any("'lapel'" in w for w in card.warnings if "along its lines" in w)
    assert (bool(there), listed) == (not told, told)
