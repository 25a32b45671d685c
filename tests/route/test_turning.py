"""Strokes turned, and small contours begun, where travel is least: against all ways to turn them,
and a tour of squares that is drawn up by hand.
"""

import itertools
import math

import numpy as np
import pytest

from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.route import order
from plotout.route.turning import turned

START = np.array([5.0, -3.0])


def travel(ends, beyond):
    before = np.vstack([START[None], ends[:-1, 1]])
    return np.hypot(*(ends[:, 0] - before).T).sum() + beyond


@pytest.mark.parametrize("seed", range(20))
def test_no_other_way_to_turn_them_is_shorter(seed):
    rng = np.random.default_rng(seed)
    ends = rng.uniform(0.0, 100.0, (int(rng.integers(1, 9)), 2, 2))
    beyond = rng.uniform(0.0, 50.0, 2)
    least = math.inf
    for turns in itertools.product([False, True], repeat=len(ends)):
        way = np.where(np.array(turns)[:, None, None], ends[:, ::-1], ends)
        least = min(least, travel(way, beyond[0 if turns[-1] else 1]))
    found = turned(ends, START, beyond, None)
    last = 1 if (found[-1] == ends[-1]).all() else 0
    assert travel(found, beyond[last]) == pytest.approx(least)
    for one, drawn in zip(found, ends, strict=True):
        assert (one == drawn).all() or (one == drawn[::-1]).all()


def test_strokes_that_may_as_well_stay_are_not_turned():
    ends = np.array([[[0.0, 0.0], [0.0, 10.0]], [[5.0, 5.0], [5.0, 5.0]]])
    assert (turned(ends, np.array([0.0, 5.0]), np.zeros(2), None) == ends).all()


@pytest.mark.parametrize(("seed", "by_lkh"), [(1, 2818.133), (4, 2666.770), (5, 2178.664)])
def test_hatchings_are_begun_at_their_better_sides(seed, by_lkh):
    """Ten of twenty lines each. By LKH, as the elkai wheel has it, the best of 10 runs: each stroke
    as two places whose way costs nothing, the other ways 3,000 mm more.
    """
    rng = np.random.default_rng(seed)
    strokes = []
    for _ in range(10):
        x, y = rng.uniform(30, 900, 2)
        high = rng.uniform(10, 60)
        for at in x + 3.0 * np.arange(20):
            line = np.array([[at, y], [at, y + high]])
            strokes.append(Stroke(line, Work.SCORE, Mark.INTERNAL, "a"))
    assert order(strokes).travel <= 1.01 * by_lkh


def test_small_contours_far_from_others_are_begun_where_they_are_near():
    """Squares of 18 mm, 22 mm apart, in two far blocks of 6 by 6: where four corners meet, three
    steps of 4 mm join these; 40 mm on are the next four, and so to the block's opposite corner.
    """
    size, apart = 18.0, 22.0
    corner = np.array([[0.0, 0.0], [size, 0.0], [size, size], [0.0, size], [0.0, 0.0]])
    strokes = []
    for at in (0.0, 900.0):
        for column, row in itertools.product(range(6), repeat=2):
            place = np.array([at + apart * column, at + apart * row])
            strokes.append(Stroke(place + corner, Work.SCORE, Mark.INTERNAL, "a"))
    block = 9 * 3 * (apart - size) + 8 * (2 * apart - (apart - size))
    from_corner_to_corner = 900.0 + size - (4 * apart + size)
    by_hand = math.sqrt(2.0) * (size + from_corner_to_corner) + 2 * block
    assert order(strokes).travel <= by_hand
