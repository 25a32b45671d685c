"""Mirroring: a half becomes a whole, with nothing lost or doubled at the fold."""

from __future__ import annotations

import numpy as np

from plotout.geometry.polyline import unit
from plotout.geometry.strokes import FloatArray


def mirrored(points: FloatArray, start: FloatArray, end: FloatArray) -> FloatArray:
    """Return points (n, 2) mirrored in the line through `start` and `end`, each (2,), mm."""
    along = unit(end - start)
    across = np.array([-along[1], along[0]])
    away = (points - start) @ across
    return np.asarray(points - 2.0 * away[:, None] * across)


def unfold(points: FloatArray, fold: FloatArray) -> FloatArray:
    """Return the whole of an open line that runs from one end of the fold to the other, closed.

    points: (n, 2), from the fold's last point round to its first. fold: (m, 2), a straight line;
    its first and last points are kept exactly, each once: the twin begins and ends on them.
    Returns (2n - 1, 2), closed, running the same way round as the half does.
    """
    half = points.copy()
    half[0], half[-1] = fold[-1], fold[0]
    twin = mirrored(half[::-1], fold[0], fold[-1])
    return np.vstack([half, twin[1:-1], half[:1]])
