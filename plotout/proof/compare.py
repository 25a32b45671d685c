"""Whether two polylines are the same way, within a tolerance, however their vertices lie."""

from __future__ import annotations

import math

import numpy as np

from plotout.geometry.strokes import FloatArray


def vertex_gaps(one: FloatArray, other: FloatArray) -> FloatArray:
    """Return the distance in mm from each vertex to its counterpart; both (n, 2)."""
    return np.asarray(np.hypot(*(one - other).T))


def parting(meant: FloatArray, found: FloatArray, tolerance: float) -> FloatArray | None:
    """Return where `found` leaves the way that `meant` goes, (2,) in mm, or None when it doesn't.

    Both are walked from end to end at once: at every step the nearer next vertex of either must
    lie within `tolerance` mm of the stretch of the other that is being walked. Arcs flattened
    elsewhere and vertices dropped where they add nothing therefore make no difference; a
    direction, an end or a doubling back that differs does.
    """
    if len(meant) == len(found) and bool((vertex_gaps(meant, found) <= tolerance).all()):
        return None
    one, other = _distinct(meant), _distinct(found)
    return _walk_both(one.tolist(), other.tolist(), tolerance)


def _distinct(points: FloatArray) -> FloatArray:
    if len(points) < 2:
        return points
    keep = np.concatenate([[True], (np.diff(points, axis=0) != 0.0).any(axis=1)])
    return np.asarray(points[keep])


def _walk_both(one: list[list[float]], other: list[list[float]], limit: float) -> FloatArray | None:
    if math.dist(one[0], other[0]) > limit:
        return np.array(other[0])
    i, j = 0, 0
    at_i, at_j = one[0], other[0]  # how far each stretch has been walked
    last_i, last_j = len(one) - 1, len(other) - 1
    while i < last_i or j < last_j:
        next_i = one[i + 1] if i < last_i else None
        next_j = other[j + 1] if j < last_j else None
        over = _foot(next_i, at_j, next_j) if next_i is not None else None
        back = _foot(next_j, at_i, next_i) if next_j is not None else None
        can_i = over is not None and over[0] <= limit
        can_j = back is not None and back[0] <= limit
        if can_i and can_j and over is not None and back is not None:
            # both could be taken: take the one that lies less far ahead
            can_i = math.dist(at_j, over[1]) <= math.dist(at_i, back[1])
        if can_i and over is not None and next_i is not None:
            i, at_i, at_j = i + 1, next_i, over[1]
        elif can_j and back is not None and next_j is not None:
            j, at_j, at_i = j + 1, next_j, back[1]
        else:
            return np.array(next_j if next_j is not None else at_j)
    return None if math.dist(one[-1], other[-1]) <= limit else np.array(other[-1])


def _foot(
    point: list[float] | None, start: list[float], end: list[float] | None
) -> tuple[float, list[float]] | None:
    """Return the distance from a point to a stretch, and the stretch's nearest place."""
    if point is None:
        return None
    if end is None:
        return math.dist(point, start), start
    dx, dy = end[0] - start[0], end[1] - start[1]
    size = dx * dx + dy * dy
    share = ((point[0] - start[0]) * dx + (point[1] - start[1]) * dy) / size if size > 0.0 else 0.0
    share = min(max(share, 0.0), 1.0)
    foot = [start[0] + share * dx, start[1] + share * dy]
    return math.dist(point, foot), foot
