"""Truing: measured against plane geometry with a known answer."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares

from plotout.errors import Place, UserError
from plotout.geometry.polyline import is_closed, length
from plotout.pattern.drawing import Drawing, Role, Shape
from plotout.pattern.kinds import Ref
from plotout.pattern.part_spec import TrueSpec
from plotout.pattern.truing import true

from .conftest import RECTANGLE, Build
from .nearest_true import Asked, nearest_true

NAMED = (
    '[[piece]]\nname = "Front"\nfrom = { file = "front" }\n'
    'edges = ["hem", "side", "top", "centre"]\nstart = [0, 0]\nturn-angle = 30\n'
)


def neck(tilt: float) -> Drawing:
    """A front whose neck is a quarter circle of radius 80 that meets the centre `tilt` degrees off.

    The centre front lies on x = 0; the neck's end there is turned about its far end.
    """
    angle = np.radians(np.linspace(0.0, 90.0 - tilt, 400))
    curve = np.column_stack([80 * np.sin(angle), -80 * np.cos(angle)])  # from the bottom, outwards
    turn = math.radians(tilt)
    back = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    curve = curve @ back
    curve = curve - curve[0] + [0.0, 200.0]
    runs = [
        ("centre", np.array([curve[0], [0.0, 0.0]])),
        ("hem", np.array([[0.0, 0.0], [220.0, 0.0]])),
        ("side", np.array([[220.0, 0.0], [220.0, curve[-1, 1] + 10]])),
        ("shoulder", np.array([[220.0, curve[-1, 1] + 10], curve[-1]])),
        ("neck", curve[::-1]),
    ]
    return Drawing(tuple(Shape(points, Role.OUTLINE, name=name) for name, points in runs))


NECK = '[[piece]]\nname = "Front"\nfrom = { file = "front" }\n'


@pytest.mark.parametrize("tilt", [0.0, 1.0, 3.0, 8.0])
def test_a_neck_off_square_is_measured(build: Build, tilt: float) -> None:
    text = NECK + '[[piece.true]]\nsquare = ["neck", "centre"]\n'
    result = build(text, front=neck(tilt)).piece("Front").trued[0]
    assert result.before == pytest.approx(25 * math.sin(math.radians(tilt)), abs=0.06)
    assert result.good == (tilt <= 1.0)  # 0.5 mm over 25 mm is 1.15 degrees
    assert result.moved == 0.0


def test_a_neck_is_put_square_within_the_tolerance(build: Build) -> None:
    text = NECK + '[[piece.true]]\nsquare = ["neck", "centre"]\nput-right = true\n'
    piece = build(text, front=neck(3.0)).piece("Front")
    result = piece.trued[0]
    assert result.before > 1.2
    assert result.after < 0.01
    assert 0.0 < result.moved <= 0.5
    assert is_closed(piece.outline)
    piece = build(text, front=neck(8.0)).piece("Front")
    (told,) = piece.faults
    assert "more than the tolerance of 0.5 mm" in told.problem
    assert (told.place.line, told.place.piece) == (7, "Front")
    assert piece.trued[0].after == piece.trued[0].before > 1.2  # and nothing was moved
    drawn = build(text.replace("put-right = true", ""), front=neck(8.0)).piece("Front")
    assert (piece.outline == drawn.outline).all()


def skewed(x: float, y: float) -> np.ndarray:
    points = RECTANGLE.copy()
    points[2] += (x, y)
    return points


def one(build: Build, text: str, drawing: object, put: bool = False):  # type: ignore[no-untyped-def]
    more = "put-right = true\n" if put else ""
    return build(NAMED + "[[piece.true]]\n" + text + more, front=drawing).piece("Front")


def test_a_straight_side_off_square(build: Build) -> None:
    result = one(build, 'square = ["side", "hem"]\n', skewed(2.0, 0.0)).trued[0]
    assert result.before == pytest.approx(2.0, abs=1e-3)  # over its own 300 mm
    text = 'square = ["side", "hem"]\ntolerance = 3\n'
    piece = one(build, text, skewed(2.0, 0.0), put=True)
    assert piece.trued[0].after == pytest.approx(0.0, abs=1e-9)
    assert piece.trued[0].moved == pytest.approx(2.0, abs=1e-3)
    assert piece.edge("side").points[-1, 0] == pytest.approx(200.0)
    assert (piece.edge("top").points[0] == piece.edge("side").points[-1]).all()


def test_straight_equal_parallel(build: Build) -> None:
    bowed = np.insert(RECTANGLE, 2, [[200.4, 150]], axis=0)
    piece = one(build, 'straight = "side"\n', bowed, put=True)
    assert (piece.trued[0].before, piece.trued[0].after) == pytest.approx((0.4, 0.0))
    assert piece.edge("side").points.tolist() == [[200, 0], [200, 300]]

    piece = one(build, 'equal = ["side", "centre"]\n', skewed(0.0, 0.45), put=True)
    assert piece.trued[0].before == pytest.approx(0.45)
    assert length(piece.edge("side").points) == pytest.approx(300.0)

    piece = one(build, 'parallel = ["top", "hem"]\n', skewed(0.0, 0.8), put=True)
    assert piece.trued[0].before == pytest.approx(0.8, abs=1e-3)
    assert piece.trued[0].after == pytest.approx(0.0, abs=1e-9)
    assert piece.trued[0].moved == pytest.approx(0.4, abs=1e-3)
    piece = one(build, 'equal = ["side", "centre"]\n', skewed(0.0, 6.0), put=True)
    # shared by the four ends of both edges, 6 mm are 1.5 mm each
    assert "would move it 1.50 mm" in piece.faults[0].problem


def test_symmetry_of_two_curves(build: Build) -> None:
    rise = np.linspace(0.0, 300.0, 61)
    bulge = 20 * np.sin(np.pi * rise / 300)
    right = np.column_stack([200 + bulge, rise])
    left = np.column_stack([-bulge, rise])[::-1]
    points = np.vstack([[[0.0, 0.0]], right, left])
    exact = one(build, 'symmetric = ["side", "centre"]\n', points).trued[0]
    assert exact.before == pytest.approx(0.0, abs=1e-6)
    points[len(right) // 2 + 1, 0] += 0.4
    piece = one(build, 'symmetric = ["side", "centre"]\n', points, put=True)
    assert 0.2 < piece.trued[0].before <= 0.4
    assert piece.trued[0].after == pytest.approx(0.0, abs=1e-3)
    assert is_closed(piece.outline)


@pytest.mark.parametrize("axis", ["[[100, 0], [100, 1]]", "[[100, 200], [100, 50]]"])
def test_symmetry_about_an_axis_of_ones_own(build: Build, axis: str) -> None:
    """By reflection: two sides alike but 0.4 mm off the axis; the best mirror alone sees none."""
    rise, bulge = np.linspace(0.0, 300.0, 61), 12 * np.sin(np.linspace(0.0, math.pi, 61))
    right = np.column_stack([200.4 + bulge, rise])
    points = np.vstack([[[0.0, 0.0]], right, np.column_stack([-bulge, rise])[::-1]])
    asked = 'symmetric = ["side", "centre"]\n'
    assert one(build, asked, points).trued[0].before == pytest.approx(0.0, abs=1e-6)
    trued = one(build, asked + f"axis = {axis}\n", points).trued[0]
    assert trued.before == trued.after == pytest.approx(0.4, abs=1e-9)
    assert trued.detail == "about its axis"
    piece = one(build, asked + f"axis = {axis}\n", points, put=True)
    assert piece.trued[0].after == pytest.approx(0.0, abs=1e-9)
    assert piece.trued[0].moved == pytest.approx(0.4, abs=1e-9)
    side = next(edge.points for edge in piece.edges if edge.name == "side")
    assert side == pytest.approx(np.column_stack([200.0 + bulge, rise]), abs=1e-9)


def test_an_edge_is_an_axis_and_a_wrong_one_is_told(build: Build) -> None:
    square = skewed(0.0, 0.0)
    found = one(build, 'symmetric = ["hem", "top"]\naxis = "side"\n', square).trued[0]
    assert found.before == pytest.approx(500.0)  # its far end, 400 mm along and 300 mm up
    with pytest.raises(UserError, match=r"(?s)there is no edge 'sid'.*'side'"):
        one(build, 'symmetric = ["hem", "top"]\naxis = "sid"\n', square)
    with pytest.raises(UserError, match="two points are the same"):
        one(build, 'symmetric = ["hem", "top"]\naxis = [[1, 2], [1, 2]]\n', square)
    with pytest.raises(UserError, match="is only for 'symmetric'"):
        one(build, 'equal = ["hem", "top"]\naxis = "side"\n', square)


def test_nothing_is_moved_unless_asked(build: Build) -> None:
    piece = one(build, 'equal = ["side", "centre"]\n', skewed(0.0, 6.0))
    assert not piece.trued[0].good
    assert piece.outline.tolist() == skewed(0.0, 6.0).tolist()
    assert any("6.00 mm off" in note for note in piece.notes)


@pytest.mark.parametrize("lean", [0.0, 20.0])
@pytest.mark.parametrize("edge", ["hem", "side"])
def test_an_edge_is_put_on_the_grain_or_square_to_it(build: Build, edge: str, lean: float) -> None:
    """A rectangle turned 0.1 degrees off its grain, wherever the grain lies."""

    def turned(points: np.ndarray, degrees: float) -> np.ndarray:
        cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        return points @ np.array([[cos, sin], [-sin, cos]])

    names = ("hem", "side", "top", "centre")
    corners = turned(RECTANGLE, lean + 0.1)
    drawing = Drawing(
        tuple(Shape(corners[k : k + 2], Role.OUTLINE, name=name) for k, name in enumerate(names))
    )
    tail, head = turned(np.array([[100.0, 50.0], [100.0, 250.0]]), lean).round(9).tolist()
    grain = f"grain = {{ from = {tail}, to = {head} }}\n"
    text = NECK + grain + f'[[piece.true]]\non-grain = "{edge}"\nput-right = true\n'
    piece = build(text, front=drawing).piece("Front")
    (result,) = piece.trued
    size = 200.0 if edge == "hem" else 300.0
    assert result.before == pytest.approx(size * math.sin(math.radians(0.1)), abs=1e-3)
    assert result.after < 1e-6
    assert result.moved == pytest.approx(result.before / 2.0, rel=1e-3)
    way = piece.edge(edge).points[-1] - piece.edge(edge).points[0]
    angle = math.degrees(math.atan2(way[1], way[0]))
    assert (angle - lean + 45.0) % 90.0 - 45.0 == pytest.approx(0.0, abs=1e-6)
    assert any("put right to 0.00 mm" in note for note in piece.notes)


def test_without_a_grain_line_upright_is_the_grain(build: Build) -> None:
    text = NAMED + '[[piece.true]]\non-grain = "hem"\n'
    leaning = np.array([[0, 0], [200, 3], [200, 300], [0, 300], [0, 0]], dtype=float)
    (result,) = build(text, front=leaning).piece("Front").trued
    assert result.before == pytest.approx(3.0, abs=0.01)
    assert not result.good


SKEW = np.array([[0, 0], [201, 3], [198, 302], [2, 299], [0, 0]], dtype=float)
ALL_SQUARE = "".join(
    f'[[piece.true]]\nsquare = ["{a}", "{b}"]\nput-right = true\ntolerance = 20\n'
    for a, b in (("hem", "side"), ("top", "side"), ("centre", "top"))
)


def corners(piece) -> list[float]:
    """The angles between neighbouring straight edges, degrees, by their directions."""
    ways = [edge.points[-1] - edge.points[0] for edge in piece.edges]
    turns = [math.degrees(math.atan2(w[1], w[0])) for w in ways]
    return [180.0 - (b - a) % 360.0 for a, b in zip(turns, [*turns[1:], turns[0]], strict=True)]


def test_truings_are_solved_together_and_measured_again(build: Build) -> None:
    """Three right angles make a fourth (Euclid, I 32): no truing spoils another."""
    piece = build(NAMED + ALL_SQUARE, front=SKEW).piece("Front")
    assert corners(piece) == pytest.approx([90.0] * 4, abs=1e-3)
    assert all(result.good and result.after < 1e-3 for result in piece.trued)
    assert sum(result.before > 1.0 for result in piece.trued) == 2


def test_a_truing_that_another_spoils_is_measured_as_it_is_at_the_end(build: Build) -> None:
    """Squared to the side alone, the hem leaves the centre: the angle there is not put right."""
    text = NAMED + (
        '[[piece.true]]\nsquare = ["centre", "hem"]\n'
        '[[piece.true]]\nsquare = ["hem", "side"]\nput-right = true\ntolerance = 20\n'
    )
    piece = build(text, front=SKEW).piece("Front")
    first, second = piece.trued
    assert second.after < 1e-3
    left = abs(math.sin(math.radians(corners(piece)[3] - 90.0)))
    assert first.after == pytest.approx(left * length(piece.edge("centre").points), rel=1e-3)
    assert abs(first.after - first.before) > 0.1
    assert any("once the others were put right" in note for note in piece.notes)


def test_of_what_cant_all_be_true_the_impossible_is_refused(build: Build) -> None:
    """An edge can't be parallel to another and square to it (Euclid, I 27)."""
    text = NAMED + "".join(
        f'[[piece.true]]\n{kind} = ["side", "hem"]\nput-right = true\ntolerance = 20\n'
        for kind in ("square", "parallel")
    )
    square, parallel = build(text, front=SKEW).piece("Front").trued
    assert square.after < 0.01
    assert parallel.refused
    assert parallel.after > 20.0


