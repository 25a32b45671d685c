"""The width of a cut: outlines grow and inner contours shrink by half of it."""

from __future__ import annotations

import numpy as np
import shapely

from plotout.geometry.polyline import is_closed
from plotout.geometry.strokes import FloatArray, Mark, Stroke
from plotout.machine import Tool


def widened(points: FloatArray, stroke: Stroke, tool: Tool, warnings: list[str]) -> FloatArray:
    """Return the line for the middle of the cut, so that the card's edge lies where it was drawn.

    An open line is cut along its middle. What is smaller than the kerf is named in `warnings` and
    cut as drawn.
    """
    if not is_closed(points):
        return points
    out = 1.0 if stroke.mark is Mark.OUTLINE else -1.0
    area = shapely.Polygon(points)
    grown = shapely.buffer(area, out * tool.kerf / 2, join_style="mitre", mitre_limit=5.0)
    if grown.geom_type != "Polygon" or grown.is_empty or len(grown.interiors):
        warnings.append(
            f"{stroke.card}: the {stroke.mark} at x {points[0, 0]:.1f} mm, y {points[0, 1]:.1f} mm "
            f"has a part smaller than the kerf of {tool.kerf:g} mm; it is cut as drawn"
        )
        return points
    ring = shapely.get_coordinates(grown.exterior)
    if shapely.is_ccw(grown.exterior) != shapely.is_ccw(shapely.LinearRing(points)):
        ring = ring[::-1]
    nearest = int(np.argmin(np.hypot(*(ring[:-1] - points[0]).T)))
    ring = np.roll(ring[:-1], -nearest, axis=0)
    return np.vstack([ring, ring[:1]])
