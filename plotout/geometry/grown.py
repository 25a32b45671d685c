"""Shapes grown by a distance, also lines that wind very much, and areas made smaller by one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

_LONG = 2_000  # vertices above which a winding line is grown in parts
_PART = 8  # sides in such a part: of more, its own parallels cross again
_FARTHER = (1e-6, 1e-5, 1e-4, 1e-3)  # mm tried where a buffer crosses itself


def buffered(
    shapes: BaseGeometry | Sequence[BaseGeometry] | NDArray[np.object_],
    by: float | Sequence[float],
    **style: Any,
) -> Any:
    """Return shapes with all within `by` mm of them; areas made smaller, if it is negative.

    As shapely's buffer, with its styles. GEOS (3.14.1) seldom returns an area that crosses itself,
    which has false parts then, and fails wherever it is used: a little farther it has none.
    """
    made = np.atleast_1d(shapely.buffer(shapes, by, **style))
    for more in _FARTHER:
        wrong = ~shapely.is_valid(made)
        if not wrong.any():
            break
        own = np.broadcast_to(by, made.shape)[wrong]
        again = own + np.copysign(more, own)
        made[wrong] = shapely.buffer(np.atleast_1d(shapes)[wrong], again, **style)
    return made[0] if isinstance(shapes, BaseGeometry) else made


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
    return np.asarray(buffered(parts, reach, quad_segs=4))


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