def test_truings_that_hold_only_far_off_are_refused_with_the_distance(build: Build) -> None:
    """A rectangle that mirrors about a leaning line leans by its 9.5 degrees: 25 mm at a corner."""
    slanted = np.array([[0, 0], [200, 0], [200, 300], [0, 280], [0, 0]], dtype=float)
    leaning = (
        '[[piece.true]]\nsymmetric = ["side", "centre"]\nput-right = true\ntolerance = 20\n'
        "axis = [[140, 0], [90, 300]]\n"
    )
    piece = build(NAMED + ALL_SQUARE + leaning, front=slanted).piece("Front")
    (fault,) = piece.faults
    assert "(symmetric) would move" in fault.problem
    assert "more than the tolerance of 20 mm" in fault.problem
    assert max(result.after for result in piece.trued if result.kind == "square") < 0.01


@given(st.lists(st.floats(-6, 6), min_size=8, max_size=8))
@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
def test_any_four_sides_come_square_without_moving_far(shifts: list[float]) -> None:
    """No corner need move much further than the nearest rectangle's, by least squares (scipy)."""
    ring = RECTANGLE[:4] + np.reshape(shifts, (4, 2))
    names = ["hem", "side", "top", "centre"]
    edges = [(n, np.vstack([ring[k], ring[(k + 1) % 4]])) for k, n in enumerate(names)]
    place = Place()
    asked = [
        TrueSpec(place=place, square=(Ref(a, place), Ref(b, place)), put_right=True, tolerance=60.0)
        for a, b in (("hem", "side"), ("top", "side"), ("centre", "top"))
    ]
    now, found = true(edges, asked, 0.5)
    assert all(result.after < 1e-3 for result in found)
    made = np.array([points[0] for _, points in now])

    def rectangle(at):
        x, y, wide, tall, turn = at
        box = np.array([[0, 0], [wide, 0], [wide, tall], [0, tall]])
        spin = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
        return ((box @ spin + [x, y]) - ring).ravel()

    best = np.abs(least_squares(rectangle, [0, 0, 200, 300, 0]).fun).max()
    assert np.abs(made - ring).max() <= 6.0 * best + 0.01


