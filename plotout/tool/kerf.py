"""Compensates the width of a cut: outlines grow and inner contours shrink by half of it."""

from __future__ import annotations

import numpy as np
import shapely

from plotout.geometry.polyline import is_closed
from plotout.geometry.region import polygons
from plotout.geometry.strokes import FloatArray, Mark
from plotout.machine.model import MITRE

ROUND = 0.97  # of its circle's area: a hole, flattened
SAME = 0.05  # mm: a hole that differs by less from the kerf is of that width
TIP = 5.0  # half kerfs: a lost corner tip no longer than this is not reported


def widened(points: FloatArray, mark: Mark, kerf: float) -> tuple[list[FloatArray], str]:
    """Return the lines for the middle of the cut that put the edge where it was drawn.

    points: (n, 2), mm. An outline grows, any other closed line shrinks; an open one is cut along
    its middle. The text names a part smaller than the kerf, which no cut can make; a smaller hole
    is burnt or drilled as a dot in its middle.
    """
    if not is_closed(points):
        return [points], ""
    grow = 1.0 if mark is Mark.OUTLINE else -1.0
    area = shapely.Polygon(points)
    moved = shapely.buffer(area, grow * kerf / 2.0, join_style="mitre", mitre_limit=MITRE)
    found = polygons(moved)
    if not found:
        return [shapely.get_coordinates(area.centroid)], _too_small(area, kerf)
    rings = [polygon.exterior for polygon in found] + [
        hole for polygon in found for hole in polygon.interiors
    ]
    lines = [_like(points, shapely.get_coordinates(ring)) for ring in rings]
    back = shapely.buffer(moved, -grow * kerf / 2.0, join_style="mitre", mitre_limit=MITRE)
    lost = _lost(shapely.symmetric_difference(area, back), kerf)
    text = f"it is narrower than the kerf, {kerf:g} mm, at {lost}" if lost else ""
    return lines, text


def _too_small(area: shapely.Polygon, kerf: float) -> str:
    """Return in words what a dot makes of a contour: nothing, of a hole as wide as the tool."""
    size = 2.0 * float(shapely.minimum_bounding_radius(area))
    is_round = area.area > ROUND * np.pi * size**2 / 4.0
    if is_round and size > kerf - SAME:
        return ""
    return f"it is smaller than the kerf, {kerf:g} mm, and becomes a hole of that width"


def _lost(missed: shapely.Geometry, kerf: float) -> str:
    """Return in words the longest part that a tool `kerf` mm wide can't make, or "".

    A round tool loses the tip of every corner; parts no longer than that are not reported.
    """
    longest, place = TIP * kerf / 2.0, ""
    for part in polygons(shapely.buffer(missed, -kerf / 50.0)):  # without slivers of rounding
        low_x, low_y, high_x, high_y = part.bounds
        if np.hypot(high_x - low_x, high_y - low_y) > longest:
            longest = float(np.hypot(high_x - low_x, high_y - low_y))
            at = part.representative_point()
            place = f"x {at.x:.1f} mm, y {at.y:.1f} mm"
    return place


def _like(points: FloatArray, ring: FloatArray) -> FloatArray:
    """Return `ring` in the direction of `points`, begun as near to their start as possible."""
    if shapely.is_ccw(shapely.LinearRing(ring)) != shapely.is_ccw(shapely.LinearRing(points)):
        ring = ring[::-1]
    nearest = int(np.argmin(np.hypot(*(ring[:-1] - points[0]).T)))
    ring = np.roll(ring[:-1], -nearest, axis=0)
    return np.vstack([ring, ring[:1]])
