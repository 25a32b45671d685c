"""Fewer points on a line, within a stated distance of it."""

from __future__ import annotations

import shapely

from plotout.geometry.strokes import FloatArray


def simplified(points: FloatArray, tolerance: float) -> FloatArray:
    """Return the line, (n, 2), with as few of its points as keep it within `tolerance` mm.

    Douglas and Peucker's method (GEOS), which bounds the distance of every point that is left
    out. A closed line stays closed.
    """
    if len(points) < 3:
        return points
    return shapely.get_coordinates(
        shapely.simplify(shapely.LineString(points), tolerance, preserve_topology=False)
    )
