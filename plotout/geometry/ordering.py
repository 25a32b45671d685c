"""The order of pricks."""

from __future__ import annotations

import numpy as np

from plotout.geometry.strokes import FloatArray

MOST_ORDERED = 120


def in_order(points: FloatArray) -> list[int]:
    """Return the indices of (n, 2) points in the order in which they follow one another.

    The given order is kept unless reversing a stretch, or moving one point, makes the path clearly
    shorter; and for more than MOST_ORDERED points.
    """
    order = list(range(len(points)))
    steps = np.hypot(*np.diff(points, axis=0).T)
    if len(order) > MOST_ORDERED or steps.max() < 1.5 * np.median(steps):
        return order
    gaps = np.hypot(*(points[:, None, :] - points[None, :, :]).transpose(2, 0, 1))

    def path_length(path: list[int]) -> float:
        return float(gaps[path[:-1], path[1:]].sum())

    best = path_length(order)
    improved = True
    while improved:
        improved = False
        for candidate in _neighbours(order):
            shorter = path_length(candidate)
            if shorter < best * (1.0 - 1e-3) - 0.5:
                order, best, improved = candidate, shorter, True
                break
    return order


def _neighbours(order: list[int]) -> list[list[int]]:
    count = len(order)
    moved = [
        [*rest[:to], order[index], *rest[to:]]
        for index in range(count)
        for rest in [order[:index] + order[index + 1 :]]
        for to in range(count)
    ]
    turned = [
        order[:a] + order[a:b][::-1] + order[b:]
        for a in range(count - 1)
        for b in range(a + 2, count + 1)
    ]
    return moved + turned
