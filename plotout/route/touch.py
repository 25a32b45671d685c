"""Where a closed contour is best begun: anywhere on it, also between its vertices.

The order stands fast; each touch point slides to where the way from the place before and to the
place after is least, over and over until none moves (the continuous cutting problem: A. Petunin,
E. Polishchuk, S. Ukolov). On one straight side the best point is where the way, mirrored if need
be, crosses it; as the way's length is convex along the side, it is then cut off at the side's ends.
"""

from __future__ import annotations

import numpy as np

from plotout.geometry.strokes import FloatArray
from plotout.machine import Motion
from plotout.route.cost import costs


def best_touch(
    contour: FloatArray, before: FloatArray, after: FloatArray | None, motion: Motion | None
) -> FloatArray:
    """Return the point of `contour`, (n, 2), with the cheapest way from `before` to `after`, (2,).

    after: None where the way ends at the contour.
    """
    first, side = contour[:-1], np.diff(contour, axis=0)
    size = np.maximum((side * side).sum(axis=1), 1e-300)
    share_a = ((before - first) * side).sum(axis=1) / size
    if after is None:
        shares = share_a
    else:
        share_b = ((after - first) * side).sum(axis=1) / size
        high_a = np.abs(side[:, 0] * (before - first)[:, 1] - side[:, 1] * (before - first)[:, 0])
        high_b = np.abs(side[:, 0] * (after - first)[:, 1] - side[:, 1] * (after - first)[:, 0])
        both = high_a + high_b
        part = np.where(both > 0.0, high_a / np.where(both > 0.0, both, 1.0), 0.5)
        shares = share_a + (share_b - share_a) * part
    points = first + np.clip(shares, 0.0, 1.0)[:, None] * side
    points = np.vstack([points, first])
    whole = costs(before, points, motion)
    if after is not None:
        whole = whole + costs(points, after, motion)
    return np.asarray(points[int(whole.argmin())])


def slide(
    ends: FloatArray,
    contours: list[FloatArray | None],
    start: FloatArray,
    motion: Motion | None,
) -> FloatArray:
    """Return `ends` with the touch points of closed contours slid to their best.

    ends: (n, 2, 2) in the order of the work, where each stroke begins and ends. contours: the
    contour of each closed stroke, else None.
    """
    ends = ends.copy()
    closed = [nth for nth, contour in enumerate(contours) if contour is not None]
    for _ in range(50):
        furthest = 0.0
        for nth in closed:
            contour = contours[nth]
            assert contour is not None
            before = ends[nth - 1, 1] if nth else start
            after = ends[nth + 1, 0] if nth + 1 < len(ends) else None
            point = best_touch(contour, before, after, motion)
            furthest = max(furthest, float(np.abs(point - ends[nth, 0]).max()))
            ends[nth] = point
        if furthest < 1e-4:
            break
    return ends


def begun_at(contour: FloatArray, point: FloatArray) -> FloatArray:
    """Return the closed contour begun and ended at `point`, which lies on it; same way round."""
    first, side = contour[:-1], np.diff(contour, axis=0)
    size = np.maximum((side * side).sum(axis=1), 1e-300)
    share = np.clip(((point - first) * side).sum(axis=1) / size, 0.0, 1.0)
    off = np.hypot(*(first + share[:, None] * side - point).T)
    nth = int(off.argmin())
    for vertex in (nth, nth + 1):
        if np.hypot(*(contour[vertex] - point)) < 1e-6:
            begin = vertex % len(first)
            return np.vstack([first[begin:], first[: begin + 1]])
    return np.vstack([point, first[nth + 1 :], first[: nth + 1], point])
