"""Names along internal lines: beside their line, inside the card, clear of all else (shapely)."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, MultiPoint, Polygon, box

from plotout import job
from plotout.finish.bare_card import Label
from plotout.finish.naming import label_strokes
from plotout.finish.prepare import bare_card
from plotout.geometry.strokes import Mark
from plotout.pattern.settings import Defaults, OnCards

SAMPLE = Path(__file__).parents[2] / "samples" / "beekeepers-smock" / "set.toml"
CARD = box(0, 0, 200, 300)


def named(points, others=(), card=CARD, name="pleat line"):
    line = Label(np.array(points, dtype=float), (name,))
    return label_strokes([line], card, [LineString(line.points), *others]).strokes, line


@pytest.mark.parametrize(
    "points",
    [[(40, 40), (40, 260)], [(30, 150), (170, 150)], [(20, 20), (180, 280)], [(180, 30), (20, 90)]],
)
def test_a_name_lies_along_its_line_within_the_card(points):
    letters, line = named(points)
    assert {stroke.mark for stroke in letters} == {Mark.LETTERING}
    block = MultiPoint(np.vstack([stroke.points for stroke in letters]))
    assert CARD.buffer(-3.0).contains(block)
    gaps = shapely.distance(LineString(line.points), shapely.points(shapely.get_coordinates(block)))
    assert gaps.min() >= 1.49
    assert gaps.max() < 2.5 * 3.5


def test_it_gives_way_to_other_marks_and_is_left_out_without_room():
    points = [(30, 150), (170, 150)]
    busy = box(70, 140, 130, 160)  # lettering about the middle
    letters, _ = named(points, [busy])
    block = MultiPoint(np.vstack([stroke.points for stroke in letters])).convex_hull
    assert block.distance(busy) >= 1.49
    assert named(points, [box(0, 100, 200, 149), box(0, 151, 200, 200)])[0] == []
    assert named([(30, 150), (36, 150)])[0] == []
    assert named(points, card=Polygon([(0, 149), (200, 149), (200, 151), (0, 151)]))[0] == []


def test_what_has_no_room_along_its_line_is_told():
    """An edge of another part, or of which the card has little, is not missed."""
    lines = ([(0, 10), (200, 10)], [(190, 0), (190, 20)], [(300, 0), (400, 0)])
    labels = [Label(np.array(line, float), (f"edge {nth}",)) for nth, line in enumerate(lines)]
    found = label_strokes(labels, CARD, [box(0, 0, 200, 25)])
    assert (found.strokes, found.lost, found.short) == ([], ["edge 0"], [])


@pytest.mark.parametrize(("room", "told"), [(120, []), (24, ["side, to Back leg"]), (8, [])])
def test_words_that_are_shortened_for_want_of_room_are_told(room, told):
    label = Label(np.array([(10.0, 20.0), (190.0, 20.0)]), ("side, to Back leg", "side"))
    others = [box(10, 0, 100 - room / 2, 60), box(100 + room / 2, 0, 190, 60)]
    found = label_strokes([label], CARD, others)
    assert found.short == told
    assert found.lost == ([] if found.strokes else ["side, to Back leg"])
    assert len(found.warnings) == bool(told or found.lost)


def test_the_number_of_a_dxf_layer_is_no_name():
    """ASTM D6673-10: internal lines lie on layer 8. The sample's pocket has one, without a name."""
    pieces = job.read_set(SAMPLE).pieces
    (pocket,) = (piece for piece in pieces if piece.name == "Pocket")
    lines = [line for line in pocket.lines if line.kind == "internal"]
    assert lines
    plain = Defaults(on_cards=OnCards(edges=False, sewn_to=False, allowance=False, front=False))
    assert bare_card(pocket, plain).labels == ()
