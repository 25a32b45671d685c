"""Arcs found again in a polyline that was flattened, for formats that have them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from plotout.geometry.simplify import chord_end
from plotout.geometry.strokes import FloatArray

FEWEST = 3  # stretches that an arc must replace
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

    The Hausdorff distance between both is at most `tolerance` mm. Each stretch or arc reaches as
    far as it can from where the one before it ends, arcs up to WIDEST; the one that reaches
    further is taken.
    """
    line, last = points.tolist(), len(points) - 1
    can_bend = _arc_begins(points, tolerance)
    found: list[Arc] = []
    begin = 0
    while begin < last:
        straight = chord_end(line, begin, tolerance)
        arc = _longest(points, begin, tolerance) if can_bend[begin] else None
        found.append(arc if arc and arc.end > straight else Arc(begin, straight))
        begin = found[-1].end
    return found


def _arc_begins(points: FloatArray, tolerance: float) -> list[bool]:
    """Say of each vertex whether an arc over the next FEWEST stretches serves them: all at once."""
    count = len(points)
    if count <= FEWEST:
        return [False] * count
    windows = np.stack([points[nth : count - FEWEST + nth] for nth in range(FEWEST + 1)])
    served, _, _ = _served(windows, tolerance)
    return [*served.tolist(), *[False] * FEWEST]


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
    served, centre, sweep = _served(points[begin : end + 1, None], tolerance)
    if not served[0]:
        return None
    return Arc(begin, end, (float(centre[0, 0]), float(centre[0, 1])), float(sweep[0]))


def _served(
    lines: FloatArray, tolerance: float
) -> tuple[np.ndarray[tuple[int], np.dtype[np.bool_]], FloatArray, FloatArray]:
    """Say of each line whether the arc through its first, middle and last points serves it.

    lines: (points, lines, 2), mm. Also gives the arcs' centres, (lines, 2), and sweeps, radians.
    """
    centres = _centres(lines[0], lines[len(lines) // 2], lines[-1])
    spokes = lines - centres
    lengths = np.hypot(spokes[..., 0], spokes[..., 1])
    radius = lengths[0]
    cross = spokes[:-1, :, 0] * spokes[1:, :, 1] - spokes[:-1, :, 1] * spokes[1:, :, 0]
    chords = np.diff(lines, axis=0)
    nearest = np.abs(cross) / np.maximum(np.hypot(chords[..., 0], chords[..., 1]), 1e-12)
    turns = np.arctan2(cross, (spokes[:-1] * spokes[1:]).sum(axis=-1))
    sweep = turns.sum(axis=0)
    good = (
        (radius < GREATEST)
        & (np.abs(lengths - radius) <= tolerance).all(axis=0)
        & (radius - nearest <= tolerance).all(axis=0)
        & ((turns > 0.0).all(axis=0) | (turns < 0.0).all(axis=0))
        & (np.abs(turns) < SHARPEST).all(axis=0)
        & (np.abs(sweep) <= WIDEST)
    )
    return good, centres, sweep


def _centres(one: FloatArray, two: FloatArray, three: FloatArray) -> FloatArray:
    """Return the centres of circles through three points, each (n, 2); far off on a straight."""
    a, b = two - one, three - one
    double = 2.0 * (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])
    double = np.where(np.abs(double) < 1e-12, 1e-12, double)
    aa, bb = (a * a).sum(axis=1), (b * b).sum(axis=1)
    x = (b[:, 1] * aa - a[:, 1] * bb) / double
    y = (a[:, 0] * bb - b[:, 0] * aa) / double
    return np.asarray(one + np.column_stack([x, y]))
