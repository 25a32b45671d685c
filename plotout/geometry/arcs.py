"""Arcs found again in a polyline that was flattened, for formats that have them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.strokes import FloatArray

FEWEST = 4  # stretches that an arc must replace
GREATEST = 5000.0  # mm: a longer radius is a straight line for any machine
SHARPEST = np.radians(45.0)  # a turn between two chords of one arc is less
WIDEST = np.radians(170.0)  # an arc's sweep stays clear of half a turn, where I, J grow unsure


@dataclass(frozen=True, slots=True)
class Arc:
    """The way from a line's point `begin` to its point `end`: straight where sweep is 0.

    centre: mm. sweep: radians, positive counter-clockwise.
    """

    begin: int
    end: int
    centre: tuple[float, float] = (0.0, 0.0)
    sweep: float = 0.0


def find_arcs(points: FloatArray, tolerance: float) -> list[Arc]:
    """Return the line, (n, 2), mm, as straight stretches and arcs from vertex to vertex.

    All of the line that an arc stands for lies within `tolerance` mm of it. Arcs are taken as long
    as they can be, up to WIDEST, from the line's start on.
    """
    found: list[Arc] = []
    begin, last = 0, len(points) - 1
    bends = _bends(points)
    while begin < last:
        arc = _longest(points, begin, tolerance) if bends[begin] else None
        if arc is None:
            arc = Arc(begin, begin + 1)
        found.append(arc)
        begin = arc.end
    return found


def _bends(points: FloatArray) -> NDArray[np.bool_]:
    """Say of each vertex whether an arc can begin there: the next few turn one way, and gently."""
    steps = np.diff(points, axis=0)
    cross = steps[:-1, 0] * steps[1:, 1] - steps[:-1, 1] * steps[1:, 0]
    turns = np.arctan2(cross, (steps[:-1] * steps[1:]).sum(axis=1))
    gentle = np.where(np.abs(turns) < SHARPEST, np.sign(turns), 0.0)
    can = np.zeros(len(points), dtype=bool)
    if len(gentle) >= FEWEST - 1:
        windows = np.lib.stride_tricks.sliding_window_view(gentle, FEWEST - 1)
        can[: len(windows)] = np.abs(windows.sum(axis=1)) == FEWEST - 1
    return can


def _longest(points: FloatArray, begin: int, tolerance: float) -> Arc | None:
    """Return the longest arc from a vertex: doubled while it fits, then narrowed down."""
    most = len(points) - 1 - begin
    best, size, too_long = None, FEWEST, most + 1
    while size < too_long:
        arc = _fitted(points, begin, begin + size, tolerance)
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


def _fitted(points: FloatArray, begin: int, end: int, tolerance: float) -> Arc | None:
    """Return the arc through the first, middle and last of these points, if it serves them all."""
    part = points[begin : end + 1]
    centre = _centre(part[0], part[len(part) // 2], part[-1])
    if centre is None:
        return None
    spokes = part - centre
    radius = float(np.hypot(*spokes[0]))
    if radius > GREATEST:
        return None
    if (np.abs(np.hypot(*spokes.T) - radius) > tolerance).any():
        return None
    cross = spokes[:-1, 0] * spokes[1:, 1] - spokes[:-1, 1] * spokes[1:, 0]
    chords = np.diff(part, axis=0)
    nearest = np.abs(cross) / np.maximum(np.hypot(*chords.T), 1e-12)
    if (radius - nearest > tolerance).any():
        return None
    turns = np.arctan2(cross, (spokes[:-1] * spokes[1:]).sum(axis=1))
    sweep = float(turns.sum())
    if not ((turns > 0.0).all() or (turns < 0.0).all()) or abs(sweep) > WIDEST:
        return None
    return Arc(begin, end, (float(centre[0]), float(centre[1])), sweep)


def _centre(one: FloatArray, two: FloatArray, three: FloatArray) -> FloatArray | None:
    """Return the centre of the circle through three points, None where they lie straight."""
    a, b = two - one, three - one
    double = 2.0 * (a[0] * b[1] - a[1] * b[0])
    if abs(double) < 1e-12:
        return None
    aa, bb = a @ a, b @ b
    shift = np.array([b[1] * aa - a[1] * bb, a[0] * bb - b[0] * aa]) / double
    return np.asarray(one + shift)
