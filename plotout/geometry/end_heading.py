"""The direction in which a curve begins or ends, of which only points are known.

The first chord of a flattened curve is off the curve's tangent by half of what the curve turns over
it: 1.1 degrees at a radius of 20 mm. The tangent is that of the curve whose bend changes steadily
and which has the same three first chords: a chord's direction is the mean of the curve's over it,
to the third order of the turn.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from plotout.geometry.polyline import length, unit, without_repeats
from plotout.geometry.strokes import FloatArray

_CHORDS = 3
_BULGE = 0.012  # mm: no curve is further off its chord (flattened and thinned, at most 0.008)
_STEADY = 2.0  # times that a curve's bend may change from one chord to the next
_CORNER = 0.35  # radians: a sharper turn from chord to chord is a corner


class EndHeading(NamedTuple):
    """direction: (2,), of travel, of length 1. bend: to the left, 1/mm; 0 on a straight line."""

    direction: FloatArray
    bend: float


def end_heading(points: FloatArray, *, last: bool) -> EndHeading:
    """Return how a line, (n, 2), mm, sets off from its first point, or arrives at its last."""
    line = without_repeats(points[::-1] if last else points)
    near = line[: _CHORDS + 1]
    steps = near[1:] - near[:-1]
    sizes = np.hypot(*steps.T)
    by, bend = _before_chord(steps, sizes)
    x, y = steps[0] / sizes[0]
    cos, sin = np.cos(by), np.sin(by)
    direction = np.array([x * cos - y * sin, x * sin + y * cos])
    return EndHeading(-direction, -bend) if last else EndHeading(direction, bend)


def onward(points: FloatArray, allowance: tuple[float, float], *, last: bool) -> FloatArray:
    """Return the unit direction of travel, (2,), of a side's parallel at its first or last end.

    Where the side bends more tightly than it is wide, its parallel runs backwards, but what goes on
    past it doesn't.
    """
    start, end = allowance
    heading = end_heading(points, last=last)
    along = max(1.0 + heading.bend * (end if last else start), 0.0) or 1.0
    x, y = heading.direction
    lean = (end - start) / length(points)
    return unit(heading.direction * along + np.array([y, -x]) * lean)


def _before_chord(steps: FloatArray, sizes: FloatArray) -> tuple[float, float]:
    """Return how far left of its first chord a curve sets off, radians, and its bend, 1/mm.

    Both are 0 unless the line is a curve there.
    """
    if len(steps) < 2:  # as are most edges
        return 0.0, 0.0
    cross = steps[:-1, 0] * steps[1:, 1] - steps[:-1, 1] * steps[1:, 0]
    turns = np.arctan2(cross, (steps[:-1] * steps[1:]).sum(axis=1))
    bends = 2.0 * turns / (sizes[:-1] + sizes[1:])
    if not _is_curve(turns, bends, float(sizes[0])):
        return 0.0, 0.0
    end = np.cumsum(sizes)
    start = end - sizes
    means = np.column_stack(
        [np.ones(len(end)), (start + end) / 2.0, (start**2 + start * end + end**2) / 6.0]
    )
    found = np.linalg.solve(means[:, : len(end)], np.concatenate([[0.0], np.cumsum(turns)]))
    return float(found[0]), float(found[1])


def _is_curve(turns: FloatArray, bends: FloatArray, first: float) -> bool:
    """Return whether chords are those of a curve, and not of a straight line or of a corner."""
    if np.abs(turns).max() > _CORNER:
        return False
    if abs(bends[0]) * first**2 / 8.0 > _BULGE:
        return False
    one, other = bends[0], bends[-1]
    return bool(one * other > 0.0 and 1.0 / _STEADY <= one / other <= _STEADY)