@pytest.mark.parametrize("pair", ['["side", "centre"]', '["centre", "side"]'])
def test_the_order_of_edges_does_not_keep_truings_apart(build: Build, pair: str) -> None:
    """'side' can't be parallel to 'centre' and square to 'top' if neither of these is moved.

    'centre' leans 2 mm in 300, 'top' rises 1 mm in 200: by hand, either can be moved to suit.
    """
    points = np.array([[0.0, 0.0], [200.0, 0.0], [200.0, 300.0], [2.0, 301.0], [0.0, 0.0]])
    put = "put-right = true\ntolerance = 3\n"
    text = f'parallel = {pair}\n{put}[[piece.true]]\nsquare = ["side", "top"]\n{put}'
    piece = one(build, text, points)
    assert not piece.faults
    assert max(result.after for result in piece.trued) < 0.01
    also = [result.detail for result in piece.trued if "'centre' was moved" in result.detail]
    assert bool(also) == (pair == '["side", "centre"]')
    ways = [edge.points[-1] - edge.points[0] for edge in piece.edges]
    _, side, top, centre = (math.degrees(math.atan2(y, x)) for x, y in ways)
    assert (side - centre) % 180.0 == pytest.approx(0.0, abs=0.002)
    assert (top - side) % 180.0 == pytest.approx(90.0, abs=0.002)
    assert np.abs(piece.outline - points).max() < 2.0


