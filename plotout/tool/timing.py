"""How long a program takes: speed up, hold, slow down; slower through corners.

A trapezoid of speed along each stretch, with the speed at a corner set by the junction deviation:
the speed at which a circle that touches both sides, and comes within `junction` mm of the corner,
is driven at the machine's acceleration (common practice in motion control).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from plotout.flow import Run
from plotout.geometry.strokes import FloatArray
from plotout.machine import Motion

Floats = NDArray[np.float64]


def timed(runs: Sequence[Run], motion: Motion) -> tuple[float, dict[str, float]]:
    """Return the seconds that the runs take with all travel between, and those of each tool."""
    by_tool: dict[str, float] = {}
    at = np.zeros(2)
    tool = None
    for run in runs:
        seconds = 0.0
        if not run.follows:
            seconds += travel_seconds(at, run.points[0], motion) + motion.lift + motion.lower
            if tool is not None and run.tool.name != tool:
                seconds += motion.change
        seconds += path_seconds(run.points, run.feed, motion)
        by_tool[run.tool.name] = by_tool.get(run.tool.name, 0.0) + seconds
        at, tool = run.points[-1], run.tool.name
    return sum(by_tool.values()), by_tool


def travel_seconds(start: FloatArray, end: FloatArray, motion: Motion) -> float:
    """Return the seconds from rest to rest with the tool up."""
    step = np.abs(end - start)
    distance = float(step.max() if motion.independent else np.hypot(*step))
    return _trapezoid(distance, motion.travel_speed, motion.acceleration)


def _trapezoid(distance: float, speed: float, acceleration: float) -> float:
    if distance * acceleration < speed * speed:
        return float(2.0 * np.sqrt(distance / acceleration))
    return distance / speed + speed / acceleration


def path_seconds(points: FloatArray, feed: float, motion: Motion) -> float:
    """Return the seconds along a line from rest to rest at a feed in mm/s, slowing at corners."""
    steps = np.diff(points, axis=0)
    lengths = np.hypot(*steps.T)
    steps, lengths = steps[lengths > 1e-9], lengths[lengths > 1e-9]
    if not len(lengths):
        return 0.0
    limits = np.concatenate([[0.0], _corner_speeds(steps / lengths[:, None], feed, motion), [0.0]])
    reached = _reachable(limits, lengths, motion.acceleration)
    return float(_stretch(reached[:-1], reached[1:], lengths, feed, motion.acceleration).sum())


def _corner_speeds(headings: FloatArray, feed: float, motion: Motion) -> Floats:
    cosine = np.clip((headings[:-1] * headings[1:]).sum(axis=1), -1.0, 1.0)
    half = np.sqrt((1.0 + cosine) / 2.0)  # cosine of half the turn: sine of half the angle between
    with np.errstate(divide="ignore"):
        radius = motion.junction * half / np.maximum(1.0 - half, 1e-12)
    return np.asarray(np.minimum(feed, np.sqrt(motion.acceleration * radius)))


def _reachable(limits: Floats, lengths: Floats, acceleration: float) -> Floats:
    """The speed at each point that can be both reached and braked from."""
    squares = (limits**2).tolist()
    gains = (2.0 * acceleration * lengths).tolist()
    for nth, gain in enumerate(gains):
        squares[nth + 1] = min(squares[nth + 1], squares[nth] + gain)
    for nth in range(len(gains) - 1, -1, -1):
        squares[nth] = min(squares[nth], squares[nth + 1] + gains[nth])
    return np.asarray(np.sqrt(np.array(squares)))


def _stretch(
    enter: Floats, leave: Floats, lengths: Floats, feed: float, acceleration: float
) -> Floats:
    peak = np.sqrt((2.0 * acceleration * lengths + enter**2 + leave**2) / 2.0)
    peak = np.minimum(peak, np.maximum(feed, np.maximum(enter, leave)))
    ramps = (2.0 * peak**2 - enter**2 - leave**2) / (2.0 * acceleration)
    held = np.maximum(lengths - ramps, 0.0) / peak
    return np.asarray((2.0 * peak - enter - leave) / acceleration + held)
