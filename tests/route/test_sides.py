"""Sides on one another: the two ways of searching find the same pairs, and none is missed.

Reference: GEOS, every pair measured.
"""

import numpy as np
import pytest
import shapely

from plotout.route import sides as searched
from plotout.route.sides import Sides, beside_others, lying

TOLERANCE = 0.01


def some_sides(seed, count=300):
    """Sides on a few lines in five directions, of very different lengths, and some anywhere."""
    rng = np.random.default_rng(seed)
    angle = rng.choice([0.0, 0.3, np.pi / 2, 2.0, np.pi - 1e-7], count)
    size = 10.0 ** rng.uniform(-1.5, 1.5, count)
    direction = np.column_stack([np.cos(angle), np.sin(angle)])
    heads = direction * rng.uniform(0, 20, (count, 1)) + rng.integers(0, 2, (count, 1)) * 3.0
    heads[::5] = rng.uniform(0, 20, (len(heads[::5]), 2))
    tails = heads + direction * (size * rng.choice([-1.0, 1.0], count))[:, None]
    return Sides(heads, tails, np.arange(count) // 3, np.arange(count) % 3)


def pairs(found):
    return set(zip(*(each.tolist() for each in found), strict=True))


@pytest.mark.parametrize("seed", range(4))
def test_both_ways_find_the_same(monkeypatch, seed):
    one = some_sides(seed)
    monkeypatch.setattr(searched, "_NEAR", 1e9)
    by_place = pairs(lying(one, one, None, TOLERANCE))
    monkeypatch.setattr(searched, "_NEAR", 0)
    assert pairs(lying(one, one, None, TOLERANCE)) == by_place
    assert by_place


def test_all_that_overlap_are_found():
    one = some_sides(9)
    found = {frozenset(pair) for pair in pairs(lying(one, one, None, TOLERANCE))}
    lines = shapely.linestrings(np.stack([one.heads, one.tails], axis=1))
    overlapping = 0
    for a, b in zip(*shapely.STRtree(lines).query(lines, predicate="dwithin", distance=1e-9)):  # noqa: B905
        shared = lines[a].intersection(lines[b].buffer(1e-6)).length
        if one.line[a] != one.line[b] and shared > 3.0 * TOLERANCE:
            overlapping += 1
            assert frozenset((int(a), int(b))) in found
    assert overlapping > 50


@pytest.mark.parametrize("seed", range(4))
def test_lines_whose_boxes_meet_no_other_are_passed_over_and_lose_no_pair(seed):
    rng = np.random.default_rng(seed)
    corner = rng.uniform(0, 60, (100, 1, 2))
    points = np.round(corner + rng.uniform(-1.5, 1.5, (100, 4, 2)), 1)  # many meet none
    points[::10, 1:3] = points[1::10, 1:3]  # a side of another
    flat = np.arange(100).repeat(3), np.tile(np.arange(3), 100)
    every = Sides(points[:, :-1].reshape(-1, 2), points[:, 1:].reshape(-1, 2), *flat)
    some = beside_others(every, TOLERANCE)
    assert len(some.line) < len(every.line)

    def named(sides):
        found = lying(sides, sides, None, TOLERANCE)
        return {
            tuple((int(sides.line[k]), int(sides.place[k])) for k in pair) for pair in pairs(found)
        }

    assert named(some) == named(every)
    assert len(named(some)) >= 10


def test_where_very_many_boxes_meet_all_sides_are_kept():
    every = some_sides(2)
    alike = Sides(every.heads * 0.0, every.heads * 0.0 + 5.0, every.line, every.place)
    assert beside_others(alike, TOLERANCE) is alike
