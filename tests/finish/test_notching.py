"""Notches: the kinds of ASTM D6673, their areas by plain geometry, square to the edge."""

import numpy as np
import pytest
from shapely.geometry import LinearRing, LineString, Point, Polygon

from plotout.errors import UserError
from plotout.finish import finish
from plotout.finish.bare_card import PlacedNotch
from plotout.finish.notch_places import placed_notches
from plotout.finish.notch_shapes import notched
from plotout.finish.prepare import cut_line
from plotout.geometry.strokes import Mark, NotchKind, Work
from plotout.pattern.model import Defaults, Notch, NotchStyle

from .conftest import a_front, a_set, edge, rectangle

PLAIN = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 60.0], [0.0, 60.0], [0.0, 0.0]])
WIDE, DEEP = 4.0, 5.0
OPENED = {  # areas of a triangle, a rectangle, a half disc on a rectangle
    NotchKind.V: WIDE * DEEP / 2,
    NotchKind.CHECK: WIDE * DEEP / 2,
    NotchKind.CASTLE: WIDE * DEEP,
    NotchKind.U: WIDE * (DEEP - WIDE / 2) + np.pi * WIDE**2 / 8,
}


def at(x, y, kind, **more):
    fields = {"count": 1, "cut": True, "allowance": 12.7, **more}
    style = NotchStyle(kind, DEEP, WIDE, 8.0, fields["cut"])
    return PlacedNotch(np.array([x, y]), style, fields["count"], fields["allowance"], f"at {x}")


@pytest.mark.parametrize("count", [1, 2, 3])
@pytest.mark.parametrize("kind", list(OPENED))
def test_wide_kinds_open_the_edge_by_their_area(kind, count):
    outline, strokes, warnings = notched(PLAIN, [at(40.0, 0.0, kind, count=count)])
    card = Polygon(outline)
    assert card.is_valid
    assert not strokes
    assert not warnings
    assert 6000 - card.area == pytest.approx(count * OPENED[kind], rel=0.01)
    gone = Polygon(PLAIN).difference(card)
    assert gone.bounds[3] == pytest.approx(DEEP, abs=1e-9)
    assert gone.centroid.x == pytest.approx(40.0, abs=1.5)


@pytest.mark.parametrize("kind", [NotchKind.SLIT, NotchKind.T])
def test_narrow_kinds_are_cuts_of_their_own(kind):
    outline, strokes, _ = notched(PLAIN, [at(40.0, 0.0, kind)])
    assert Polygon(outline).area == pytest.approx(6000)
    assert {(s.work, s.mark, s.notch) for s in strokes} == {(Work.CUT, Mark.NOTCH, kind)}
    stem = strokes[-1].points
    assert np.allclose(stem, [[40, DEEP], [40, 0]])
    assert len(strokes) == (2 if kind is NotchKind.T else 1)


@pytest.mark.parametrize("kind", list(NotchKind))
def test_drawn_notches_leave_the_edge_whole(kind):
    outline, strokes, _ = notched(PLAIN, [at(40.0, 0.0, kind, cut=False, count=2)])
    assert np.array_equal(outline, PLAIN)
    assert {(s.work, s.mark, s.notch) for s in strokes} == {(Work.DRAW, Mark.NOTCH, kind)}


@pytest.mark.parametrize("turn", [0.0, 37.0, 90.0, 214.0])
def test_square_to_the_cutting_line_however_it_lies(turn):
    way = np.array([np.cos(np.radians(turn)), np.sin(np.radians(turn))])
    spin = np.vstack([way, [-way[1], way[0]]])
    x, y = np.array([40.0, 0.0]) @ spin
    _, strokes, _ = notched(PLAIN @ spin, [at(x, y, NotchKind.SLIT)])
    slit = strokes[0].points
    assert abs((slit[1] - slit[0]) @ way) < 1e-9


def test_square_to_a_curve():
    turn = np.radians(np.arange(361.0))
    ring = 80.0 * np.column_stack([np.cos(turn), np.sin(turn)])
    ring[-1] = ring[0]
    for angle in (0.0, 33.3, 180.2, 359.9):
        point = 80.0 * np.array([np.cos(np.radians(angle)), np.sin(np.radians(angle))])
        _, strokes, _ = notched(ring, [at(*point, NotchKind.SLIT)])
        slit = strokes[0].points[1] - strokes[0].points[0]
        sway = np.degrees(np.arccos(slit @ point / np.hypot(*slit) / 80.0))
        assert sway < 0.5  # half a facet of this circle


def test_the_first_point_of_the_outline_is_no_obstacle():
    outline, _, _ = notched(PLAIN, [at(0.5, 0.0, NotchKind.V), at(0.0, 30.0, NotchKind.U)])
    assert Polygon(outline).is_valid


def test_notches_that_run_together_are_told():
    _, _, warnings = notched(PLAIN, [at(40.0, 0.0, NotchKind.V), at(42.0, 0.0, NotchKind.V)])
    assert warnings == ("at 40.0 and at 42.0 run together (2.0 mm apart)",)


def test_a_notch_that_reaches_the_stitching_line_is_told():
    _, _, warnings = notched(PLAIN, [at(40.0, 0.0, NotchKind.SLIT, allowance=5.0)])
    assert "reaches the stitching line" in warnings[0]


def test_seam_notches_lie_where_the_stitching_line_meets_the_cutting_line():
    # on a rectangle: two at each corner, as far from the corner as the neighbour's allowance
    piece = rectangle("Patch", 100, 60, 10.0)
    outline = cut_line(piece, Defaults())
    found = sorted(tuple(n.at.round(6)) for n in placed_notches(piece, outline, NotchStyle()))
    want = [(x, y) for x in (-10, 110) for y in (0, 60)] + [
        (x, y) for x in (0, 100) for y in (-10, 70)
    ]
    assert found == sorted((float(x), float(y)) for x, y in want)


def test_no_seam_notch_on_the_fold_nor_where_it_is_not_wanted():
    piece = a_front(notches=())
    quiet = a_front(
        notches=(),
        edges=(edge("hem", [[0, 0], [320, 0]], 40, seam_notches=False), *piece.edges[1:]),
    )
    outline = cut_line(piece, Defaults())
    found = placed_notches(piece, outline, NotchStyle())
    assert min(n.at[0] for n in found) > 1.0
    assert len(found) - len(placed_notches(quiet, outline, NotchStyle())) == 1


def test_every_notch_lies_on_the_cutting_line(front):
    outline = cut_line(front, Defaults())
    ring = LinearRing(outline)
    placed = placed_notches(front, outline, NotchStyle())
    assert len(placed) == 8 + 6
    assert max(ring.distance(Point(n.at)) for n in placed) < 1e-6


def test_a_match_notch_lies_square_across_the_allowance(front):
    outline = cut_line(front, Defaults())
    side = LineString(front.edge("side").points)
    notch = next(n for n in placed_notches(front, outline, NotchStyle()) if n.count == 2)
    assert side.distance(Point(notch.at)) == pytest.approx(12.7, abs=1e-6)
    assert side.project(Point(notch.at)) == pytest.approx(200.0, abs=1e-6)


def test_a_notch_beyond_its_edge_is_refused(front):
    wrong = a_front(notches=(Notch("shoulder", 400.0),))
    with pytest.raises(UserError, match=r"beyond edge 'shoulder', which is 169\.7 mm long"):
        finish(a_set(wrong))
