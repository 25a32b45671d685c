"""Curves whose tangents are known: circles, clothoids, logarithmic spirals, Bezier curves.

The reference for a corner of the cutting line is where two straight lines meet: those which lie the
allowance outside the tangents there, solved here (numpy).
"""

import numpy as np
import pytest
from scipy.integrate import cumulative_simpson

from plotout.geometry.end_heading import end_heading
from plotout.geometry.flatten import bezier_points
from plotout.geometry.offset import cutting_line
from plotout.geometry.sides import Bordered

FLAT = 0.004  # mm: how far a flattened curve's chords are off it


def circle(radius, degrees=60.0):
    turn = np.linspace(0.0, np.radians(degrees), _steps(radius * np.radians(degrees), 1 / radius))
    return radius * np.column_stack([np.sin(turn), 1.0 - np.cos(turn)])


def _steps(long, bend):
    return int(np.ceil(long / np.sqrt(8.0 * FLAT / bend))) + 1


def clothoid(first, last, long=60.0):
    """A curve whose bend goes steadily from `first` to `last`, 1/mm; integrated by Simpson."""
    count = _steps(long, max(abs(first), abs(last))) - 1
    along = np.linspace(0.0, long, 50 * count + 1)
    heading = first * along + (last - first) * along**2 / (2.0 * long)
    x, y = (cumulative_simpson(f(heading), x=along, initial=0.0) for f in (np.cos, np.sin))
    return np.column_stack([x, y])[::50]


def spiral(radius, grows):
    """A logarithmic spiral, r = radius e^(grows t): its tangent is at arctan(1 / grows) to it."""
    turn = np.linspace(0.0, 1.2, _steps(1.2 * radius * np.exp(1.2 * grows), 1.0 / radius))
    away = radius * np.exp(grows * turn)
    points = np.column_stack([away * np.cos(turn), away * np.sin(turn)]) - [radius, 0.0]
    x, y = np.array([grows, 1.0]) / np.hypot(grows, 1.0)  # d/dt at 0
    return points @ np.array([[x, -y], [y, x]])


CURVES = {
    "circle 15": circle(15.0, 40.0),
    "circle 60": circle(60.0),
    "circle 400": circle(400.0, 20.0),
    "clothoid, less bent": clothoid(1 / 20, 1 / 200),
    "clothoid, more bent": clothoid(1 / 200, 1 / 20),
    "clothoid, from straight": clothoid(0.0, 1 / 30),
    "clothoid, S": clothoid(1 / 60, -1 / 60, 80.0),
    "spiral": spiral(40.0, 0.4),
    "Bezier": bezier_points(np.array([[0, 0], [20, 0], [60, 30], [60, 80.0]])),
}
INWARD = {f"{name}, inward": curve * (1.0, -1.0) for name, curve in CURVES.items()
          if name not in ("circle 15", "clothoid, less bent")}  # fmt: skip


def bent(points, degrees):
    cos, sin = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return points @ np.array([[cos, sin], [-sin, cos]])


@pytest.mark.parametrize("turned", [0.0, 137.0])
@pytest.mark.parametrize("name", [*CURVES, *INWARD])
def test_the_tangent_at_a_curve_s_end(name, turned):
    """To 0.01 mm at 12.7 mm of allowance. All curves set off along x."""
    curve = bent({**CURVES, **INWARD}[name], turned)
    tangent = bent(np.array([[1.0, 0.0]]), turned)[0]
    assert end_heading(curve, last=False).direction == pytest.approx(tangent, abs=0.01 / 12.7)
    assert end_heading(curve[::-1], last=True).direction == pytest.approx(-tangent, abs=0.01 / 12.7)


@pytest.mark.parametrize("radius", [20.0, 60.0, 400.0])
def test_the_bend_at_a_circle_s_end_is_its_own(radius):
    curve = circle(radius)
    assert end_heading(curve, last=False).bend == pytest.approx(1.0 / radius, rel=0.01)
    assert end_heading(curve, last=True).bend == pytest.approx(1.0 / radius, rel=0.01)
    assert end_heading(curve[::-1], last=True).bend == pytest.approx(-1.0 / radius, rel=0.01)


STRAIGHT = np.array([[-30.0, 0.0], [0.0, 0.0]])


@pytest.mark.parametrize(
    "points",
    [
        [[0.0, 0.0], [100.0, 0.0]],
        [[0.0, 0.0], [50.0, 0.0], [100.0, 8.0]],  # two straight lines
        [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]],  # sharp corners
        np.vstack([STRAIGHT, circle(60.0)[1:]]),  # a straight that a curve goes on from
        np.vstack([STRAIGHT, circle(400.0)[1:]]),
        [[0.0, 0.0], [1.0, 0.0], [2.0, 0.02], [3.0, 0.0]],  # a ripple
    ],
)
def test_a_straight_line_keeps_its_direction(points):
    found = end_heading(np.asarray(points), last=False)
    assert found.direction.tolist() == [1.0, 0.0]
    assert found.bend == 0.0


@pytest.mark.parametrize("allowance", [6.0, 12.7])
@pytest.mark.parametrize("corner", [40.0, 90.0, 110.0])
@pytest.mark.parametrize("name", [*CURVES, *INWARD])
def test_a_mitre_beside_a_curve_lies_where_the_tangents_lines_meet(name, corner, allowance):
    """Missed by 0.06 to 0.25 mm while the first chord's direction was taken for the curve's."""
    curve = {**CURVES, **INWARD}[name]
    into = bent(np.array([[1.0, 0.0]]), -corner)[0]
    start = -into * 300.0
    far = start + curve[-1] if name in CURVES else np.array([200.0, 300.0])
    lines = [np.vstack([start, [0.0, 0.0]]), curve, np.vstack([curve[-1], far]),
             np.vstack([far, start])]  # fmt: skip
    normals = np.array([[into[1], -into[0]], [0.0, -1.0]])
    tip = np.linalg.solve(normals, [allowance, allowance])
    mirrored = [line[::-1] * (-1.0, 1.0) for line in lines[::-1]]
    for sides, meant in ((lines, tip), (mirrored, tip * (-1.0, 1.0))):
        ring = cutting_line([Bordered(line, (allowance, allowance)) for line in sides], 10.0)
        assert np.hypot(*(ring - meant).T).min() < 0.01
