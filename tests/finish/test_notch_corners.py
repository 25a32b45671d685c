"""Notches and allowances where wide and narrow allowances meet, at corners of every kind.

The reference is plane geometry by shapely: the card less its slits is one piece of card; the halves
of a symmetric piece are mirror images; a cutting line lies its allowance off its edge.
"""

import numpy as np
import pytest
import shapely
from garments import a_set, edge
from shapely.geometry import LineString, Point, Polygon

from plotout.finish import finish
from plotout.geometry.strokes import Mark, NotchKind, Work
from plotout.pattern.model import Cut, Notch, Piece
from plotout.pattern.past_corner import past_corner
from plotout.pattern.settings import Defaults, NotchStyle


def a_piece(corners, allowances, notches=(), **more):
    """Return a piece with straight edges 'e0', 'e1' ..., the last of which ends where e0 begins."""
    ends = np.array([*corners, corners[0]], dtype=float)
    edges = tuple(
        edge(f"e{index}", ends[index : index + 2], allowance)
        for index, allowance in enumerate(allowances)
    )
    grain = np.array([[0.0, 0.0], [0.0, 40.0]]) + ends[:-1].mean(axis=0)
    return Piece("Any", edges, (Cut("self"),), notches=tuple(notches), grain=grain, **more)


def parts(card):
    """Return what a card falls into when it is cut: its area less its slits, mm2 each."""
    slits = [
        LineString(stroke.points)
        for stroke in card.strokes
        if stroke.mark is Mark.NOTCH and stroke.work is Work.CUT
    ]
    left = Polygon(card.outline).difference(shapely.union_all(slits).buffer(1e-3))
    return [part.area for part in shapely.get_parts(left)]


T = NotchStyle(NotchKind.T)
SHARP = [(529.9, 284.1), (222.6, 414.2), (145.2, 96.4)]
BLUNTED = [(318.8, 569.5), (131.0, 116.4), (190.3, 62.2), (405.7, 59.8)]


@pytest.mark.parametrize(
    ("corners", "allowances", "notches"),
    [
        (SHARP, (6, 3, 6), ()),
        (SHARP, (6, 3, 20), (Notch("e0", 332.0, style=T), Notch("e1", 2.0, style=T))),
    ],
)
def test_no_notch_goes_out_at_the_other_side_of_a_sharp_corner(corners, allowances, notches):
    card = finish(a_set(a_piece(corners, allowances, notches)))[0]
    assert not card.faults
    assert len(parts(card)) == 1
    assert any("deep, not 5 mm" in text or "drawn" in text for text in card.warnings)


def test_a_slit_far_past_a_sharp_corner_is_not_called_askew():
    """Of allowances of 40 and 30 mm, a mitre may reach 100 mm past the corner."""
    card = finish(a_set(a_piece(BLUNTED, (40, 3, 0, (10, 30)))))[0]
    assert not card.faults


@pytest.mark.parametrize(
    ("outer", "allowances"),
    [
        ([(89.4, 0), (216.3, 1.1), (214, 239.5)], (10, 20, 40, 20)),  # a step
        ([(140.8, 8.2), (116.1, 62.3)], (20, 10, 12.7)),  # an inner corner of 7 degrees
        ([(140.8, 8.2), (130.0, 100.0), (100.0, 200.0)], (20, 12.7, 12.7, 12.7)),  # an outer one
        ([(140.8, 8.2), (138.0, 100.0), (112.0, 200.0)], (20, 3, 40, 12.7)),
    ],
)
def test_the_halves_of_a_whole_card_have_the_same_notches(outer, allowances):
    top = [(0.0, 428.4)] if outer[-1][1] < 210 else [(0.0, 239.5)]
    corners = [(0.0, 0.0), *outer, *top]
    piece = a_piece(corners, (*allowances, 0), fold=f"e{len(corners) - 1}", whole=True)
    card = finish(a_set(piece))[0]
    assert not card.faults
    middle = (card.stitching[:, 0].min() + card.stitching[:, 0].max()) / 2.0
    angles = np.radians([notch.angle for notch in card.notches])
    found = np.column_stack([
        [notch.at for notch in card.notches], np.cos(angles), np.sin(angles),
        [notch.depth for notch in card.notches],
    ])  # fmt: skip
    mirrored = found * [-1, 1, -1, 1, 1] + [2 * middle, 0, 0, 0, 0]
    for one in mirrored:
        assert np.abs(found - one).max(axis=1).min() < 0.02


