"""Grown curves against closed forms: circles, ellipses, and what grading must keep."""

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy.special import ellipe

from plotout.geometry.flatten import ellipse_points
from plotout.geometry.polyline import length
from plotout.pattern.regrow import Grown, regrown, warp

NOWHERE = np.zeros(2)


def quarter(a, b, tolerance=1e-4):
    """From (a, 0) to (0, b)."""
    return ellipse_points(np.zeros(2), np.array([a, 0.0]), np.array([0.0, b]), 0, 90, tolerance)


def quarter_length(a, b):
    """A quarter of an ellipse's perimeter, by the complete elliptic integral (scipy)."""
    return max(a, b) * ellipe(1.0 - (min(a, b) / max(a, b)) ** 2)


def sector(a, b):
    """A quarter ellipse with both its half axes, closed: curve, down the y axis, along the x."""
    curve = quarter(a, b)
    return [curve, np.array([[0.0, b], [0.0, 0.0]]), np.array([[0.0, 0.0], [a, 0.0]])]


def grown_sector(a, b, x, y):
    curve, down, along = sector(a, b)
    right, up = np.array([x, 0.0]), np.array([0.0, y])
    return regrown(
        [Grown(curve, right, up), Grown(down, up, NOWHERE), Grown(along, NOWHERE, right)]
    )


@pytest.mark.parametrize(
    ("a", "b", "x", "y"), [(100, 100, 15, 15), (75, 90, 6, 10), (60, 200, -8, 24)]
)
def test_a_quarter_ellipse_grows_to_a_quarter_ellipse(a, b, x, y):
    curve, _, _ = grown_sector(a, b, x, y)
    assert length(curve) == pytest.approx(quarter_length(a + x, b + y), rel=1e-4)
    off = np.hypot(curve[:, 0] / (a + x), curve[:, 1] / (b + y)) - 1.0
    assert np.abs(off).max() < 1e-4


def test_without_growth_nothing_changes():
    for before, after in zip(sector(70, 90), grown_sector(70, 90, 0, 0), strict=True):
        assert np.array_equal(before, after)


@given(st.floats(-9.0, 9.0), st.floats(-9.0, 9.0))
def test_ends_that_meet_exactly_still_do(x, y):
    curve = quarter(88, 20)
    corner = np.array([curve[-1], [0.0, 0.0], curve[0]])
    move, still = np.array([x, y]), NOWHERE
    lines = regrown([Grown(curve, still, move), Grown(corner[:2], move, still),
                     Grown(corner[1:], still, still)])  # fmt: skip
    for before, after in zip(lines, [*lines[1:], lines[0]], strict=True):
        assert (before[-1] == after[0]).all()


def test_growth_is_linear():
    one, two = grown_sector(70, 90, 4, 6)[0], grown_sector(70, 90, 8, 12)[0]
    base = sector(70, 90)[0]
    assert np.allclose(two - base, 2 * (one - base), atol=1e-9)


@given(st.floats(-20, 20), st.floats(-20, 20), st.floats(-20, 20), st.floats(-20, 20))
@example(12.0, -18.0, 20.0, -20.0)
@example(19.0, -18.0, 20.0, -19.5)
def test_a_curve_square_to_a_straight_stays_so(x, y, across, down):
    """The straight that it meets turns; the curve's end turns with it (angle by numpy)."""
    curve = quarter(80, 110, 1e-5)
    straight = np.array([[0.0, 110.0], [0.0, 0.0]])
    back = np.array([[0.0, 0.0], [80.0, 0.0]])
    corner, foot, side = np.array([x, y]), np.array([across, down]), np.array([y, 0.0])
    got, turned, _ = regrown(
        [Grown(curve, side, corner), Grown(straight, corner, foot), Grown(back, foot, side)]
    )
    assert np.allclose(got[-1], turned[0])
    base, after = _corner_angle(curve, straight), _corner_angle(got, turned)
    assert after == pytest.approx(base, abs=0.1)


def _corner_angle(curve, straight):
    """Degrees between a straight and the end of a curve, seen at the scale of a cut.

    The end's direction is that of a cubic through the last millimetre, with its arc length as the
    parameter (least squares, numpy): whatever the facets are, it doesn't depend on the last ones.
    """
    back = curve[::-1] - curve[-1]
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(back, axis=0).T))])
    near = np.linspace(0.0, 1.0, 41)[1:]
    powers = near[:, None] ** [1, 2, 3]
    lean = [np.linalg.lstsq(powers, np.interp(near, along, part))[0][0] for part in back.T]
    end = np.degrees(np.arctan2(-lean[1], -lean[0]))
    along = np.degrees(np.arctan2(*(straight[-1] - straight[0])[::-1]))
    return abs((end - along + 180.0) % 360.0 - 180.0)


def test_an_s_shaped_curve_keeps_its_end_tangents():
    """Its end tangents are parallel, so that no affine map in them exists."""
    t = np.linspace(0, 1, 400)
    curve = np.column_stack([60 * t, 50 * (3 * t**2 - 2 * t**3)])
    back = [np.array([[60.0, 50.0], [60.0, -40.0]]), np.array([[60.0, -40.0], [0.0, -40.0]]),
            np.array([[0.0, -40.0], [0.0, 0.0]])]  # fmt: skip
    right, rise = np.array([5.0, 0.0]), np.array([5.0, 8.0])
    got, *_ = regrown(
        [Grown(curve, NOWHERE, rise), Grown(back[0], rise, right), Grown(back[1], right, NOWHERE),
         Grown(back[2], NOWHERE, NOWHERE)]
    )  # fmt: skip
    assert np.allclose(got[-1], curve[-1] + rise)
    for way in (got[1] - got[0], got[-1] - got[-2]):
        assert abs(np.degrees(np.arctan2(way[1], way[0]))) < 1.0


def test_inner_points_follow_an_affine_growth_exactly():
    """Mean value coordinates have linear precision (Floater 2003)."""
    outline = np.array([[0.0, 0], [200, 0], [220, 150], [90, 240], [0, 180], [0, 0]])
    matrix, shift = np.array([[1.1, 0.05], [0.0, 1.2]]), np.array([3.0, -2.0])
    grown = outline @ matrix.T + shift
    inside = np.array([[20.0, 20], [100, 100], [0, 90], [180, 60], [200, 0]])
    assert np.allclose(warp(outline, grown, inside), inside @ matrix.T + shift, atol=1e-6)
