"""Notches: the kinds of ASTM D6673, their areas by plain geometry, square to the edge."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
import shapely
from garments import a_front, a_set, arc, edge, rectangle
from shapely.geometry import LinearRing, LineString, Point, Polygon

from plotout.errors import UserError
from plotout.finish import finish
from plotout.finish.bare_card import PlacedNotch
from plotout.finish.notch_check import notch_faults
from plotout.finish.notch_fit import fitted
from plotout.finish.notch_places import placed_notches
from plotout.finish.notch_shapes import is_open, notched
from plotout.finish.prepare import bare_card, cut_line, ready
from plotout.geometry.polyline import length
from plotout.geometry.strokes import Mark, NotchKind, Work
from plotout.pattern.model import Cut, Notch, Piece, Seam, Side
from plotout.pattern.settings import Corner, Defaults, NotchStyle

PLAIN_DEFAULTS = Defaults()
PLAIN = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 60.0], [0.0, 60.0], [0.0, 0.0]])
WIDE, DEEP = 4.0, 5.0
OPENED = {  # areas of a triangle, a rectangle, a half disc on a rectangle
    NotchKind.V: WIDE * DEEP / 2,
    NotchKind.CHECK: WIDE * DEEP / 2,
    NotchKind.CASTLE: WIDE * DEEP,
    NotchKind.U: WIDE * (DEEP - WIDE / 2) + np.pi * WIDE**2 / 8,
}


def at(x, y, kind, *, cut=True, room=12.7, inward=(0.0, 1.0)):
    style = NotchStyle(kind, DEEP, WIDE, 8.0, cut)
    return PlacedNotch(np.array([x, y]), np.array(inward), style, room, f"at {x}", "foot")


@pytest.mark.parametrize("kind", list(OPENED))
def test_wide_kinds_open_the_edge_by_their_area(kind):
    outline, strokes = notched(PLAIN, [at(x, 0.0, kind) for x in (32.0, 40.0, 48.0)])
    card = Polygon(outline)
    assert card.is_valid
    assert not strokes
    assert 6000 - card.area == pytest.approx(3 * OPENED[kind], rel=0.01)
    gone = Polygon(PLAIN).difference(card)
    assert gone.bounds[3] == pytest.approx(DEEP, abs=1e-9)
    assert gone.centroid.x == pytest.approx(40.0, abs=1.5)


@pytest.mark.parametrize("kind", [NotchKind.SLIT, NotchKind.T])
def test_narrow_kinds_are_cuts_of_their_own(kind):
    outline, strokes = notched(PLAIN, [at(40.0, 0.0, kind)])
    assert Polygon(outline).area == pytest.approx(6000)
    assert {(s.work, s.mark, s.notch) for s in strokes} == {(Work.CUT, Mark.NOTCH, kind)}
    stem = strokes[-1].points
    assert np.allclose(stem, [[40, DEEP], [40, 0]])
    assert len(strokes) == (2 if kind is NotchKind.T else 1)


@pytest.mark.parametrize("kind", list(NotchKind))
def test_drawn_notches_leave_the_edge_whole(kind):
    outline, strokes = notched(PLAIN, [at(40.0, 0.0, kind, cut=False)])
    assert np.array_equal(outline, PLAIN)
    assert {(s.work, s.mark, s.notch) for s in strokes} == {(Work.DRAW, Mark.NOTCH, kind)}


def slits(piece, defaults=PLAIN_DEFAULTS, seams=()):
    """The cut slits of a piece's card, foot first, and what was told."""
    made = bare_card(piece, defaults, seams)
    _, strokes = notched(made.outline, made.notches)
    return [s.points for s in strokes if s.work is Work.CUT], made


def test_square_to_a_curve():
    turn = np.radians(np.arange(361.0))
    ring = 80.0 * np.column_stack([np.cos(turn), np.sin(turn)])
    ring[-1] = ring[0]
    notches = tuple(Notch("rim", np.radians(a) * 80.0) for a in (0.0, 33.3, 180.2, 350.9))
    found, made = slits(Piece("Disc", (edge("rim", ring, 10.0),), notches=notches))
    assert len(found) == 4
    assert not made.warnings
    for slit in found:  # of a circle the normal runs through its centre
        away, run = slit[1], slit[0] - slit[1]
        sway = np.degrees(np.arccos(-away @ run / np.hypot(*away) / np.hypot(*run)))
        assert sway < 0.5  # half a facet of this circle
        assert np.hypot(*away) == pytest.approx(90.0, abs=0.02)


