"""The bend and the heading at the ends of curves."""

from __future__ import annotations

import numpy as np
import shapely

from plotout import FloatArray

LEAST = 0.005  # mm of a fit whose pricks all lie in one place


def cross(one: FloatArray, other: FloatArray) -> FloatArray:
    """Return the cross products of vectors, (m, 2) each."""
    return np.asarray(one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0])


def ends_of(curves: FloatArray, near: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the bend, 1/mm, and the heading at curves' ends, and their lengths, (m,).

    curves: (m, k, 2). near: mm of their ends over which the bend is taken.
    """
    lines = shapely.linestrings(curves[:, ::-1])
    length = np.maximum(shapely.length(lines), LEAST)
    back = np.minimum(near, length / 2.0)
    last, middle, first = (
        shapely.get_coordinates(shapely.line_interpolate_point(lines, back * share))
        for share in (0.0, 0.5, 1.0)
    )
    return *_bend(first, middle, last, back), length


def _bend(
    first: FloatArray, middle: FloatArray, last: FloatArray, apart: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the bend, 1/mm, and the heading at the last of three places along curves, (m,).

    apart: mm from the first to the last.
    """
    one, other = middle - first, last - middle
    turn = np.arctan2(cross(one, other), (one * other).sum(axis=1))
    heading = np.arctan2(other[:, 1], other[:, 0]) + turn / 2.0
    return turn / (apart / 2.0), heading
