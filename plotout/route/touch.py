"""Finds the best start of a closed contour: anywhere on it, also between vertices.

The order is fixed; every touch point slides to where the path from the place before and to the
place after is shortest, repeatedly until none moves (the continuous cutting problem: A. Petunin,
E. Polishchuk, S. Ukolov). On a straight side the best point is where the path, mirrored if need be,
crosses it; since its length is convex along the side, it is then clamped to the side's ends.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.strokes import FloatArray
from plotout.loops.compiled import compiled, compiled_inner
from plotout.route.ring import Ints, gap

_ROUNDS = 50


@compiled_inner
def _share(
    side_x: float, side_y: float, a_x: float, a_y: float, b_x: float, b_y: float
) -> float:  # fmt: skip
    """Return where along a side, 0 to 1, the path from a to b, seen from its start, touches it."""
    size = side_x * side_x + side_y * side_y
    if size <= 0.0:
        return 0.0
    high_a = abs(side_x * a_y - side_y * a_x)
    high_b = abs(side_x * b_y - side_y * b_x)
    part = high_a / (high_a + high_b) if high_a + high_b > 0.0 else 0.5
    share_a = (a_x * side_x + a_y * side_y) / size
    share_b = (b_x * side_x + b_y * side_y) / size
    return min(max(share_a + (share_b - share_a) * part, 0.0), 1.0)


@compiled
def slide_touches(
    ends: FloatArray, places: Ints, corners: FloatArray, first: Ints, start: FloatArray,
    goals: FloatArray, model: FloatArray, stirred: NDArray[np.bool_],
) -> None:  # fmt: skip
    """Slide the touch points of closed contours to their best, in `ends`.

    ends: (n, 2, 2) the strokes' starts and ends in the order of work. places: (n,) their strokes.
    corners: (m, 2) the points of all contours, first: (n + 1,) where the strokes' points begin;
    none for an open one. goals: (1, 2) where the tool goes next, or (0, 2). stirred: (n,) whether
    something beside a touch point has moved since it slid; all true at first.
    """
    n = len(ends)
    for _ in range(_ROUNDS):
        furthest = 0.0
        for p in range(n):
            k = places[p]
            if first[k] == first[k + 1] or not stirred[p]:
                continue
            stirred[p] = False
            a = ends[p - 1, 1] if p > 0 else start
            goes_on = p + 1 < n or len(goals) > 0
            b = (ends[p + 1, 0] if p + 1 < n else goals[0]) if goes_on else a
            best = gap(a[0] - ends[p, 0, 0], a[1] - ends[p, 0, 1], model)
            best += gap(b[0] - ends[p, 0, 0], b[1] - ends[p, 0, 1], model)
            to_x, to_y = ends[p, 0, 0], ends[p, 0, 1]
            for corner in range(first[k], first[k + 1] - 1):
                x, y = corners[corner, 0], corners[corner, 1]
                side_x, side_y = corners[corner + 1, 0] - x, corners[corner + 1, 1] - y
                share = _share(side_x, side_y, a[0] - x, a[1] - y, b[0] - x, b[1] - y)
                for _ in range(2):  # also try the corner: lengths by axes aren't mirrored
                    at_x, at_y = x + share * side_x, y + share * side_y
                    whole = gap(a[0] - at_x, a[1] - at_y, model)
                    if whole < best:
                        whole += gap(b[0] - at_x, b[1] - at_y, model)
                        if whole < best - 1e-12:
                            best, to_x, to_y = whole, at_x, at_y
                    share = 0.0
            moved = max(abs(to_x - ends[p, 0, 0]), abs(to_y - ends[p, 0, 1]))
            furthest = max(furthest, moved)
            if moved > 0.0:
                if p > 0:
                    stirred[p - 1] = True
                if p + 1 < n:
                    stirred[p + 1] = True
            for end in range(2):
                ends[p, end, 0], ends[p, end, 1] = to_x, to_y
        if furthest < 1e-4:
            break


def begun_at(contour: FloatArray, point: FloatArray) -> FloatArray:
    """Return the closed contour begun and ended at `point`, which lies on it; same direction."""
    first, side = contour[:-1], np.diff(contour, axis=0)
    size = np.maximum((side * side).sum(axis=1), 1e-300)
    share = np.clip(((point - first) * side).sum(axis=1) / size, 0.0, 1.0)
    off = np.hypot(*(first + share[:, None] * side - point).T)
    index = int(off.argmin())
    for vertex in (index, index + 1):
        if np.hypot(*(contour[vertex] - point)) < 1e-6:
            begin = vertex % len(first)
            return np.vstack([first[begin:], first[: begin + 1]])
    return np.vstack([point, first[index + 1 :], first[: index + 1], point])
