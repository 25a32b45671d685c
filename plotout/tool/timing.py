"""How long a program takes: speed up, hold, slow down; slower through corners.

A trapezoid of speed along every stretch, with the speed at a corner set by the junction deviation:
the speed at which a circle that touches both sides and comes within `junction` mm of the corner
takes the machine's acceleration (common practice in motion control).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.polyline import tips
from plotout.geometry.strokes import FloatArray
from plotout.machine import AUTOMATIC, Machine, Motion
from plotout.machine.motion import handling_seconds, travel_seconds
from plotout.model import Program, Run


def timed(runs: Sequence[Run], machine: Machine) -> tuple[float, dict[str, float]]:
    """Return the seconds of the runs with all travel in between, and those of every tool.

    It begins at the sheet's 0, 0. A tool's time includes the travel to its runs and its change.
    """
    return _added(runs, run_seconds(runs, machine))


def timed_frames(program: Program) -> tuple[float, dict[str, float]]:
    """Return the seconds of a program, the frames of a roll included, and those of every tool."""
    return _added(program.runs, frame_seconds(program))


def _added(runs: Sequence[Run], seconds: FloatArray) -> tuple[float, dict[str, float]]:
    by_tool: dict[str, float] = {}
    for run, share in zip(runs, seconds.sum(axis=1).tolist(), strict=True):
        by_tool[run.tool.name] = by_tool.get(run.tool.name, 0.0) + share
    return float(seconds.sum()), by_tool


def frame_seconds(program: Program) -> FloatArray:
    """Return the seconds of each run, (n, 2), as `run_seconds`; each frame begins at its own 0, 0.

    Where the roll is advanced by hand, every frame has its own file, which asks for its tool anew.
    """
    firsts = [advance.run for advance in program.advances]
    starts = np.cumsum([0.0, *(advance.by for advance in program.advances)]).tolist()
    found, fitted = [np.empty((0, 2))], None
    for (begin, end), start in zip(pairwise([0, *firsts, len(program.runs)]), starts, strict=True):
        runs = program.runs[begin:end]
        found.append(run_seconds(runs, program.machine, (start, 0.0), fitted))
        if program.machine.bed.advance == AUTOMATIC and runs:
            fitted = runs[-1].tool.number
    return np.vstack(found)


def run_seconds(
    runs: Sequence[Run],
    machine: Machine,
    start: tuple[float, float] = (0.0, 0.0),
    fitted: int | None = None,
) -> FloatArray:
    """Return the seconds of every run before its tool is down, and with it down, (n, 2).

    Before: travel from the end of the last run (`start`, mm, for the first) while a knife turns,
    the change to its tool (the first too, which the file asks for as well, unless it is `fitted`),
    and lowering it.
    With it down: the motion, and the lift at its end.
    """
    if not runs:
        return np.empty((0, 2))
    motion = machine.motion
    lifted = np.array([not run.follows for run in runs])
    lifted[0] = True
    at = tips([run.points for run in runs])
    starts, ends = at[:, 0], np.vstack([np.reshape(start, (1, 2)), at[:-1, 1]])
    lower, lift = handling_seconds(np.array([run.depth or 0.0 for run in runs]), machine)
    travel = np.maximum(travel_seconds(ends, starts, motion), _swung(runs, machine))
    before = lifted * (travel + lower)
    numbers = np.array([run.tool.number for run in runs])
    before += motion.change * (numbers != np.array([fitted or 0, *numbers[:-1]]))
    down = _worked(runs, np.cumsum(lifted), motion) + _turned(runs, machine)
    down += np.append(lifted[1:], True) * lift
    return np.column_stack([before, down])


def _worked(runs: Sequence[Run], chain: NDArray[np.int64], motion: Motion) -> FloatArray:
    """Return the seconds of every run with the tool down, computed for all stretches at once.

    chain: (n,), groups of runs worked without lifting. Speed is 0 at both ends of a chain, and
    where a knife turns on the spot.
    """
    owner = np.repeat(np.arange(len(runs)), [len(run.points) for run in runs])
    steps = np.diff(np.concatenate([run.points for run in runs]), axis=0)
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    within = chain[owner[1:]] == chain[owner[:-1]]
    turns = np.array([run.angles is not None for run in runs])[owner[1:]]
    stops = np.cumsum((lengths == 0.0) & turns)
    kept = within & (lengths > 1e-9)
    owner, stops, steps, lengths = owner[1:][kept], stops[kept], steps[kept], lengths[kept]
    if not len(lengths):
        return np.zeros(len(runs))
    speeds = np.array([run.feed for run in runs])[owner]
    on = (chain[owner[1:]] == chain[owner[:-1]]) & (stops[1:] == stops[:-1])
    through = np.minimum(speeds[:-1], speeds[1:]) * on
    corners = np.minimum(through, corner_speeds(steps / lengths[:, None], motion))
    limits = np.concatenate([[0.0], corners, [0.0]])
    reached = _reachable(limits, lengths, motion.acceleration)
    seconds = _stretch(reached[:-1], reached[1:], lengths, speeds, motion.acceleration)
    return np.asarray(np.bincount(owner, seconds, len(runs)), dtype=np.float64)


def _turned(runs: Sequence[Run], machine: Machine) -> FloatArray:
    """Return the seconds of every run in which a knife turns on the spot, in the stock."""
    seconds = np.zeros(len(runs))
    for index, run in enumerate(runs):
        if run.angles is not None and len(run.points) > 1:
            still = (run.points[1:] == run.points[:-1]).all(axis=1)
            seconds[index] = np.abs(np.diff(run.angles))[still].sum() / machine.motion.turning
    return seconds


def _swung(runs: Sequence[Run], machine: Machine) -> FloatArray:
    """Return the seconds in which a lifted knife turns for the next run."""
    seconds, at = np.zeros(len(runs)), 0.0
    for index, run in enumerate(runs):
        if run.angles is not None:
            seconds[index] = abs(float(run.angles[0]) - at) / machine.motion.turning
            at = float(run.angles[-1])
    return seconds


def corner_speeds(directions: FloatArray, motion: Motion) -> FloatArray:
    """Return the greatest speeds at corners, (n - 1,), mm/s, between unit vectors (n, 2)."""
    cosine = np.clip((directions[:-1] * directions[1:]).sum(axis=1), -1.0, 1.0)
    half = np.sqrt((1.0 + cosine) / 2.0)  # cosine of half the turn: sine of half the angle between
    radius = motion.junction * half / np.maximum(1.0 - half, 1e-12)
    return np.asarray(np.sqrt(motion.acceleration * radius))


def _reachable(limits: FloatArray, lengths: FloatArray, acceleration: float) -> FloatArray:
    """Return the speed at every point that can be both reached and braked from.

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
    """Return the seconds of every stretch: accelerate at `rate` mm/s2, hold, brake."""
    peak = np.sqrt(rate * lengths + (enter**2 + leave**2) / 2.0)
    peak = np.minimum(peak, np.maximum(speeds, np.maximum(enter, leave)))
    ramps = (2.0 * peak**2 - enter**2 - leave**2) / (2.0 * rate)
    held = np.maximum(lengths - ramps, 0.0) / peak
    return np.asarray((2.0 * peak - enter - leave) / rate + held)
