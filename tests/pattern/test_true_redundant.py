"""Truings of which some follow from the others, in any order.

What they need is scipy's to say: the least squares of the corners' moves, with what is asked as
very stiff springs. Its formulas are plane geometry: dot and cross products of the sides.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from plotout.errors import Place
from plotout.pattern.accuracy import Measured
from plotout.pattern.kinds import Ref
from plotout.pattern.part_spec import TrueSpec
from plotout.pattern.truing import true

from .nearest_true import Asked, nearest_true

NAMES = "abcdef"
PLACE = Place()


def both(kind: str, *pairs: tuple[int, int]) -> list[Asked]:
    return [(kind, *pair) for a, b in pairs for pair in ((a, b), (b, a))]


# corners, which sides are curves, and what is true of them: much of it follows from the rest
RECTANGLE = (
    [[0, 0], [300, 0], [300, 200], [0, 200]],
    (),
    both("square", (0, 1), (1, 2), (2, 3), (3, 0))
    + both("parallel", (0, 2), (1, 3))
    + both("equal", (0, 2), (1, 3)),
)
TRAPEZIUM = (
    [[0, 0], [300, 0], [250, 200], [0, 200]],
    (),
    both("parallel", (0, 2)) + both("square", (0, 3), (2, 3)),
)
BODICE = (
    [[0, 0], [220, 0], [220, 200], [190, 380], [80, 400], [0, 330]],
    (2, 4),
    both("square", (0, 1), (0, 5)) + both("parallel", (1, 5)),
)
SHAPES = {"rectangle": RECTANGLE, "trapezium": TRAPEZIUM, "bodice": BODICE}


def edges_of(ring: np.ndarray, curved: Sequence[int] = ()) -> list[tuple[str, np.ndarray]]:
    found = []
    for n, (start, end) in enumerate(zip(ring, np.roll(ring, -1, axis=0), strict=True)):
        share = np.linspace(0.0, 1.0, 60)[:, None]
        across = np.array([start[1] - end[1], end[0] - start[0]]) / np.hypot(*(end - start))
        curve = start + share * (end - start) + 25.0 * np.sin(np.pi * share) * across
        line = np.vstack([start, curve[1:-1], end]) if n in curved else np.vstack([start, end])
        found.append((NAMES[n], line))
    return found


def specs(asked: Sequence[Asked], tolerance: float) -> list[TrueSpec]:
    return [
        TrueSpec(place=PLACE, put_right=True, tolerance=tolerance,
                 **{kind: (Ref(NAMES[a], PLACE), Ref(NAMES[b], PLACE))})
        for kind, a, b in asked
    ]  # fmt: skip


def least_moves(ring: np.ndarray, asked: Sequence[Asked]) -> np.ndarray:
    """Return the corners' moves, mm, that make all true, with the least sum of squares."""
    moves, off = nearest_true(ring, asked)
    assert off < 1e-3
    return moves


def drawn(name: str, seed: int) -> tuple[np.ndarray, list[Asked]]:
    """Return the corners, somewhat off, and some of what is true of them, in any order."""
    rng = np.random.default_rng([seed, 24])
    corners, _, pool = SHAPES[name]
    turn = rng.uniform(0.0, 2.0 * np.pi)
    spin = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    ring = np.array(corners, dtype=float) @ spin * rng.uniform(0.3, 2.0)
    ring = ring + rng.uniform(-1.0, 1.0, ring.shape) * rng.choice([0.3, 1.0, 3.0])
    count = rng.integers(2, len(pool) + 1)
    return ring, [pool[n] for n in rng.permutation(len(pool))[:count]]


@pytest.mark.parametrize("slack", [1.5, 20.0])
@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("seed", range(20))
def test_what_follows_from_the_rest_keeps_nothing_from_being_put_right(
    seed: int, name: str, slack: float
) -> None:
    ring, asked = drawn(name, seed)
    least = least_moves(ring, asked)
    tolerance = slack * np.hypot(*least.T).max() + 0.01
    now, found = true(edges_of(ring, SHAPES[name][1]), specs(asked, tolerance), 0.5)
    assert all(not result.refused and result.after < 0.01 for result in found)
    moves = np.array([line[0] for _, line in now]) - ring
    shared = any("moved" in result.detail for result in found)  # by the edges named second
    assert np.linalg.norm(moves) <= (1.1 if shared else 3.5) * np.linalg.norm(least) + 1e-3
    assert np.hypot(*moves.T).max() <= tolerance + 1e-6


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize(
    "seed", [0, 1, 5, *(pytest.param(seed, marks=pytest.mark.thorough) for seed in (2, 3, 4))]
)
def test_what_needs_too_much_is_refused_with_no_more_than_it_needs(seed: int, name: str) -> None:
    ring, asked = drawn(name, seed)
    need = np.hypot(*least_moves(ring, asked).T).max()
    now, found = true(edges_of(ring, SHAPES[name][1]), specs(asked, need / 3.0), 0.5)
    told = [result.refused for result in found if result.refused]
    assert told
    far = float(told[0].split(" mm, more than")[0].split()[-1])
    assert far <= 1.1 * need + 0.01
    moves = np.array([line[0] for _, line in now]) - ring
    assert np.hypot(*moves.T).max() <= need / 3.0 + 1e-6
    rest = [result.after for result in found if not result.refused]
    if moves.any():
        assert max(rest) < 0.01


SQUARES = [("square", a, b) for a, b in ((0, 3), (0, 1), (2, 3), (2, 1))]
REST = [("equal", 1, 3), ("equal", 2, 0), ("parallel", 2, 0), ("parallel", 1, 3)]