def test_an_allowance_that_a_narrow_one_beside_it_cuts_off_is_told():
    """At a corner of 26 degrees the line 3 mm outside e0 meets the one 40 mm outside e1 far off.

    By plane geometry: 3 / tan + 40 / tan of what they turn, past the corner along e1, and half of
    40 mm is reached half-way there, less what the 3 mm take off.
    """
    turn = np.radians(26.0)
    ahead = 300.0 * np.array([np.cos(turn), np.sin(turn)])
    corners = [(0.0, 0.0), (200.0, 0.0), (200.0 + ahead[0], ahead[1]), (120.0, 300.0)]
    half = (20.0 * np.cos(turn) - 3.0) / np.sin(turn)
    card = finish(a_set(a_piece(corners, (3, 40, 12.7, 12.7))))[0]
    told = [text for text in card.warnings if "is cut off by" in text]
    assert len(told) == 1
    assert "the allowance of 'e1', 40 mm, is cut off by that of 'e0'" in told[0]
    assert float(told[0].split("over ")[1].split(" mm")[0]) == pytest.approx(half, abs=1.5)
    square = finish(a_set(a_piece([(0, 0), (200, 0), (200, 300), (0, 300)], (3, 40, 12.7, 12.7))))
    assert not any("cut off" in text for text in square[0].warnings)


@pytest.mark.parametrize("kind", list(NotchKind))
def test_a_drawn_notch_ends_at_the_card_s_edge(kind):
    """Beside a corner without an allowance half of a wide one would be drawn off the card."""
    square = [(0, 0), (200, 0), (200, 300), (0, 300)]
    style = NotchStyle(kind, width=10.0)
    notches = [Notch("e0", along, style=style) for along in (1.0, 199.0)]
    card = finish(a_set(a_piece(square, (0, 0, 12.7, 0), notches)))[0]
    drawn = [s for s in card.strokes if s.mark is Mark.NOTCH and s.work is Work.DRAW]
    assert len(drawn) >= 2
    for stroke in drawn:
        assert Polygon(card.outline).buffer(0.002).covers(LineString(stroke.points))


@pytest.mark.parametrize("kind", [kind for kind in NotchKind if kind is not NotchKind.CHECK])
def test_at_the_fold_half_of_a_notch_is_cut(kind):
    """The card has half of what the unfolded one has: its area is smaller by as much."""
    square = [(0, 0), (200, 0), (200, 300), (0, 300)]
    areas = []
    for notches in ([Notch("e0", 0.0, style=NotchStyle(kind))], []):
        piece = a_piece(square, (12.7, 12.7, 12.7, 0), notches, fold="e3")
        card = finish(a_set(piece))[0]
        assert not any("corner" in text for text in card.warnings)
        areas.append(Polygon(card.outline).area)
    assert areas[1] - areas[0] > 4.0


def test_a_slit_of_a_seam_s_end_gives_way_to_a_match_notch_beside_it():
    """A V 4 mm wide, 2 mm from the corner, takes the place of the slit at that corner."""
    square = [(0, 0), (200, 0), (200, 300), (0, 300)]
    match = Notch("e0", 2.0, style=NotchStyle(NotchKind.V))
    card = finish(a_set(a_piece(square, (12.7, 12.7, 12.7, 12.7), [match])))[0]
    assert not card.faults
    told = (
        "'e0' and the seam notch at the end of 'e3' are 2.0 mm apart: they run together, and only"
    )
    assert any(told in text for text in card.warnings)
    assert len(card.notches) == 8


