"""Arcs found again: against the circle's own equation."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString

from plotout.geometry.arc_fit import Points
from plotout.geometry.arcs import PART, find_arcs
from plotout.geometry.chord_fit import longest_chords
from plotout.geometry.simplify import chord_end


def polyline(radius, sweep, count, centre=(10.0, -3.0), start=0.4):
    angles = np.linspace(start, start + np.radians(sweep), count)
    return centre + radius * np.column_stack([np.cos(angles), np.sin(angles)])


def found(line, tolerance):
    return find_arcs([line], [tolerance])


def test_an_arc_is_one_arc():
    arcs = found(polyline(40.0, -120.0, 60), 0.01)
    assert len(arcs.sweep) == 1
    assert np.allclose(arcs.centre[0], (10.0, -3.0), atol=1e-6)
    assert np.isclose(np.degrees(arcs.sweep[0]), -120.0)


def test_straight_lines_and_corners_stay():
    square = np.array([[0, 0], [10, 0], [10, 10], [0, 10], [0, 0.0]])
    assert found(square, 0.01).sweep.tolist() == [0.0] * 4


def test_line_arc_line():
    bend = polyline(20.0, 90.0, 40, centre=(0.0, 0.0), start=-np.pi / 2)
    line = np.vstack([[[-50.0, -20.0]], bend, [[20.0, 60.0]]])
    assert np.round(np.degrees(found(line, 0.01).sweep)).tolist() == [0, 90, 0]


def test_lines_are_served_side_by_side_as_they_are_alone():
    lines = [polyline(40.0, -120.0, 60), np.array([[3.0, 4.0]]), np.empty((0, 2)),
             np.array([[0, 0], [1, 0], [2, 0], [2, 5.0]]), polyline(9.0, 300.0, 90)]  # fmt: skip
    tolerances = [0.01, 0.02, 0.01, 0.01, 0.001]
    together = find_arcs(lines, tolerances)
    starts = np.cumsum([0, *map(len, lines[:-1])])
    alone = [found(*each) for each in zip(lines, tolerances, strict=True)]
    for end in ("begin", "end"):
        ends = [getattr(each, end) + start for each, start in zip(alone, starts, strict=True)]
        assert getattr(together, end).tolist() == np.concatenate(ends).tolist()
    assert np.allclose(together.sweep, np.concatenate([each.sweep for each in alone]))
    assert len(find_arcs([], []).begin) == 0


def test_a_long_line_is_served_in_parts():
    turns = np.radians(np.linspace(0.0, 160.0, 4 * PART + 1))
    arcs = found(100.0 * np.column_stack([np.cos(turns), np.sin(turns)]), 0.001)
    assert arcs.end.tolist() == [PART, 2 * PART, 3 * PART, 4 * PART]
    assert np.allclose(np.degrees(arcs.sweep), 40.0)
    assert np.allclose(arcs.centre, 0.0, atol=1e-6)


@pytest.mark.parametrize(
    ("scatter", "turning"), [(0.0, 0.0), (0.002, 0.0), (0.002, 0.02), (0.3, 0.3)]
)
def test_chords_reach_as_far_as_those_of_simplify(scatter, turning):
    """Both are made here, but one goes from point to point and the other by whole rows."""
    rng = np.random.default_rng(7)
    heading = np.cumsum(rng.normal(0.0, turning, 600))
    line = np.cumsum(0.05 * np.column_stack([np.cos(heading), np.sin(heading)]), axis=0)
    line += rng.normal(0.0, scatter, line.shape)
    points = Points(line.copy().view(complex).ravel(), np.full(600, 0.005))
    begin = np.arange(599)
    wanted = [chord_end(line.tolist(), nth, 0.005) for nth in begin.tolist()]
    assert longest_chords(points, begin, np.full(599, 599)).tolist() == wanted


@settings(max_examples=60, deadline=None)
@given(
    st.floats(0.5, 300.0), st.floats(5.0, 350.0), st.integers(5, 400), st.floats(0.001, 0.02),
    st.integers(0, 1000),
)  # fmt: skip
def test_no_point_of_the_line_is_further_off_than_was_allowed(radius, sweep, count, tol, seed):
    rng = np.random.default_rng(seed)
    points = polyline(radius, sweep, count) + rng.normal(0.0, tol / 3.0, size=(count, 2))
    arcs = found(points, tol)
    assert arcs.begin[0] == 0
    assert arcs.end[-1] == count - 1
    assert (arcs.end[:-1] == arcs.begin[1:]).all()
    for nth in np.flatnonzero(arcs.sweep):
        begin, end, centre = arcs.begin[nth], arcs.end[nth], arcs.centre[nth]
        dense = np.linspace(points[begin:end], points[begin + 1 : end + 1], 9)
        gaps = np.hypot(*(dense.reshape(-1, 2) - centre).T)
        own = np.hypot(*(points[begin] - centre))
        assert np.abs(gaps - own).max() <= tol + 1e-9
    for begin, end in zip(arcs.begin[arcs.sweep == 0], arcs.end[arcs.sweep == 0], strict=True):
        chord = LineString(points[[begin, end]])
        assert chord.hausdorff_distance(LineString(points[begin : end + 1])) <= tol + 1e-9
