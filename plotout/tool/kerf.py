"""The width of a cut: outlines grow and inner contours shrink by half of it."""

from __future__ import annotations

import numpy as np
import shapely

from plotout.geometry.polyline import is_closed
from plotout.geometry.region import polygons
from plotout.geometry.strokes import FloatArray, Mark

MITRE = 5.0  # half kerfs that a corner of the cut's middle may lie from the card's


def widened(points: FloatArray, mark: Mark, kerf: float) -> tuple[list[FloatArray], str]:
    """Return the lines for the middle of the cut, so that the edge lies where it was drawn.

    points: (n, 2), mm. An outline grows, any other closed line shrinks; an open one is cut along
    its middle. The text names a part that is smaller than the kerf, which no cut can make; a hole
    that is smaller is burnt or drilled as a dot in its middle.
    """
    if not is_closed(points):
        return [points], ""
    grow = 1.0 if mark is Mark.OUTLINE else -1.0
    area = shapely.Polygon(points)
    moved = shapely.buffer(area, grow * kerf / 2.0, join_style="mitre", mitre_limit=MITRE)
    found = polygons(moved)
    if not found:
        return [shapely.get_coordinates(area.centroid)], f"it is smaller than the kerf, {kerf:g} mm"
    rings = [each.exterior for each in found] + [hole for each in found for hole in each.interiors]
    lines = [_like(points, shapely.get_coordinates(ring)) for ring in rings]
    lost = _lost(points, shapely.union_all(rings), kerf)
    text = f"it is narrower than the kerf, {kerf:g} mm, at {lost}" if lost else ""
    return lines, text


def _lost(points: FloatArray, cut: shapely.Geometry, kerf: float) -> str:
    """Return the place in words where the drawn line is not cut by a tool `kerf` mm wide."""
    far = np.asarray(shapely.distance(shapely.points(points), cut))
    worst = int(np.argmax(far))
    if far[worst] <= MITRE * kerf / 2.0 + 1e-6:
        return ""
    return f"x {points[worst, 0]:.1f} mm, y {points[worst, 1]:.1f} mm"


def _like(points: FloatArray, ring: FloatArray) -> FloatArray:
    """Turn `ring` the way that `points` runs, and begin it as near as can be."""
    if shapely.is_ccw(shapely.LinearRing(ring)) != shapely.is_ccw(shapely.LinearRing(points)):
        ring = ring[::-1]
    nearest = int(np.argmin(np.hypot(*(ring[:-1] - points[0]).T)))
    ring = np.roll(ring[:-1], -nearest, axis=0)
    return np.vstack([ring, ring[:1]])
