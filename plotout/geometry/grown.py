"""Shapes grown by a distance, also lines that wind very much."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

_LONG = 2_000  # vertices above which a winding line is grown in parts
_PART = 8  # sides in such a part: of more, its own parallels cross again


def grown(shapes: Sequence[BaseGeometry], reach: float) -> NDArray[np.object_]:
    """Return areas that together cover all that is within `reach` mm of the shapes.

    Arcs are polygons of four sides to the quarter, within the reach.
    """
    long = shapely.get_num_coordinates(list(shapes)) > _LONG
    parts = [
        part
        for shape, is_long in zip(shapes, long.tolist(), strict=True)
        for part in (_in_parts(shape, reach) if is_long else (shape,))
    ]
    return np.asarray(shapely.buffer(parts, reach, quad_segs=4))


def _in_parts(shape: BaseGeometry, reach: float) -> Sequence[BaseGeometry]:
    """Return a line that winds within `reach` mm in parts that meet, any other shape whole.

    The parallels of such a line cross one another more often than it has vertices, and growing it
    whole takes time as the square of these. GEOS itself thins what it grows by a hundredth.
    """
    line = isinstance(shape, LineString)
    if not line or shapely.get_num_coordinates(shape.simplify(reach / 100.0)) <= _LONG:
        return (shape,)
    points = shapely.get_coordinates(shape)
    return [LineString(points[at : at + _PART + 1]) for at in range(0, len(points) - 1, _PART)]
