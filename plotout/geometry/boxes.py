"""The largest upright rectangle within a shape."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from plotout.geometry.strokes import FloatArray

_LINES = 20  # across a shape, evenly
_CORNERS = 12  # of its vertices whose coordinates are also tried


def largest_box(shape: BaseGeometry) -> FloatArray:
    """Return the lower left and upper right, (2, 2), of a rectangle within a shape, mm.

    It is the largest on a grid of the shape's own corners and even steps between its bounds; of no
    extent if there is none.
    """
    corners = shapely.get_coordinates(shapely.simplify(shape, 0.5))[:-1]
    some = corners[np.linspace(0, len(corners) - 1, min(_CORNERS, len(corners))).astype(int)]
    low, high = np.array(shape.bounds).reshape(2, 2)
    x, y = (
        np.unique(np.concatenate([np.linspace(low[axis], high[axis], _LINES), some[:, axis]]))
        for axis in (0, 1)
    )
    left, right = (x[index] for index in np.triu_indices(len(x), 1))
    bottom, top = (y[index] for index in np.triu_indices(len(y), 1))
    area = (right - left)[:, None] * (top - bottom)[None]
    inner = shape.buffer(1e-6)
    shapely.prepare(inner)
    for index in np.argsort(-area, axis=None, kind="stable"):
        across, up = np.unravel_index(index, area.shape)
        if inner.covers(shapely.box(left[across], bottom[up], right[across], top[up])):
            return np.array([[left[across], bottom[up]], [right[across], top[up]]])
    return np.array([low, low])