def test_square_to_the_stitching_line_where_the_allowance_changes():
    # the cutting line leans by atan(20/200) there, the stitching line does not
    piece = rectangle("Patch", 200, 100, 10.0)
    edges = (replace(piece.edges[0], allowance=(10.0, 30.0)), *piece.edges[1:])
    found, _ = slits(replace(piece, edges=edges, notches=(Notch("foot", 100.0),)))
    slit = min(found, key=lambda each: abs(each[1][0] - 100.0))
    assert slit[:, 0] == pytest.approx([100.0, 100.0], abs=1e-9)
    assert slit[1][1] == pytest.approx(-20.0, abs=1e-6)


def test_openings_at_the_outline_s_first_point_are_sound():
    there = [at(0.5, 0.0, NotchKind.V), at(0.0, 30.0, NotchKind.U, inward=(1.0, 0.0))]
    outline, _ = notched(PLAIN, there)
    assert Polygon(outline).is_valid


def test_notches_that_run_together_are_told():
    _, warnings = fitted([at(40.0, 0.0, NotchKind.V), at(42.0, 0.0, NotchKind.V)], PLAIN)
    assert warnings == (
        "at 40.0 and at 42.0 are 2.0 mm apart: they run together, and only the first is cut",
    )


@pytest.mark.parametrize("beside", [NotchKind.T, NotchKind.V, NotchKind.SLIT, NotchKind.CHECK])
@pytest.mark.parametrize("far", [2.5, 3.0, 4.5])
def test_a_t_beside_another_notch_cuts_nothing_off_the_card(beside, far):
    """What stands between two stems falls out where a bar or an opening joins them."""
    kept, told = fitted([at(40.0, 0.0, beside), at(40.0 + far, 0.0, NotchKind.T)], PLAIN)
    outline, strokes = notched(PLAIN, kept)
    cuts = [LineString(s.points).buffer(1e-4) for s in strokes if s.work is Work.CUT]
    card = Polygon(outline).difference(shapely.union_all(cuts))
    assert len(shapely.get_parts(card)) == 1
    assert [notch.style.cut for notch in kept] == [True, True]
    assert any("the bar of its T would" in text for text in told) or beside is NotchKind.SLIT


def test_a_notch_never_reaches_the_stitching_line():
    (kept,), told = fitted([at(40.0, 0.0, NotchKind.SLIT, room=5.0)], PLAIN)
    assert kept.style.depth == pytest.approx(4.0)
    assert told == (
        "at 40.0 is 4.0 mm deep, not 5 mm: from cutting to stitching line it is 5.0 mm there, and "
        "a notch stays clear of that line",
    )


def test_where_there_is_no_allowance_a_notch_is_drawn():
    piece = rectangle("Strap", 200, 100, 10.0)
    edges = (replace(piece.edges[0], allowance=(0.0, 0.0)), *piece.edges[1:])
    piece = replace(piece, edges=edges, notches=(Notch("foot", 100.0),))
    found, made = slits(piece)
    assert all(Polygon(piece.outline).intersection(LineString(s)).length < 1e-6 for s in found)
    assert any("is drawn, not cut: there is no allowance there" in w for w in made.warnings)