@pytest.mark.parametrize("radius", [20.0, 60.0, 200.0])
def test_a_curved_seam_goes_on_past_its_corner_along_its_tangent(radius):
    """A quarter circle, which begins along y = 0 and ends along x = radius."""
    turn = np.linspace(0.0, np.pi / 2.0, int(30 * radius**0.5))
    curve = radius * np.column_stack([np.sin(turn), 1.0 - np.cos(turn)])
    seam, other = edge("neck", curve), edge("side", [[-200.0, 200.0], [0.0, 0.0]])
    at_start = past_corner(seam, other, ends=False, mirrored=False)
    at_end = past_corner(seam, other, ends=True, mirrored=False)
    along = [LineString(at_start).interpolate(40.0), LineString(at_end).interpolate(40.0)]
    assert (along[0].x, along[0].y) == pytest.approx((-40.0, 0.0), abs=0.01)
    assert (along[1].x, along[1].y) == pytest.approx((radius, radius + 40.0), abs=0.01)


@pytest.mark.parametrize("turn", [19.5, 19.9, 20.1, 20.5, 30.0])
def test_a_slight_corner_between_curves_has_no_fault(turn):
    """Whichever side of the angle it is on that parts one slit at a corner from two: a facet's
    heading is half a facet's turn past the curve's own.
    """
    headings = np.radians(turn + np.arange(0.0, 60.0, 1.5))
    arc = 100.0 * np.column_stack([np.sin(headings), -np.cos(headings)])
    arc -= arc[0]
    above = [(arc[-1, 0], 200.0), (-200.0, 200.0), (-200.0, 0.0)]
    lines = [[(-200.0, 0.0), (0.0, 0.0)], arc, [arc[-1], above[0]], above[:2], above[1:]]
    edges = tuple(edge(f"e{n}", np.array(line, dtype=float), 8) for n, line in enumerate(lines))
    grain = np.array([[-100.0, 50.0], [-100.0, 150.0]])
    card = finish(a_set(Piece("Visor", edges, (Cut("self"),), grain=grain)))[0]
    assert not card.faults
    assert len(parts(card)) == 1


def a_tip(degrees, allowance):
    """Return a piece with a sharp corner, at the origin."""
    half = np.radians(degrees / 2.0)
    corners = 250.0 * np.array(
        [(0, 0), (np.sin(half), np.cos(half)), (-np.sin(half), np.cos(half))]
    )
    return a_piece(corners, (allowance,) * 3)


@pytest.mark.parametrize("kind", [NotchKind.SLIT, NotchKind.V, NotchKind.T])
@pytest.mark.parametrize(
    ("degrees", "allowance"), [(10, 8), (16, 8), (20, 8), (24, 8), (10, 30), (10, 40)]
)
def test_notches_do_not_eat_away_a_blunt_tip(degrees, allowance, kind):
    """The edge that ends it stays straight: by its convex hull nothing is gone, no cut is near."""
    style = NotchStyle(kind)
    card = finish(a_set(a_tip(degrees, allowance), defaults=Defaults(notch=style)))[0]
    tip = Point(0.0, 0.0).buffer(allowance + 17.0)
    assert np.hypot(*card.stitching.T).min() == 0.0
    outline = Polygon(card.outline)
    assert (outline.convex_hull & tip).area - (outline & tip).area < 0.01
    cuts = [LineString(s.points) for s in card.strokes if s.mark is Mark.NOTCH]
    assert not any(cut.intersects(tip) for cut in cuts)
    assert sum("left out" in text and "tip" in text for text in card.warnings) == 1


@pytest.mark.parametrize("degrees", [80, 88, 92, 100])
@pytest.mark.parametrize(("allowance", "work"), [(2.0, Work.DRAW), (3.0, Work.CUT)])
def test_notches_of_a_narrow_allowance_at_a_full_corner_are_not_left_out(degrees, allowance, work):
    """As deep as it lets them be, 1 mm off the stitching line, they are far from meeting."""
    card = finish(a_set(a_tip(degrees, allowance)))[0]
    slits = [stroke for stroke in card.strokes if stroke.mark is Mark.NOTCH]
    near = [stroke.work for stroke in slits if np.hypot(*stroke.points[0]) < 20.0]
    assert near == [work, work]


def test_a_blunt_tip_with_room_for_both_keeps_its_notches():
    """60 mm outside both edges of a corner of 10 degrees, they are 26 mm apart, and 5 mm deep."""
    card = finish(a_set(a_tip(10, 60)))[0]
    assert not any("tip" in text for text in card.warnings)
    assert len(card.notches) == 6
