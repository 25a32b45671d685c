"""Mirroring in a line, such as a fold."""

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