@pytest.mark.parametrize("count", [1, 2, 3])
def test_a_notch_at_the_fold_ends_at_the_cutting_line_of_its_own_edge(count):
    size = length(a_front().edge("neck").points)
    piece = ready(a_front(notches=(Notch("neck", size, count),)))
    made = bare_card(piece, Defaults())
    there = [n for n in made.notches if n.edge == "neck" and not n.seam]
    assert len(there) == -(-count // 2)  # the others are their mirror images
    for notch in there:  # the neck is a circle of 80 mm about (0, 600)
        away = np.array([0.0, 600.0]) - notch.at
        assert np.hypot(*away) == pytest.approx(80.0 - 12.7, abs=0.05)  # it is facetted
        assert abs(away @ notch.inward) == pytest.approx(np.hypot(*away), rel=1e-4)
        assert notch.inward @ away < 0.0
    across = sorted(float(n.at[0]) for n in there)
    want = {1: [0.0], 2: [3.0], 3: [0.0, 6.0]}[count]  # along the stitching line
    assert across == pytest.approx([80 * np.sin(w / 80) * 67.3 / 80 for w in want], abs=0.1)
    opened, _ = notched(made.outline, made.notches)
    assert Polygon(opened).is_valid
    assert count == 2 or any("half a V" in text for text in made.warnings)


def test_a_double_at_a_corner_stays_on_its_edge():
    piece = rectangle("Patch", 200, 100, 12.7, notches=(Notch("right", 0.0, 2),))
    found, made = slits(piece)
    right = sorted(float(s[1][1]) for s in found if s[1][0] > 212.0)
    assert right == pytest.approx([0.0, 6.0, 100.0])
    assert "moved 3.0 mm along the edge" in made.warnings[0]


@pytest.mark.parametrize("corner", [25.0, 40.0, 67.0, 80.0, 89.0])
@pytest.mark.parametrize("allowance", [5.0, 6.0, 8.0])
def test_slits_at_a_sharp_corner_leave_it_whole(corner, allowance):
    """Two slits as deep as allowance / (1 + cos corner) meet on the corner's bisector."""
    rise, run = 60.0, 60.0 / np.tan(np.radians(corner))
    ring = np.array([[0, 0], [500, 0], [500 - run, rise], [run, rise], [0, 0]], float)
    names = ("neck", "front", "free", "back")
    edges = tuple(edge(n, ring[k : k + 2], allowance) for k, n in enumerate(names))
    made = bare_card(Piece("Collar", edges), Defaults(mitre_limit=10.0))
    meets = allowance / (1.0 + np.cos(np.radians(corner)))
    sharp = [n for n in made.notches if n.at[1] < 8.0 and n.style.cut]
    assert len(sharp) == 4
    assert all(n.style.depth < meets for n in sharp)
    assert all(n.style.depth > meets - 1.5 for n in sharp if n.style.depth < 4.9 < allowance - 1)
    _, strokes = notched(made.outline, made.notches)
    lines = [LineString(s.points) for s in strokes]
    assert not any(a.intersects(b) for a, b in combinations(lines, 2))
    if min(meets, allowance - 1.0) < 5.0:
        told = [text for text in made.warnings if " mm deep, not " in text]
        assert told
        assert all(" mm deep, not 5 mm" in text for text in told)
        assert not any(sum(notch.what in text for text in told) > 1 for notch in sharp)


def hollow(radius):
    """A piece whose right side goes in round a slot with a half-round end of `radius`, mm."""
    turn = np.radians(np.linspace(270.0, 90.0, 181))
    bay = np.column_stack([120 + radius * np.cos(turn), 100 + radius * np.sin(turn)])
    right = np.vstack([[200.0, 0.0], [200.0, 100 - radius], bay, [200, 100 + radius], [200, 200]])
    return Piece(
        "Yoke",
        (
            edge("foot", [[0, 0], [200, 0]]),
            edge("right", right),
            edge("rest", [[200, 200], [0, 200], [0, 0]]),
        ),
    )


@pytest.mark.parametrize("share", np.linspace(0.3, 0.7, 9))
def test_in_a_curve_tighter_than_its_allowance_no_slit_strays(share):
    piece = hollow(9.0)
    along = share * length(piece.edge("right").points)
    piece = replace(piece, notches=(Notch("right", along),))
    made = bare_card(piece, Defaults())
    (notch,) = [n for n in made.notches if n.edge == "right" and not n.seam]
    place = LineString(piece.edge("right").points).interpolate(along)
    assert place.distance(Point(notch.at)) <= 12.8
    drawn = any("is drawn at the stitching line" in text for text in made.warnings)
    assert drawn is not notch.style.cut
    if drawn:
        assert place.distance(Point(notch.at)) < 1e-6


def test_no_seam_notch_where_no_seam_ends():
    turn = np.radians(np.linspace(-90.0, 0.0, 91))
    bend = np.column_stack([200 + 100 * np.cos(turn), 100 + 100 * np.sin(turn)])
    parts = {
        "foot": [[0, 0], [200, 0]],
        "bend": bend,
        "side": [[300, 100], [300, 300]],
        "top": [[300, 300], [0, 300]],
        "left": [[0, 300], [0, 0]],
    }
    piece = Piece("Flap", tuple(edge(n, p) for n, p in parts.items()))
    assert len(slits(piece)[0]) == 6  # three corners; foot, bend and side are one line
    over = Seam(
        "round",
        Side(tuple(("Flap", name, False) for name in ("foot", "bend", "side"))),
        Side((("Other", "edge", False),)),
    )
    assert len(slits(piece, seams=(over,))[0]) == 6
    first = replace(over, first=Side(over.first.edges[:2]))
    found, made = slits(piece, seams=(first,))
    assert len(found) == 7  # that seam ends where the bend goes over into the side
    assert not made.warnings


@pytest.mark.parametrize("turned", [False, True])
def test_a_seam_that_goes_round_by_another_piece_begins_and_ends_at_a_notch(turned):
    """An armhole's seam begins at the under sleeve's divide, goes round the top sleeve, ends there.

    The notch lies the allowance outside the divide, by hand.
    """
    parts = {
        "cuff": [[0, 0], [80, 0]],
        "side": [[80, 0], [110, 400]],
        "arm front": [[110, 400], [40, 400]],
        "arm back": [[40, 400], [-30, 400]],
        "back": [[-30, 400], [0, 0]],
    }
    piece = Piece("Under sleeve", tuple(edge(n, p) for n, p in parts.items()))
    round_top = [("Under sleeve", "arm back", False), ("Top sleeve", "head", False),
                 ("Under sleeve", "arm front", False)]  # fmt: skip
    if turned:
        round_top = [(of, name, True) for of, name, _ in round_top[::-1]]
    armhole = Side((("Front", "armhole", True),))
    straight_on = Side((("Under sleeve", "arm front", False), ("Under sleeve", "arm back", False)))
    found, _ = slits(piece, seams=(Seam("armhole", Side(tuple(round_top)), armhole),))
    mouths = np.array([line[-1] for line in found])
    assert np.hypot(*(mouths - [40.0, 412.7]).T).min() < 0.01
    assert len(found) == 9
    assert len(slits(piece, seams=(Seam("armhole", straight_on, armhole),))[0]) == 8


@pytest.mark.parametrize("kind", list(NotchKind))
def test_the_look_after_the_fact_sees_a_misplaced_notch(kind):
    """Wrong on purpose: the check must not take its word from the making."""
    piece = rectangle("Patch", 100, 60, 12.7)
    cutting = cut_line(piece, Defaults())
    good = at(40.0, -12.7, kind)
    wrong = {
        "reaches the stitching line": replace(good, style=replace(good.style, depth=14.0)),
    }
    if is_open(good.style):
        lean = np.array([np.sin(0.2), np.cos(0.2)])
        wrong["off square"] = replace(good, inward=lean)
        wrong["off the cutting line"] = replace(good, at=np.array([40.0, -10.0]))
    assert not notch_faults(piece, cutting, *notched(cutting, [good]))
    for fault, notch in wrong.items():
        outline, strokes = notched(cutting, [notch])
        found = notch_faults(piece, cutting, outline, strokes)
        assert any(fault in text for text in found), (fault, found)


@pytest.mark.parametrize("bulge", [0.004, 0.008, 0.02, 0.05])
@pytest.mark.parametrize("radius", [6.0, 9.0, 27.0])
def test_the_look_after_the_fact_blames_no_notch_at_the_end_of_a_tight_curve(radius, bulge):
    """A circle's first facet is half of its turn off the tangent, acos(1 - bulge/radius): up to 7
    degrees here. A line with a bulge of more than 0.012 mm is drawn as a polygon.
    """
    step = np.degrees(2.0 * np.arccos(1.0 - bulge / radius))
    neck = arc(60.0 - radius, 100.0, radius, 0.0, -60.0, int(60.0 / step) + 2)
    low = float(neck[-1][1])
    corners = [[60.0, 100.0], neck[-1], [0.0, low - 60.0], [0.0, -200.0], [120.0, -200.0]]
    corners += [[120.0, 80.0], corners[0]]
    names = ("rest", "centre", "hem", "side", "shoulder")
    straight = [edge(name, corners[n : n + 2], 10.0) for n, name in enumerate(names, 1)]
    piece = Piece("Back", (edge("neck", neck, 10.0), *straight))
    found, made = slits(piece)
    assert found
    assert made.faults == ()


def test_the_look_after_the_fact_takes_no_two_notches_for_one():
    """On a leaning edge, rounding leaves slivers of the cutting line between two openings."""
    shape = np.array([[0, 0], [300, 0], [277.3, 73.1], [22.7, 73.1], [0, 0]], float)
    edges = tuple(edge(n, shape[k : k + 2], 6.5) for k, n in enumerate("abcd"))
    piece = Piece("Panel", edges, notches=(Notch("a", 95.0, 3), Notch("b", 40.0)))
    made = bare_card(piece, Defaults(notch=NotchStyle(NotchKind.CASTLE, 4.0, 3.0, 6.0, True)))
    assert made.faults == ()


def test_the_look_after_the_fact_sees_a_corner_cut_off():
    """By hand: 5.5 by 5 mm of it, in the middle of which are x 102.25 and y -2.501 mm."""
    piece = rectangle("Patch", 100, 60, 5.0)
    cutting = cut_line(piece, Defaults())
    corner = [
        at(99.5, -5.0, NotchKind.SLIT),
        at(105.0, 0.0, NotchKind.SLIT, inward=(-1.0, 0.0)),
    ]
    deep = [replace(n, style=replace(n.style, depth=8.0)) for n in corner]
    found = notch_faults(piece, cutting, *notched(cutting, deep))
    assert "the notches at x 102 mm, y -3 mm cut 27.5 mm2 off the card" in found


def test_seam_notches_lie_where_the_stitching_line_meets_the_cutting_line():
    # on a rectangle: two at each corner, as far from the corner as the neighbour's allowance
    piece = rectangle("Patch", 100, 60, 10.0)
    outline = cut_line(piece, Defaults())
    found = sorted(tuple(n.at.round(6)) for n in placed_notches(piece, outline, NotchStyle())[0])
    want = [(x, y) for x in (-10, 110) for y in (0, 60)] + [
        (x, y) for x in (0, 100) for y in (-10, 70)
    ]
    assert found == sorted((float(x), float(y)) for x, y in want)


@pytest.mark.parametrize(
    ("side", "wanted"),
    [
        ([[200, 0], [260, 150]], 12.0),  # flared: 60 in 150 mm, 30 mm deep
        ([[200, 0], [185, 300]], -1.5),  # tapered: 15 in 300 mm
        ([[200, 0], [200, 100]], 0.0),
        ([[200, 0], [205, 10], [205, 100]], 5.0),  # bent within the hem's depth
    ],
)
def test_the_side_s_notch_in_a_turned_back_hem_comes_onto_the_side(side, wanted):
    """Turned up, that is mirrored in the hem, it lies on the side's stitching line: by hand."""
    top = side[-1]
    edges = (
        edge("hem", [[0, 0], [200, 0]], 30, corner=Corner.TURNED),
        edge("side", side, 10),
        edge("top", [top, [0, top[1]]], 10),
        edge("centre", [[0, top[1]], [0, 0]], 10),
    )
    piece = replace(rectangle("Skirt", 10, 10), edges=edges)
    found, notes = placed_notches(piece, cut_line(piece, Defaults()), NotchStyle())
    (notch,) = [n for n in found if n.what == "the seam notch at the start of 'side'"]
    assert notch.at == pytest.approx([200.0 + wanted, -30.0], abs=1e-6)
    assert notch.inward == pytest.approx([0.0, 1.0])
    assert notes == []


def test_no_seam_notch_on_the_fold_nor_where_it_is_not_wanted():
    piece = a_front(notches=())
    quiet = a_front(
        notches=(),
        edges=(edge("hem", [[0, 0], [320, 0]], 40, seam_notches=False), *piece.edges[1:]),
    )
    outline = cut_line(piece, Defaults())
    found, _ = placed_notches(piece, outline, NotchStyle())
    assert min(n.at[0] for n in found) > 1.0
    assert len(found) - len(placed_notches(quiet, outline, NotchStyle())[0]) == 1


def test_every_notch_lies_on_the_cutting_line(front):
    outline = cut_line(front, Defaults())
    ring = LinearRing(outline)
    placed, told = placed_notches(front, outline, NotchStyle())
    assert not told
    assert len(placed) == 8 + 6 + 3  # a double and a triple among them
    assert max(ring.distance(Point(n.at)) for n in placed) < 1e-6


def test_a_match_notch_lies_square_across_the_allowance(front):
    outline = cut_line(front, Defaults())
    side = LineString(front.edge("side").points)
    doubles = [n for n in placed_notches(front, outline, NotchStyle())[0] if "double" in n.what]
    for notch, along in zip(doubles, (196.5, 203.5), strict=True):
        assert side.distance(Point(notch.at)) == pytest.approx(12.7, abs=1e-6)
        assert side.project(Point(notch.at)) == pytest.approx(along, abs=1e-6)


def test_a_notch_beyond_its_edge_is_refused(front):
    wrong = a_front(notches=(Notch("shoulder", 400.0),))
    with pytest.raises(UserError, match=r"beyond edge 'shoulder', which is 169\.7 mm long"):
        finish(a_set(wrong))


@pytest.mark.parametrize(
    ("name", "along"), [("top", 0.0), ("right", 301.0), ("top", 0.02), ("top", 0.4)]
)
@pytest.mark.parametrize("count", [1, 2])
def test_a_notch_at_a_corner_stands_for_the_seam_s_end(name, along, count):
    """At the joint of a chain (a hood's notch at the shoulder) one mark shows both: by hand.

    The rectangle's other three corners have a seam notch on each of their two edges.
    """
    lean = np.array([[0, 0], [200, 0], [215, 300], [0, 300], [0, 0]], float)
    edges = [edge(n, lean[k : k + 2]) for k, n in enumerate(("foot", "right", "top", "left"))]
    along = min(along, length(edges[1].points)) if name == "right" else along
    piece = Piece("Cape", tuple(edges), notches=(Notch(name, along, count),))
    found, made = slits(piece)
    assert not made.warnings or count == 2
    assert not any("read as a double" in warning for warning in made.warnings)
    assert len(found) == 7 + count


def test_the_look_after_the_fact_blames_no_notch_where_facets_sway():
    """As a fit through pricks ends: its last facets turn by 5.5, 1.5 and 1.9 degrees. A notch
    square to the last one, beside the corner, is as true as one square to a tangent.
    """
    sizes = np.array([1.0184, 2.0015, 0.7511, 0.7512, 0.7513, 0.7514])
    ways = np.radians([-175.9, 178.57, 177.09, 175.17, 173.28, 171.45])
    steps = sizes[:, None] * np.column_stack([np.cos(ways), np.sin(ways)])
    armhole = np.array([100.0, 0.0]) + np.vstack([[0.0, 0.0], np.cumsum(steps, axis=0)])
    armhole = np.vstack([armhole, [[70.0, 12.0], [55.0, 40.0], [50.0, 150.0]]])
    piece = Piece("Back", (
        edge("hem", [[0, -300], [110, -300]], 8.0), edge("side", [[110, -300], [100, 0]], 8.0),
        edge("armhole", armhole, 8.0), edge("top", [[50, 150], [0, 150]], 8.0),
        edge("centre", [[0, 150], [0, -300]], 8.0),
    ), (Cut("self"),))  # fmt: skip
    assert not bare_card(ready(piece), Defaults()).faults
