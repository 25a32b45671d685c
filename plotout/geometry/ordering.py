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
    while True:
        here = gaps[np.ix_(order, order)]
        enough = 1e-3 * float(np.diagonal(here, 1).sum()) + 0.5
        moved, turned = _spared_by_moving(here), _spared_by_turning(here)
        if moved.max() > enough:  # the first that is enough, as if each were tried
            index, to = divmod(int(np.argmax(moved > enough)), len(order))
            order.insert(to, order.pop(index))
        elif turned.max() > enough:
            first, last = divmod(int(np.argmax(turned > enough)), len(order) + 1)
            order[first:last] = order[first:last][::-1]
        else:
            return order


def _spared_by_moving(gaps: FloatArray) -> FloatArray:
    """Return by how much a path gets shorter if a point is moved to a place, (n, n), mm.

    gaps: (n, n) between points in the path's order. The place is that among the other points.
    """
    count = len(gaps)
    own = np.arange(count)
    ends = np.pad(gaps, 1)  # nothing to and from beyond the ends
    out = ends[own + 1, own] + ends[own + 1, own + 2]
    out[1:-1] -= gaps[own[:-2], own[2:]]
    others = np.array([[k for k in range(count) if k != index] for index in range(count)])
    to = gaps[own[:, None], others]
    into = np.pad(to, ((0, 0), (1, 0))) + np.pad(to, ((0, 0), (0, 1)))
    into[:, 1:-1] -= gaps[others[:, :-1], others[:, 1:]]
    return np.asarray(out[:, None] - into)


def _spared_by_turning(gaps: FloatArray) -> FloatArray:
    """Return by how much a path gets shorter if it is turned from one point to before another.

    gaps: as above. The result is (n, n + 1), mm: for every first point, and every point after.
    """
    count = len(gaps)
    spared = np.zeros((count, count + 1))
    for first in range(count - 1):
        after = np.arange(first + 2, count + 1)
        if first:
            spared[first, after] = gaps[first - 1, first] - gaps[first - 1, after - 1]
        inner = after[after < count]
        spared[first, inner] += gaps[inner - 1, inner] - gaps[first, inner]
    return spared
