"""How long a program takes: speed up, hold, slow down; slower through corners.

A trapezoid of speed along each stretch, with the speed at a corner set by the junction deviation:
the speed at which a circle that touches both sides, and comes within `junction` mm of the corner,
is driven at the machine's acceleration (common practice in motion control).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from plotout.flow import Run
from plotout.geometry.strokes import FloatArray
from plotout.machine import Machine, Motion, ToolKind
from plotout.machine.motion import travel_seconds

TURNING = 180.0  # degrees/s of a knife that turns in the stock, where the profile doesn't say


def timed(runs: Sequence[Run], machine: Machine) -> tuple[float, dict[str, float]]:
    """Return the seconds that the runs take with all travel between, and those of each tool.

    It begins at the sheet's 0, 0. A tool's time holds the travel to its runs and its change.
    """
    motion = machine.motion
    turning = float(machine.options.get("turning", TURNING))
    by_tool: dict[str, float] = {}
    at, number = np.zeros(2), None
    for chain in _chains(runs):
        tool = chain[0].tool
        seconds = float(travel_seconds(at, chain[0].points[0], motion))
        seconds += motion.lower + motion.lift
        if tool.kind is ToolKind.TANGENTIAL_KNIFE:
            seconds += sum(_knife_seconds(run, motion, turning) for run in chain)
        else:
            feeds = [run.feed for run in chain]
            seconds += path_seconds([run.points for run in chain], feeds, motion)
        if number is not None and tool.number != number:
            seconds += motion.change
        by_tool[tool.name] = by_tool.get(tool.name, 0.0) + seconds
        at, number = chain[-1].points[-1], tool.number
    return sum(by_tool.values()), by_tool


def path_seconds(lines: Sequence[FloatArray], feeds: Sequence[float], motion: Motion) -> float:
    """Return the seconds from rest to rest along lines, each going on where the last one ends.

    lines: (n, 2), mm; feeds: mm/s along each. It slows for corners, and so that it can stop.
    """
    points = np.vstack(lines)
    speeds = np.concatenate([np.full(len(line), f) for line, f in zip(lines, feeds, strict=True)])
    steps, speeds = np.diff(points, axis=0), speeds[1:]
    lengths = np.hypot(*steps.T)
    moved = lengths > 1e-9
    steps, lengths, speeds = steps[moved], lengths[moved], speeds[moved]
    if not len(lengths):
        return 0.0
    through = np.minimum(speeds[:-1], speeds[1:])
    corners = np.minimum(through, corner_speeds(steps / lengths[:, None], motion))
    limits = np.concatenate([[0.0], corners, [0.0]])
    reached = _reachable(limits, lengths, motion.acceleration)
    return float(_stretch(reached[:-1], reached[1:], lengths, speeds, motion.acceleration).sum())


def corner_speeds(ways: FloatArray, motion: Motion) -> FloatArray:
    """Return the greatest speed at each corner, (n - 1,), mm/s, between unit vectors (n, 2)."""
    cosine = np.clip((ways[:-1] * ways[1:]).sum(axis=1), -1.0, 1.0)
    half = np.sqrt((1.0 + cosine) / 2.0)  # cosine of half the turn: sine of half the angle between
    radius = motion.junction * half / np.maximum(1.0 - half, 1e-12)
    return np.asarray(np.sqrt(motion.acceleration * radius))


def _chains(runs: Sequence[Run]) -> list[list[Run]]:
    """Return the runs that are worked without lifting, together."""
    chains: list[list[Run]] = []
    for run in runs:
        if run.follows and chains:
            chains[-1].append(run)
        else:
            chains.append([run])
    return chains


def _knife_seconds(run: Run, motion: Motion, turning: float) -> float:
    """Return the seconds of a run that stops wherever the knife is turned standing still."""
    if run.angles is None or len(run.points) < 2:
        return 0.0
    still = np.flatnonzero((run.points[1:] == run.points[:-1]).all(axis=1))
    moving = sum(
        path_seconds([part], [run.feed], motion) for part in np.split(run.points, still + 1)
    )
    return moving + float(np.abs(np.diff(run.angles))[still].sum()) / turning


def _reachable(limits: FloatArray, lengths: FloatArray, acceleration: float) -> FloatArray:
    """Return the speed at each point that can be both reached and braked from.

    Squares of speed rise by at most 2 a s: a running minimum once that slope is taken off.
    """
    slope = np.concatenate([[0.0], np.cumsum(2.0 * acceleration * lengths)])
    squares = limits**2
    ahead = np.minimum.accumulate(squares - slope) + slope
    back = np.minimum.accumulate((squares + slope)[::-1])[::-1] - slope
    return np.asarray(np.sqrt(np.maximum(np.minimum(ahead, back), 0.0)))


def _stretch(
    enter: FloatArray, leave: FloatArray, lengths: FloatArray, speeds: FloatArray, rate: float
) -> FloatArray:
    """Return the seconds of each stretch: speed up at `rate` mm/s2, hold, slow down."""
    peak = np.sqrt(rate * lengths + (enter**2 + leave**2) / 2.0)
    peak = np.minimum(peak, np.maximum(speeds, np.maximum(enter, leave)))
    ramps = (2.0 * peak**2 - enter**2 - leave**2) / (2.0 * rate)
    held = np.maximum(lengths - ramps, 0.0) / peak
    return np.asarray((2.0 * peak - enter - leave) / rate + held)
