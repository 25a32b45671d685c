"""Fewer points on a line, within a stated distance of it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from plotout.geometry.strokes import FloatArray

MANY = 5000  # from this many points on, GEOS thins the line first
THINNED = 1.0 / 200.0  # of the tolerance is spent on that
AHEAD = 50  # points tried past the last that a chord can reach


def simplified(points: FloatArray, tolerance: float) -> FloatArray:
    """Return the line, (n, 2), with few of its points: each chord reaches as far as it can.

    The Hausdorff distance between the two lines is at most `tolerance` mm. Ends stay; a closed
    line stays closed.
    """
    if len(points) < 3:
        return points
    if len(points) > MANY:
        points = shapely.get_coordinates(
            shapely.simplify(
                shapely.LineString(points), THINNED * tolerance, preserve_topology=False
            )
        )
        tolerance *= 1.0 - THINNED
    line, kept = points.tolist(), [0]
    while kept[-1] < len(line) - 1:
        kept.append(chord_end(line, kept[-1], tolerance))
    return points[kept]


def all_simplified(lines: Sequence[FloatArray], tolerance: float) -> list[FloatArray]:
    """Return `simplified` of every line: those that bend too much to lose a point, unchanged."""
    if not lines:
        return []
    return [
        line if bends else simplified(line, tolerance)
        for line, bends in zip(lines, _bend_throughout(lines, tolerance).tolist(), strict=True)
    ]


def _bend_throughout(lines: Sequence[FloatArray], tolerance: float) -> NDArray[np.bool_]:
    """Return which lines no chord of `chord_end` can shorten, (n,), judged for all at once.

    That is certain where, from each point, the sectors of the next two have nothing in common.
    """
    owner = np.repeat(np.arange(len(lines)), [len(line) for line in lines])
    points = np.concatenate(lines)
    near, far = points[1:-1] - points[:-2], points[2:] - points[:-2]
    sizes = np.hypot(*near.T), np.hypot(*far.T)
    sectors = sum(np.arcsin(np.minimum(tolerance / np.maximum(s, tolerance), 1.0)) for s in sizes)
    cross = near[:, 0] * far[:, 1] - near[:, 1] * far[:, 0]
    turn = np.abs(np.arctan2(cross, (near * far).sum(axis=1)))
    bends = (turn > sectors) & (np.minimum(*sizes) > tolerance)
    found = np.ones(len(lines), dtype=np.bool_)
    found[owner[2:][(owner[2:] == owner[:-2]) & ~bends]] = False
    return found


def chord_end(line: Sequence[Sequence[float]], begin: int, tolerance: float) -> int:
    """Return the furthest point of a line that a chord from point `begin` can reach.

    Every point passed bounds the chord's direction: the chord must cross a circle of the
    tolerance about it. Narrowing this sector from point to point takes linear time.
    """
    start_x, start_y = line[begin]
    best, furthest, closest = begin + 1, 0.0, tolerance * tolerance
    low_x = low_y = high_x = high_y = 0.0  # the sector's two sides; all directions while both are 0
    for index in range(begin + 1, len(line)):
        x, y = line[index][0] - start_x, line[index][1] - start_y
        square = x * x + y * y
        if square >= furthest:
            furthest = square
            if low_x * y - low_y * x >= 0.0 and x * high_y - y * high_x >= 0.0:
                best = index
        if index - best > AHEAD:
            break
        if square <= closest:
            continue
        sine = tolerance / math.sqrt(square)
        cosine = math.sqrt(1.0 - sine * sine)
        right_x, right_y = x * cosine + y * sine, y * cosine - x * sine
        left_x, left_y = x * cosine - y * sine, y * cosine + x * sine
        if low_x == low_y == 0.0:
            low_x, low_y, high_x, high_y = right_x, right_y, left_x, left_y
            continue
        if x * (low_x + high_x) + y * (low_y + high_y) <= 0.0:
            break
        if low_x * right_y - low_y * right_x > 0.0:
            low_x, low_y = right_x, right_y
        if left_x * high_y - left_y * high_x > 0.0:
            high_x, high_y = left_x, left_y
        if low_x * high_y - low_y * high_x < 0.0:
            break
    return best