@pytest.mark.parametrize(
    "corners",
    [[[0, 0], [300, 0.4], [300.3, 200], [0, 200.4]], [[0, 0], [300, 0], [300.3, 200], [-0.3, 200]]],
)
@pytest.mark.parametrize("asked", [SQUARES, SQUARES + REST])
def test_all_corners_of_a_near_rectangle_come_square(
    corners: list[list[float]], asked: list[Asked]
) -> None:
    ring = np.array(corners, dtype=float)
    now, found = true(edges_of(ring), specs(asked, 0.5), 0.5)
    assert all(result.good and not result.refused for result in found)
    sides = [line[1] - line[0] for _, line in now]
    for n in range(4):
        assert sides[n] @ sides[n - 1] == pytest.approx(0.0, abs=0.01)
    assert (
        np.abs(np.array([line[0] for _, line in now]) - ring).max() < 0.401
    )  # as far as it is drawn off


@pytest.mark.parametrize("turn", [1, -1])
@pytest.mark.parametrize("lean", [0.0, 5.0])
def test_what_is_impossible_by_itself_is_refused_alone(lean: float, turn: int) -> None:
    """No side is square to another and parallel to it (Euclid, I 27), unless it shrinks to nothing.

    The side leans by 5 degrees; the three corners that are square ask for what is possible.
    """
    ring = np.array([[0, 0], [300, 0], [300 + 200 * np.tan(np.radians(lean)), 200], [0, 200.0]])
    asked = [*SQUARES, ("parallel", 1, 0)][::turn]
    now, found = true(edges_of(ring), specs(asked, 20.0), 0.5)
    (parallel,) = (result for result in found if result.kind == "parallel")
    assert parallel.refused
    assert parallel.wrong
    corners = np.array([line[0] for _, line in now])
    sides = np.roll(corners, -1, axis=0) - corners
    assert np.abs([sides[a] @ sides[b] for _, a, b in SQUARES]).max() < 1.0  # mm2, of 60,000


@pytest.mark.parametrize("turn", [1, -1])
def test_truings_that_contradict_each_other_move_nothing(turn: int) -> None:
    """Two angles of a triangle are together less than two right ones (Euclid, I 17), though each by
    itself may be one.
    """
    ring = np.array([[0, 0], [300, 0], [140, 240.0]])
    asked = [("square", 0, 1), ("square", 2, 1)][::turn]
    for alone in asked:
        _, (result,) = true(edges_of(ring), specs([alone], 300.0), 0.5)
        assert not result.wrong
    now, found = true(edges_of(ring), specs(asked, 300.0), 0.5)
    assert any("conflicts with the other truings" in result.detail for result in found)
    assert (np.array([line[0] for _, line in now]) == ring).all()


def test_what_would_shrink_an_edge_to_nothing_is_refused_alone() -> None:
    """'c' can't be both square and parallel to 'd' (Euclid, I 27)."""
    rng = np.random.default_rng([65, 77])
    ring = np.array([[0, 0], [300, 0], [300, 200], [0, 200]]) + rng.uniform(-0.3, 0.3, (4, 2))
    asked = [("square", 2, 1), ("square", 1, 2), ("equal", 0, 2), ("parallel", 3, 1)]
    asked += [("parallel", 2, 3), ("square", 1, 0), ("square", 2, 3), ("equal", 2, 0)]
    now, found = true(edges_of(ring), specs(asked, 0.5), 0.5)
    (wrong,) = (result for result in found if result.wrong)
    assert (wrong.kind, wrong.edges) == ("parallel", ("c", "d"))
    corners = np.array([line[0] for _, line in now])
    assert np.abs(corners - ring).max() <= 0.5


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("seed", range(12))
def test_the_order_in_the_set_file_does_not_matter(seed: int, name: str) -> None:
    """The same conditions have the same solution, whichever is written first."""
    ring, asked = drawn(name, seed)
    rng = np.random.default_rng(seed)
    made = []
    for _ in range(4):
        shuffled = [asked[n] for n in rng.permutation(len(asked))]
        now, _ = true(edges_of(ring, SHAPES[name][1]), specs(shuffled, 40.0), 0.5)
        made.append(np.array([line[0] for _, line in now]))
    assert np.abs(np.array(made) - made[0]).max() < 1e-6


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("known", [0.0, 1.3])
def test_what_can_t_be_is_refused_without_doubting_the_rest(seed: int, known: float) -> None:
    """300 is not 200, by 100 mm; squares that are 0.3 mm off at most need a move of that size."""
    rng = np.random.default_rng(seed)
    ring = np.array([[0, 0], [300, 0], [300, 200], [0, 200]]) + rng.uniform(-0.3, 0.3, (4, 2))
    asked = [*SQUARES, ("equal", 0, 1)]
    asked = [asked[n] for n in rng.permutation(5)]
    now, found = true(edges_of(ring), specs(asked, 1.0), 0.5, known=[Measured(known)] * 5)
    for result in found:
        assert bool(result.refused) == (result.kind == "equal")
        assert not result.doubt
        assert result.after < 0.01 or result.kind == "equal"
    assert 0.0 < np.abs(np.array([line[0] for _, line in now]) - ring).max() < 0.6


def test_two_that_contradict_each_other_leave_the_rest_alone() -> None:
    """A side of 50 can't be as long as one of 30 and as one of 80, of which neither is off."""
    ring = np.array([[0, 0], [50, 0], [50, 80], [20, 80.5]], dtype=float)
    asked = [("square", 0, 1), ("equal", 0, 1), ("equal", 0, 2)]
    _, found = true(edges_of(ring), specs(asked, 2.0), 0.5)
    assert [bool(result.refused) for result in found] == [False, True, True]
