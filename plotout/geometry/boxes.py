"""The largest upright rectangle within a shape."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from plotout.geometry.strokes import FloatArray

_LINES = 20  # across a shape, evenly
_CORNERS = 12  # of its vertices whose places are tried, too


def largest_box(shape: BaseGeometry) -> FloatArray:
    """Return the lower left and upper right, (2, 2), of a rectangle within a shape, mm.

    The largest of those on a grid of the shape's own corners and even steps between its bounds;
    of no extent where there is none.
    """
    corners = shapely.get_coordinates(shapely.simplify(shape, 0.5))[:-1]
    some = corners[np.linspace(0, len(corners) - 1, min(_CORNERS, len(corners))).astype(int)]
    low, high = np.array(shape.bounds).reshape(2, 2)
    x, y = (
        np.unique(np.concatenate([np.linspace(low[way], high[way], _LINES), some[:, way]]))
        for way in (0, 1)
    )
    left, right = (x[nth] for nth in np.triu_indices(len(x), 1))
    bottom, top = (y[nth] for nth in np.triu_indices(len(y), 1))
    area = (right - left)[:, None] * (top - bottom)[None]
    inner = shape.buffer(1e-6)
    shapely.prepare(inner)
    for nth in np.argsort(-area, axis=None, kind="stable"):
        across, up = np.unravel_index(nth, area.shape)
        if inner.covers(shapely.box(left[across], bottom[up], right[across], top[up])):
            return np.array([[left[across], bottom[up]], [right[across], top[up]]])
    return np.array([low, low])
