"""Cubics instead of arcs: against the equations of the curves that were flattened, and GEOS."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import shapely
from shapely import LineString

from plotout.geometry.arcs import find_arcs
from plotout.geometry.cubics import find_cubics
from plotout.geometry.simplify import simplified

WITHIN = 0.004
U = np.linspace(0.0, 1.0, 20001)[:, None]


def bezier(corners, u=U):
    weights = np.hstack([(1 - u) ** 3, 3 * u * (1 - u) ** 2, 3 * u * u * (1 - u), u**3])
    return weights @ np.asarray(corners, dtype=float)


def ellipse(wide, tall, turn=2.0 * np.pi):
    return np.column_stack([wide * np.cos(turn * U), tall * np.sin(turn * U)])


def found(line, within=WITHIN):
    moves = find_arcs([line], [within])
    return moves, list(find_cubics(moves, [within]))


def replaced(moves, cubics):
    """The line with the cubics, finely flattened, and the moves' vertices between them."""
    parts, at = [], 0
    for cubic in cubics:
        begin, end = moves.begin[cubic.first], moves.end[cubic.last - 1]
        inner = [(handle.real, handle.imag) for handle in cubic.handles]
        parts += [moves.points[at:begin], bezier([moves.points[begin], *inner, moves.points[end]])]
        at = end + 1
    return np.vstack([*parts, moves.points[at:]])


@pytest.mark.parametrize(
    "corners",
    [
        [(0, 0), (110, 10), (40, 150), (150, 230)],  # an armhole with an inflection
        [(0, 0), (0, 60), (40, 90), (100, 90)],  # a neck
        [(0, 0), (30, 15), (60, 15), (90, 0)],  # a hem
    ],
)
def test_a_cubic_that_was_flattened_is_one_cubic_again(corners):
    moves, cubics = found(simplified(bezier(corners), 0.0006))
    assert len(moves.sweep) > 2
    assert [(cubic.first, cubic.last) for cubic in cubics] == [(0, len(moves.sweep))]
    for handle, (x, y) in zip(cubics[0].handles, corners[1:3], strict=True):
        assert abs(handle - complex(x, y)) < 1.0  # as flat as such a curve may be, they slide along


@pytest.mark.parametrize("sides", [(90.0, 70.0), (150.0, 90.0), (40.0, 8.0)])
def test_cubics_lie_on_the_ellipse(sides):
    moves, cubics = found(simplified(ellipse(*sides), 0.0006))
    assert 1 < len(cubics) <= len(moves.sweep) // 3
    x, y = replaced(moves, cubics).T / np.array(sides)[:, None]
    size = np.hypot(x, y)
    slope = np.hypot(x / sides[0], y / sides[1])
    assert (np.abs(size - 1.0) * size / slope).max() < WITHIN + 0.001  # mm, to first order


@pytest.mark.parametrize(
    "seed", [1, *(pytest.param(seed, marks=pytest.mark.thorough) for seed in (0, *range(2, 8)))]
)
def test_wavy_outlines_stay_within_the_tolerance(seed):
    rng = np.random.default_rng(seed)
    turn = np.linspace(0.0, 2.0 * np.pi, 20001)
    radius = 80.0 + sum(
        rng.normal(0.0, 10.0 / k) * np.cos(k * turn + rng.uniform(0.0, 6.0)) for k in range(1, 9)
    )
    line = simplified(np.column_stack([radius * np.cos(turn), radius * np.sin(turn)]), 0.0006)
    moves, cubics = found(line)
    assert cubics
    assert all(a.last <= b.first for a, b in pairwise(cubics))
    curve = replaced(moves, cubics)
    assert all_within(curve, line, WITHIN + 0.0005)
    assert all_within(line, curve, WITHIN + 0.0005)


def all_within(places, line, away):
    """Return whether points lie so near to a line (GEOS): what the Hausdorff distance compares."""
    index = LineString(line)
    shapely.prepare(index)
    return bool(shapely.dwithin(shapely.points(places), index, away).all())


def test_no_cubic_passes_a_corner():
    one = bezier([(0, 0), (0, 60), (40, 90), (100, 90)])
    line = np.vstack([simplified(one, 0.0006), simplified(one + one[-1], 0.0006)[1:]])
    moves, cubics = found(line)
    corner = int(np.flatnonzero((line == one[-1]).all(axis=1))[0])
    assert len(cubics) == 2
    assert moves.end[cubics[0].last - 1] == corner == moves.begin[cubics[1].first]


def test_arcs_and_straight_lines_stay_as_they_are():
    arc = simplified(ellipse(30.0, 30.0, 2.5), 0.0006)
    square = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0], [0.0, 0.0]])
    assert found(arc)[1] == found(square)[1] == found(square[:1])[1] == []
    assert list(find_cubics(find_arcs([], []), [])) == []
