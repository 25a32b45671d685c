"""Borders and lines, beside what GEOS says of them."""

import numpy as np
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LineString

from plotout.geometry.region import without_straight

NEAR = st.sampled_from([1e-8, 5e-8, 1e-7, 2e-7, 1e-6, 1.0, 100.0])


@given(st.lists(st.tuples(NEAR, st.floats(-np.pi, np.pi)), min_size=2, max_size=12))
def test_a_line_keeps_its_corners_when_its_straight_points_are_dropped(steps):
    """By GEOS: the lines lie within the tolerance of each other, though a corner be a double one,
    of two points so near that each lies in line with its neighbours.
    """
    moves = [(size * np.cos(way), size * np.sin(way)) for size, way in steps]
    points = np.vstack([[0.0, 0.0], np.cumsum(moves, axis=0)])
    left = without_straight(points)
    assert shapely.hausdorff_distance(LineString(points), LineString(left)) < 1.1e-7


def test_points_on_a_straight_line_are_dropped():
    points = np.array([[0, 0], [10, 0], [20, 1e-8], [40, 0], [40, 30], [40, 60]], float)
    assert without_straight(points).tolist() == [[0, 0], [40, 0], [40, 60]]
