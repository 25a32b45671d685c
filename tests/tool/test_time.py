"""The time of a program against a numerical integration of the motion, which shares no code.

The machine's rules are the profile's: speed rises and falls at one acceleration, is never above
the feed, and through a corner never above that of the junction circle: v2 = a r, where
r = j s / (1 - s), with s the sine of half the angle between both sides and j the junction deviation
(common practice in motion control; trapezoid kinematics: any mechanics text). The integration goes
along the path in steps of 2 um, braking as late as it can.
"""

from __future__ import annotations

import math

import numba
import numpy as np
import pytest

from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.machine import Bed, Machine, Motion, Tool, ToolKind
from plotout.model import Run
from plotout.tool.timing import timed

STEP = 0.002


@numba.njit
def _drive(sizes, feeds, corner, rate, step):
    """Sweep the speed forwards, then back, over small cells; then add up ds / v."""
    total = 0
    for size in sizes:
        total += max(1, int(size / step))
    limit = np.empty(total + 1)
    ds = np.empty(total)
    n = 0
    limit[0] = 0.0
    for i in range(len(sizes)):
        count = max(1, int(sizes[i] / step))
        for _ in range(count):
            ds[n] = sizes[i] / count
            n += 1
            limit[n] = feeds[i]
        limit[n] = min(limit[n], corner[i])
    v = np.empty(total + 1)
    v[0] = 0.0
    for n in range(total):
        v[n + 1] = min(limit[n + 1], math.sqrt(v[n] ** 2 + 2 * rate * ds[n]))
    v[total] = 0.0
    for n in range(total - 1, -1, -1):
        v[n] = min(v[n], math.sqrt(v[n + 1] ** 2 + 2 * rate * ds[n]))
    seconds = 0.0
    for n in range(total):
        seconds += 2 * ds[n] / max(v[n] + v[n + 1], 1e-9)
    return seconds


def integrated(points, feeds, motion):
    steps = np.diff(points, axis=0)
    sizes = np.hypot(*steps.T)
    corner = np.zeros(len(sizes))
    for n in range(len(sizes) - 1):
        cos_between = -(steps[n] @ steps[n + 1]) / sizes[n] / sizes[n + 1]
        s = math.sin(math.acos(min(1, max(-1, cos_between))) / 2)
        corner[n] = (
            math.inf
            if s > 1 - 1e-12
            else math.sqrt(motion.acceleration * motion.junction * s / (1 - s))
        )
        corner[n] = min(corner[n], feeds[n], feeds[n + 1])
    return _drive(sizes, np.asarray(feeds, float), corner, motion.acceleration, STEP)


def machine(motion):
    return Machine("m", "M", "knife", "hpgl", Bed(1e4, 1e4), (), motion=motion)


def tool(name="t", number=1):
    return Tool(name, number, ToolKind.PEN, (Work.DRAW,), 100.0)


def run(points, feed=100.0, which=None, **more):
    stroke = Stroke(np.asarray(points, float), Work.DRAW, Mark.INTERNAL)
    return Run(stroke.points, which or tool(), stroke, feed, **more)


def still(acceleration, junction):
    return Motion(
        travel_speed=1e9, acceleration=acceleration, lift=0, lower=0, change=0, junction=junction
    )


CIRCLE = np.linspace(0, 2 * np.pi, 200)
SHAPES = {
    "line": [[0, 0], [80, 0]],
    "too short for the feed": [[0, 0], [0.4, 0]],
    "square": [[0, 0], [30, 0], [30, 30], [0, 30], [0, 0]],
    "hairpin": [[0, 0], [50, 0], [0, 1]],
    "circle": np.column_stack([30 * np.cos(CIRCLE) - 30, 30 * np.sin(CIRCLE)]),
    "small circle": np.column_stack([1.5 * np.cos(CIRCLE) - 1.5, 1.5 * np.sin(CIRCLE)]),
    "wander": np.vstack([[[0, 0]], np.cumsum(np.random.default_rng(2).normal(0, 3, (300, 2)), 0)]),
}  # fmt: skip


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize(("rate", "junction"), [(500.0, 0.005), (3000.0, 0.05), (20000.0, 0.02)])
@pytest.mark.parametrize("feed", [20.0, 250.0])
def test_within_five_per_cent_of_the_integration(shape, rate, junction, feed):
    points, motion = np.asarray(SHAPES[shape], float), still(rate, junction)
    seconds, _ = timed([run(points, feed)], machine(motion))
    assert seconds == pytest.approx(integrated(points, [feed] * len(points), motion), rel=0.05)


def test_stretches_of_different_feed_that_follow_on():
    one, two = np.array([[0, 0], [20, 0.0]]), np.array([[20, 0], [20, 5], [26, 5.0]])
    motion = still(1000.0, 0.02)
    seconds, _ = timed([run(one, 120.0), run(two, 15.0, follows=True)], machine(motion))
    feeds = [120.0, 15.0, 15.0]
    assert seconds == pytest.approx(integrated(np.vstack([one, two[1:]]), feeds, motion), rel=0.05)


def test_travel_tool_up_and_down_and_change_by_hand_computation():
    """Trapezoid: d / v + v / a when it reaches v, else 2 sqrt(d / a)."""
    motion = Motion(travel_speed=100.0, acceleration=1000.0, lift=0.3, lower=0.2, change=7.0)
    pen, blade = tool(), tool("blade", 2)
    runs = [run([[30, 40]]), run([[30, 41]]), run([[130, 41]], which=blade)]
    seconds, by_tool = timed(runs, machine(motion))
    first = 50 / 100 + 100 / 1000
    second = 2 * math.sqrt(1 / 1000)
    third = 100 / 100 + 100 / 1000
    assert by_tool == pytest.approx({"t": first + second + 8.0, "blade": third + 0.5 + 7.0})
    assert seconds == pytest.approx(sum(by_tool.values()))
    assert pen.number == 1


def test_a_knife_stops_to_turn():
    """Two lines from rest to rest, 10 / 100 + 100 / 1000 s each, and 90 degrees at 180 a second."""
    knife = Tool("k", 1, ToolKind.TANGENTIAL_KNIFE, (Work.CUT,), 100.0)
    points = [[0, 0], [10, 0], [10, 0], [10, 10]]
    turned = run(points, which=knife, angles=np.array([0.0, 0.0, 90.0, 90.0]))
    seconds, _ = timed([turned], machine(still(1000.0, 0.02)))
    assert seconds == pytest.approx(0.2 + 0.2 + 0.5)
