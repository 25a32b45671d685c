"""Sees between which pricks a line is drawn: such a line shows in what order they come."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates
from scipy.spatial import cKDTree

from plotout import FloatArray

NEAREST, REACH = 8, 45.0  # so many of the nearest spots, and mm, to which a line is sought
FAINT = 0.06  # least darkness of a line
SHARE = 0.85  # of the way between two spots that it must be seen on
WAY = np.linspace(0.15, 0.85, 25)  # where, between one spot and the other: their holes are no line
BESIDE = np.arange(-2.0, 3.0)  # pixels beside the straight between them: lines may bow


def lined(drawn: Any, at: FloatArray, table: FloatArray) -> NDArray[np.intp]:
    """Return the pairs of spots between which a line is drawn, (m, 2).

    drawn: the darkness of lines; at: (n, 2) pixels in it; table: (n, 2) mm.
    """
    count = min(NEAREST, len(at) - 1)
    if count < 1:
        return np.empty((0, 2), dtype=np.intp)
    gap, near = cKDTree(table).query(table, k=count + 1)
    one, nth = np.nonzero((gap[:, 1:] < REACH) & (gap[:, 1:] > 0.0))
    pairs = np.unique(np.sort(np.column_stack([one, near[one, nth + 1]]), axis=1), axis=0)
    step = at[pairs[:, 1]] - at[pairs[:, 0]]
    side = np.column_stack([-step[:, 1], step[:, 0]]) / np.hypot(*step.T)[:, None]
    along = at[pairs[:, 0], None] + WAY[:, None] * step[:, None]
    points = along[:, :, None] + BESIDE[:, None] * side[:, None, None]
    value = map_coordinates(
        drawn, [points[..., 1], points[..., 0]], order=0, mode="nearest", output=np.float32
    )
    seen = (value.max(axis=2) > FAINT).mean(axis=1) > SHARE
    return np.asarray(pairs[seen], dtype=np.intp)


def renumbered(pairs: NDArray[np.intp], rows: NDArray[np.intp]) -> NDArray[np.intp]:
    """Return the pairs of which both are among rows, numbered by their place there, (m, 2)."""
    new = np.full(max(int(pairs.max(initial=-1)), int(rows.max(initial=-1))) + 1, -1, dtype=np.intp)
    new[rows] = np.arange(len(rows))
    both = new[pairs]
    return np.asarray(both[(both >= 0).all(axis=1)])
