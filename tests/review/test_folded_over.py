"""What doesn't lie on the piece once it is folded over. Reference: reflection, by shapely."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.affinity import scale

from plotout.geometry.offset import cutting_line
from plotout.opening import read_set
from plotout.pattern.borders import borders
from plotout.review.folded_over import card_of, folded_over

SET = """
[set]
name = "Front"
style = "F"
[defaults]
allowance = "10 mm"
[[piece]]
name = "Front"
points = {points}
edges = {edges}
grain = {{ along = "front" }}
cut = {{ cloth = "self", pair = true }}
[piece.edge.front]
allowance = "{wide} mm"
facing = true
"""
UP = [(40, 640), (60, 700), (235, 650)]
FLAT = [(40, 660), (120, 662), (235, 650)]
OUT = [(80, 640), (100, 700)]
STRAIGHT = [(95, 690), (235, 650)]


def front(tmp_path, neck, wide=80, lapel=(20, 610)):
    """A front whose fold is at x = 0, with these corners from its lapel to its shoulder."""
    corners = [(0, 600), (0, 0), (300, 0), (290, 420), *neck[::-1], lapel]
    edges = ["front", "hem", "side", "armhole", *(f"neck {k}" for k in range(len(neck))), "lapel"]
    text = SET.format(
        points=[list(c) for c in corners], edges=str(edges).replace("'", '"'), wide=wide
    )
    (tmp_path / "set.toml").write_text(text)
    (piece,) = read_set(tmp_path / "set.toml").pieces
    return piece, next(edge for edge in piece.edges if edge.name == "front")


@pytest.mark.parametrize(("neck", "lapel"), [(OUT, (-30, 640)), ([], (-20, 610))])
def test_what_is_left_bare_past_a_lapel_beyond_the_fold_is_told_in_mm(tmp_path, neck, lapel):
    piece, edge = front(tmp_path, [*neck, (235, 650)], lapel=lapel)
    card = shapely.Polygon(cutting_line(borders(piece.edges, None)))
    flap = scale(card & shapely.box(-900, -900, 0, 900), -1, 1, origin=(0, 0))
    bare = (card & shapely.box(0, 0, 80, 900)) - flap
    wide = 2.0 * max(
        shapely.maximum_inscribed_circle(p, 0.01).length for p in shapely.get_parts(bare)
    )
    assert wide > 10.0
    (said,) = folded_over(edge, piece, card_of(piece))
    assert f"leaves {wide:.1f} mm of the piece bare" in said


@pytest.mark.parametrize(("neck", "wide"), [(STRAIGHT, 80), (STRAIGHT, 15), (UP, 80), (FLAT, 80)])
def test_a_mirror_image_is_silent(tmp_path, neck, wide):
    piece, edge = front(tmp_path, neck, wide)
    assert not list(folded_over(edge, piece, card_of(piece)))


def test_a_vent_ends_where_its_side_goes_on(tmp_path):
    """A facing in the middle of a straight side covers the piece beside itself only."""
    text = SET.format(
        points=[[0, 600], [0, 300], [0, 0], [300, 0], [300, 600]],
        edges='["side", "front", "hem", "centre", "top"]',
        wide=30,
    )
    (tmp_path / "set.toml").write_text(text)
    (piece,) = read_set(tmp_path / "set.toml").pieces
    (edge,) = (edge for edge in piece.edges if edge.name == "front")
    assert np.ptp(edge.points[:, 1]) == 300.0
    assert not list(folded_over(edge, piece, card_of(piece)))


def test_a_piece_without_a_cutting_line_is_told_elsewhere(tmp_path):
    piece, _ = front(tmp_path, STRAIGHT)
    edges = [replace(e, allowance=(-400.0, -400.0)) if e.name == "side" else e for e in piece.edges]
    narrow = replace(piece, edges=tuple(edges))
    with pytest.raises(ValueError, match="narrower than"):
        cutting_line(borders(narrow.edges, None))
    assert card_of(narrow) is None


@pytest.mark.parametrize(("drop", "top"), [(-25, 0), (25, 0), (-25, 30), (0, -20)])
def test_a_facing_beside_a_sloping_hem_lies_on_the_piece_and_its_hem(tmp_path, drop, top):
    """Folded over first: both layers of the hem are turned up together."""
    text = SET.format(
        points=[[0, 600 + top], [0, 0], [300, drop], [300, 600]],
        edges='["front", "hem", "side", "shoulder"]',
        wide=60,
    )
    hems = "".join(
        f'[piece.edge.{name}]\nallowance = "30 mm"\ncorner = "turned back"\n'
        for name in ("hem", "shoulder")
    )
    (tmp_path / "set.toml").write_text(text + hems)
    (piece,) = read_set(tmp_path / "set.toml").pieces
    card = shapely.Polygon(cutting_line(borders(piece.edges, None)))
    flap = scale(card & shapely.box(-900, -900, 0, 900), -1, 1, origin=(0, 0))
    assert flap.area > 60.0 * 600.0
    assert flap.symmetric_difference(card & shapely.box(0, -900, 60, 900)).area < 1.0
    assert not [said for edge in piece.edges for said in folded_over(edge, piece, card_of(piece))]
