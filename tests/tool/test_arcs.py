"""Arcs found again: against the circle's own equation."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from plotout.geometry.arcs import find_arcs


def polyline(radius, sweep, count, centre=(10.0, -3.0), start=0.4):
    angles = np.linspace(start, start + np.radians(sweep), count)
    return centre + radius * np.column_stack([np.cos(angles), np.sin(angles)])


def test_an_arc_is_one_arc():
    arcs = find_arcs(polyline(40.0, -120.0, 60), 0.01)
    assert len(arcs) == 1
    assert np.allclose(arcs[0].centre, (10.0, -3.0), atol=1e-6)
    assert np.isclose(np.degrees(arcs[0].sweep), -120.0)


def test_straight_lines_and_corners_stay():
    square = np.array([[0, 0], [10, 0], [10, 10], [0, 10], [0, 0.0]])
    arcs = find_arcs(square, 0.01)
    assert [arc.sweep for arc in arcs] == [0.0] * 4


def test_line_arc_line():
    bend = polyline(20.0, 90.0, 40, centre=(0.0, 0.0), start=-np.pi / 2)
    line = np.vstack([[[-50.0, -20.0]], bend, [[20.0, 60.0]]])
    arcs = find_arcs(line, 0.01)
    assert [round(np.degrees(arc.sweep)) for arc in arcs] == [0, 90, 0]


@settings(max_examples=60, deadline=None)
@given(
    st.floats(0.5, 300.0), st.floats(5.0, 350.0), st.integers(5, 400), st.floats(0.001, 0.02),
    st.integers(0, 1000),
)  # fmt: skip
def test_no_point_of_the_line_is_further_off_than_was_allowed(radius, sweep, count, tol, seed):
    rng = np.random.default_rng(seed)
    points = polyline(radius, sweep, count) + rng.normal(0.0, tol / 3.0, size=(count, 2))
    arcs = find_arcs(points, tol)
    assert arcs[0].begin == 0
    assert arcs[-1].end == count - 1
    assert all(a.end == b.begin for a, b in pairwise(arcs))
    for arc in arcs:
        if arc.sweep:
            dense = np.linspace(points[arc.begin : arc.end], points[arc.begin + 1 : arc.end + 1], 9)
            gaps = np.hypot(*(dense.reshape(-1, 2) - arc.centre).T)
            own = np.hypot(*(points[arc.begin] - arc.centre))
            assert np.abs(gaps - own).max() <= tol + 1e-9
