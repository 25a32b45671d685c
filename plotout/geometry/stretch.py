"""How far a stitching line runs from a corner to the next one."""

from __future__ import annotations

import numpy as np

from plotout.geometry.polyline import length, unit, without_repeats
from plotout.geometry.strokes import FloatArray

SMOOTH = np.cos(np.radians(30.0))  # within a side, a sharper turn than this is a corner


def turn_cosines(points: FloatArray) -> FloatArray:
    """Return the cosine of a line's turn at each of its inner points, (n - 2,)."""
    steps = np.diff(points, axis=0)
    steps /= np.hypot(*steps.T)[:, None]
    return np.asarray(np.einsum("ij,ij->i", steps[:-1], steps[1:]))


def stretch(points: FloatArray, fold: FloatArray | None = None) -> float:
    """Return the mm from the first of `points`, (n, 2), to the first corner among them.

    Without one, to their end; where they meet `fold`, (2, 2), smoothly with their mirror image, to
    the end of that.
    """
    points = without_repeats(points)
    corners = np.flatnonzero(turn_cosines(points) < SMOOTH)
    if len(corners):
        return length(points[: corners[0] + 2])
    whole = length(points)
    return (
        whole * 2.0
        if fold is not None and _smooth_at(fold, unit(points[-1] - points[-2]))
        else whole
    )


def _smooth_at(fold: FloatArray, heading: FloatArray) -> bool:
    """Return True if a line that meets a fold goes on past it without a corner."""
    along = unit(fold[-1] - fold[0])
    return bool(1.0 - 2.0 * (heading @ along) ** 2 > SMOOTH)
