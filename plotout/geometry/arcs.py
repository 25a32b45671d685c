"""Arcs found again in a polyline that was flattened, for formats that have them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.simplify import chord_end
from plotout.geometry.strokes import FloatArray

FEWEST = 3  # stretches that an arc must replace
GREATEST = 5000.0  # mm: a longer radius is a straight line for any machine
SHARPEST = math.radians(45.0)  # a turn between two chords of one arc is less
WIDEST = math.radians(170.0)  # an arc's sweep stays clear of half a turn, where I, J grow unsure

Line = Sequence[Sequence[float]]


class Arc(NamedTuple):
    """The way from a line's point `begin` to its point `end`: straight where sweep is 0.

    centre: mm. sweep: radians, positive counter-clockwise.
    """

    begin: int
    end: int
    centre: tuple[float, float] = (0.0, 0.0)
    sweep: float = 0.0


def find_arcs(points: FloatArray, tolerance: float) -> list[Arc]:
    """Return the line, (n, 2), mm, as straight stretches and arcs from vertex to vertex.

    The Hausdorff distance between both is at most `tolerance` mm. Each stretch or arc reaches as
    far as it can from where the one before it ends, arcs up to WIDEST; the one that reaches
    further is taken.
    """
    line, last = points.tolist(), len(points) - 1
    bends, goes_on = _bends(points), _goes_on(points, tolerance)
    found: list[Arc] = []
    begin = 0
    while begin < last:
        straight = chord_end(line, begin, tolerance) if goes_on[begin] else begin + 1
        arc = _longest(line, begin, tolerance) if bends[begin] else None
        found.append(arc if arc and arc.end > straight else Arc(begin, straight))
        begin = found[-1].end
    return found


def _bends(points: FloatArray) -> list[bool]:
    """Say of each vertex whether an arc can begin there: the next few turn one way, and gently."""
    steps = np.diff(points, axis=0)
    cross = steps[:-1, 0] * steps[1:, 1] - steps[:-1, 1] * steps[1:, 0]
    turns = np.arctan2(cross, (steps[:-1] * steps[1:]).sum(axis=1))
    gentle = np.where(np.abs(turns) < SHARPEST, np.sign(turns), 0.0)
    can = np.zeros(len(points), dtype=bool)
    if len(gentle) >= FEWEST - 1:
        windows = np.lib.stride_tricks.sliding_window_view(gentle, FEWEST - 1)
        can[: len(windows)] = np.abs(windows.sum(axis=1)) == FEWEST - 1
    return list(can.tolist())


def _goes_on(points: FloatArray, tolerance: float) -> list[bool]:
    """Say of each vertex whether a chord from it can pass by the next one, and go on."""
    goes: NDArray[np.bool_] = np.zeros(len(points), dtype=bool)
    passed, reached = points[1:-1] - points[:-2], points[2:] - points[:-2]
    cross = np.abs(passed[:, 0] * reached[:, 1] - passed[:, 1] * reached[:, 0])
    goes[:-2] = cross <= tolerance * np.hypot(reached[:, 0], reached[:, 1])
    return list(goes.tolist())


def _longest(line: Line, begin: int, tolerance: float) -> Arc | None:
    """Return the longest arc from a vertex: doubled while it fits, then narrowed down."""
    most = len(line) - 1 - begin
    best, size, too_long = None, FEWEST, most + 1
    while size < too_long:
        arc = _fitted(line, begin, begin + size, tolerance)
        if arc is None:
            too_long = size
        else:
            best = arc
        fits = best.end - begin if best else 0
        if best is None or fits + 1 >= too_long:
            return best
        size = min(2 * fits, most) if too_long > most and arc else (fits + too_long) // 2
        size = max(size, fits + 1)
    return best


def _fitted(line: Line, begin: int, end: int, tolerance: float) -> Arc | None:
    """Return the arc through the first, middle and last of these points, if it serves them all.

    Every point must lie near the arc, no chord cut too far inside it, and all turn one way.
    """
    x, y = line[begin]
    centre = _centre((x, y), line[(begin + end) // 2], line[end])
    if centre is None:
        return None
    from_x, from_y = x - centre[0], y - centre[1]
    radius = math.hypot(from_x, from_y)
    if radius > GREATEST:
        return None
    sweep = 0.0
    for nth in range(begin + 1, end + 1):
        to_x, to_y = line[nth][0] - centre[0], line[nth][1] - centre[1]
        if abs(math.hypot(to_x, to_y) - radius) > tolerance:
            return None
        cross = from_x * to_y - from_y * to_x
        chord = math.hypot(to_x - from_x, to_y - from_y)
        if (radius - tolerance) * chord > abs(cross):
            return None
        turn = math.atan2(cross, from_x * to_x + from_y * to_y)
        sweep += turn
        if turn * sweep <= 0.0 or abs(turn) > SHARPEST or abs(sweep) > WIDEST:
            return None
        from_x, from_y = to_x, to_y
    return Arc(begin, end, centre, sweep)


def _centre(
    one: Sequence[float], two: Sequence[float], three: Sequence[float]
) -> tuple[float, float] | None:
    """Return the centre of the circle through three points, None where they lie straight."""
    ax, ay, bx, by = two[0] - one[0], two[1] - one[1], three[0] - one[0], three[1] - one[1]
    double = 2.0 * (ax * by - ay * bx)
    if abs(double) < 1e-12:
        return None
    aa, bb = ax * ax + ay * ay, bx * bx + by * by
    return one[0] + (by * aa - ay * bb) / double, one[1] + (ax * bb - bx * aa) / double
