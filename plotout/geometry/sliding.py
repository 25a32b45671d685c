"""How far a shape slides along an axis before it is too near to others, without trying steps."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.strokes import FloatArray
from plotout.loops.compiled import compiled, compiled_inner

_ROUNDING = 0.01  # mm: a point that is nearer than the gap by no more is stopped, not passed by


@compiled_inner
def _entry(
    x: float, y: float, ax: float, ay: float, bx: float, by: float, gap: float, far: float
) -> float:  # fmt: skip
    """Return how far a point moves to the left, at most `far`, until it is `gap` from a side a-b.

    That is where it enters one of two circles, or crosses a line beside the side.
    """
    if y <= min(ay, by) - gap or y >= max(ay, by) + gap:
        return far
    if max(ax, bx) + gap <= x - far or min(ax, bx) - gap >= x:
        return far
    for end in range(2):
        cx, cy = (ax, ay) if end == 0 else (bx, by)
        if abs(y - cy) < gap:
            step = x - cx - math.sqrt(gap * gap - (y - cy) * (y - cy))
            if step > -_ROUNDING:
                far = min(far, max(step, 0.0))
    rise = by - ay
    if rise != 0.0:
        size = math.hypot(bx - ax, rise)
        aside, over = gap * rise / size, gap * (ax - bx) / size
        if rise < 0.0:  # the line on the right of the side is met first
            aside, over = -aside, -over
        share = (y - ay - over) / rise
        if 0.0 <= share <= 1.0:
            step = x - ax - aside - share * (bx - ax)
            if step > -_ROUNDING:
                far = min(far, max(step, 0.0))
    return far


@compiled
def slide_left(moving: FloatArray, sides: FloatArray, gap: float, far: float) -> float:
    """Return how far a shape moves to the left, at most `far`, while it is `gap` from all sides.

    moving: (n, 2, 2) its sides, from where it lies. sides: (m, 2, 2) of the others. mm. gap is more
    than 0, and the shape is clear of the others at first.
    """
    for i in range(len(moving)):
        x, y = moving[i, 0, 0], moving[i, 0, 1]
        for j in range(len(sides)):
            far = _entry(
                x, y, sides[j, 0, 0], sides[j, 0, 1], sides[j, 1, 0], sides[j, 1, 1], gap, far
            )
    for j in range(len(sides)):  # seen from the shape, the others move to the right
        x, y = -sides[j, 0, 0], sides[j, 0, 1]
        for i in range(len(moving)):
            far = _entry(
                x, y, -moving[i, 0, 0], moving[i, 0, 1], -moving[i, 1, 0], moving[i, 1, 1], gap, far
            )
    return far


def loops() -> list[tuple[Callable[..., object], Any]]:
    """Return every loop that Python calls, and its type for numba, for compiling it ahead."""
    import numba

    types: Any = numba.types
    sides, number = types.Array(types.float64, 3, "C"), types.float64
    return [(slide_left, number(sides, sides, number, number))]


def along(axis: int, sides: FloatArray) -> FloatArray:
    """Return sides for `slide_left`, which then moves down (axis 1) instead of left (axis 0)."""
    return np.ascontiguousarray(sides[:, :, ::-1] if axis else sides)


def sides_of(rings: FloatArray, index: NDArray[np.intp]) -> FloatArray:
    """Return the sides, (n, 2, 2), of closed rings. index: (m,) of which ring each point is."""
    both = np.stack([rings[:-1], rings[1:]], axis=1)
    return np.ascontiguousarray(both[index[:-1] == index[1:]])