def possible(ring: np.ndarray, asked: list[Asked]) -> float:
    """Return the least distance, mm, that corners move to make all true; inf if none."""
    moves, off = nearest_true(ring, asked)
    return float(np.abs(moves).max()) if off < 1e-3 else np.inf


@pytest.mark.parametrize("seed", range(12))
def test_what_could_be_true_is_made_true_in_any_order(seed: int) -> None:
    """Random rings of five straight edges; what could be true is scipy's to say, by least squares.

    So it is with the truings in another order, and parallel edges named the other way round.
    """
    rng = np.random.default_rng([seed, 14])
    ring = np.array([[0, 0], [200, 0], [230, 150], [190, 300], [0, 300.0]])
    ring += rng.uniform(-4, 4, ring.shape)
    beside = [("square", a, b) for a, b in ((0, 1), (1, 0), (4, 0), (0, 4), (3, 4), (4, 3))]
    across = [("parallel", 0, 3), ("parallel", 3, 0), ("equal", 0, 3), ("equal", 2, 1)]
    some = [(*beside, *across)[n] for n in rng.choice(10, 3, replace=False)]
    names = "abcde"
    edges = [(n, np.vstack([ring[k], ring[(k + 1) % 5]])) for k, n in enumerate(names)]
    place = Place()

    def made(wanted):
        asked = [
            TrueSpec(place=place, put_right=True, tolerance=60.0,
                     **{kind: (Ref(names[a], place), Ref(names[b], place))})
            for kind, a, b in wanted
        ]  # fmt: skip
        return true(edges, asked, 0.5)

    could = possible(ring, some)
    found = made(some)[1]
    assert (max(result.after for result in found) < 0.01) == (could < 50.0)
    turned = [(kind, b, a) if kind == "parallel" else (kind, a, b) for kind, a, b in some[::-1]]
    assert (max(result.after for result in made(turned)[1]) < 0.01) == (could < 50.0)
