"""Compares two polylines within a tolerance, wherever their vertices lie."""

from __future__ import annotations

import math

import numpy as np

from plotout.geometry.strokes import FloatArray


def vertex_gaps(one: FloatArray, other: FloatArray) -> FloatArray:
    """Return the distances in mm between corresponding vertices; both (n, 2) or (n, 3)."""
    return np.asarray(np.sqrt(((one - other) ** 2).sum(axis=1)))


def parting(meant: FloatArray, found: FloatArray, tolerance: float) -> FloatArray | None:
    """Return where `found` departs from `meant`, in mm, or None when it doesn't.

    Both are (n, 2), or (n, 3) where more than the place is compared; so is the result.
    Their Frechet distance is compared with `tolerance` mm: two walkers, neither of whom ever turns
    back, must be able to go from end to end no further apart than that. Arcs flattened differently
    and redundant vertices left out make no difference; a different direction, end or doubling back
    does.
    """
    if len(meant) == len(found) and bool((vertex_gaps(meant, found) <= tolerance).all()):
        return None
    one, other = _distinct(meant), _distinct(found)
    for here, there, last in ((one, other, 0), (one, other, -1)):
        if math.dist(here[last], there[last]) > tolerance:
            return np.asarray(there[last])
    if len(one) == 1 or len(other) == 1:
        off = np.sqrt(((other - one[:1] if len(one) == 1 else one - other[:1]) ** 2).sum(axis=1))
        return (
            None
            if bool((off <= tolerance).all())
            else np.asarray(other[int(off.argmax()) % len(other)])
        )
    stuck = _walk_together(_in_space(one), _in_space(other), tolerance)
    return None if stuck is None else np.asarray(other[stuck])


def _distinct(points: FloatArray) -> FloatArray:
    if len(points) < 2:
        return points
    keep = np.concatenate([[True], (np.diff(points, axis=0) != 0.0).any(axis=1)])
    return np.asarray(points[keep])


def _in_space(points: FloatArray) -> list[list[float]]:
    """Return the points with three coordinates, the last 0 if they have only two."""
    lacking = np.zeros((len(points), 3 - points.shape[1]))
    places: list[list[float]] = np.hstack([points, lacking]).tolist()
    return places


def _walk_together(one: list[list[float]], other: list[list[float]], limit: float) -> int | None:
    """Return None if the Frechet distance is at most `limit`, else where it is exceeded.

    Alt and Godau, Computing the Frechet distance between two polygonal curves (1995): in the
    free-space diagram of both curves, the reachable space is followed from cell to cell. Only
    reachable cells are visited, so that similar curves take linear time.
    """
    rows, columns = len(one) - 1, len(other) - 1
    entries: dict[int, float] = {0: 0.0}  # column: least share along it where its row is entered
    furthest = 0
    for row in range(rows):
        leaving: dict[int, float] = {}
        column = min(entries)
        bottom: float | None = None  # least share along the row where a column is entered
        while column < columns:
            left = entries.get(column)
            if left is None and bottom is None:
                later = [entry for entry in entries if entry > column]
                if not later:
                    break
                column = min(later)
                continue
            furthest = max(furthest, column + 1)
            right = _free(one[row + 1], other[column], other[column + 1], limit)
            if right is not None:
                least = right[0] if bottom is not None else max(right[0], left or 0.0)
                if least <= right[1]:
                    leaving[column] = least
                    if row == rows - 1 and column == columns - 1 and right[1] >= 1.0:
                        return None
            top = _free(other[column + 1], one[row], one[row + 1], limit)
            entered = bottom
            bottom = None
            if top is not None:
                least = top[0] if left is not None else max(top[0], entered or 0.0)
                if least <= top[1]:
                    bottom = least
            column += 1
        if not leaving:
            return min(furthest, columns)
        entries = leaving
    return columns


def _free(
    point: list[float], start: list[float], end: list[float], limit: float
) -> tuple[float, float] | None:
    """Return the shares along a stretch between which it is within `limit` of a point, or None."""
    (x, y, z), (px, py, pz) = start, point
    dx, dy, dz = end[0] - x, end[1] - y, end[2] - z
    px, py, pz = x - px, y - py, z - pz
    size = dx * dx + dy * dy + dz * dz
    half = px * dx + py * dy + pz * dz
    root = half * half - size * (px * px + py * py + pz * pz - limit * limit)
    if root < 0.0:
        return None
    root = math.sqrt(root)
    low, high = (-half - root) / size, (-half + root) / size
    if low > 1.0 or high < 0.0:
        return None
    return max(low, 0.0), min(high, 1.0)
