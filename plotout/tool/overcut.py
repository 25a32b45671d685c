"""Overcuts: past the start of a closed cut, and past sharp corners into the waste."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from plotout.geometry.polyline import is_closed, length, part
from plotout.geometry.strokes import FloatArray


def with_overcut(points: FloatArray, overcut: float) -> FloatArray:
    """Return a closed line continued `overcut` mm past its start; an open one unchanged."""
    if overcut <= 0.0 or not is_closed(points):
        return points
    return np.vstack([points, part(points, 0.0, min(overcut, length(points)))[1:]])


def legs(points: FloatArray, reach: float, sharper: float, waste: float) -> Iterator[FloatArray]:
    """Give the line's stretches between corners, (n, 2), extended by `reach` mm at both ends.

    Only corners count that turn by more than `sharper` degrees, with the waste beyond them: waste
    is 1 if that is beyond counter-clockwise turns, -1 if beyond clockwise ones. The ends of an open
    line are not extended.
    """
    closed = is_closed(points)
    corners = _corners(points, sharper, waste)
    if closed and corners:  # begin at a corner, so that no seam is left elsewhere
        points = np.vstack([points[corners[0] : -1], points[: corners[0] + 1]])
        yield from _run_on(points, _corners(points, sharper, waste), reach, closed=True)
    elif corners:
        yield from _run_on(points, corners, reach, closed=False)
    else:
        yield points


def _corners(points: FloatArray, sharper: float, waste: float) -> list[int]:
    steps = np.diff(points, axis=0)
    angles = np.degrees(np.arctan2(steps[:, 1], steps[:, 0]))
    turns = (np.diff(angles) + 180.0) % 360.0 - 180.0
    return [int(index) + 1 for index in np.flatnonzero(turns * waste > sharper)]


def _run_on(
    points: FloatArray, corners: list[int], reach: float, *, closed: bool
) -> Iterator[FloatArray]:
    ends = [0, *corners, len(points) - 1]
    for begin, end in pairwise(ends):
        leg = points[begin : end + 1].copy()
        if begin > 0 or closed:
            leg[0] -= reach * _unit(leg[1] - leg[0])
        if end < len(points) - 1 or closed:
            leg[-1] += reach * _unit(leg[-1] - leg[-2])
        yield leg


def _unit(step: FloatArray) -> FloatArray:
    return np.asarray(step / np.hypot(*step))
