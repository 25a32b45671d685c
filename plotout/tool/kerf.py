"""Compensates the width of a cut: outlines grow, inner contours shrink, slits end sooner."""

from __future__ import annotations

import numpy as np
import shapely
import shapely.ops

from plotout.geometry.polyline import is_closed
from plotout.geometry.region import polygons
from plotout.geometry.strokes import FloatArray, Mark
from plotout.machine.model import MITRE

ROUND = 0.97  # of its circle's area: a hole, flattened
SAME = 0.05  # mm: a hole that differs by less from the kerf is of that width
TIP = 0.5  # mm: no shorter lost tip is reported, nor one of half a kerf: that of 60 degrees
ON_EDGE = 0.1  # mm: a slit that ends so near to the card's edge is open there


def widened(
    points: FloatArray, mark: Mark, kerf: float, edge: shapely.Geometry | None = None
) -> tuple[list[FloatArray], str]:
    """Return the lines for the middle of the cut that put the edge where it was drawn.

    points: (n, 2), mm. An outline grows, any other closed line shrinks; an open one is cut along
    its middle, and ends sooner within the card whose outline is `edge`. The text says what no cut
    of that width can make; a smaller hole is burnt or drilled as a dot in its middle.
    """
    if not is_closed(points):
        return [shortened(points, mark, kerf, edge)], ""
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
    if len(rings) == 1 and len(lines[0]) == len(points) and _blunt(points, grow):
        return lines, ""
    made = shapely.buffer(moved, -grow * kerf / 2.0, quad_segs=32)
    return lines, _lost(shapely.symmetric_difference(area, made), made, kerf)


def _blunt(points: FloatArray, grow: float) -> bool:
    """Return whether a contour, of which no side was lost, is cut to `TIP` without reckoning.

    Such are convex ones. Outlines keep their corners; a hole's lose least: at an angle of 60
    degrees the tip is half a kerf long.
    """
    steps = np.diff(points, axis=0)
    after = np.roll(steps, -1, axis=0)
    cross = steps[:, 0] * after[:, 1] - steps[:, 1] * after[:, 0]
    angles = np.arctan2(cross, (steps * after).sum(axis=1))
    once = abs(abs(angles.sum()) - 2.0 * np.pi) < 1e-6  # it winds about its inside once
    convex = bool((angles >= 0.0).all() or (angles <= 0.0).all())
    return once and convex and (grow > 0.0 or np.abs(angles).max() <= 2.0 * np.pi / 3.0)


def shortened(
    points: FloatArray, mark: Mark, kerf: float, edge: shapely.Geometry | None
) -> FloatArray:
    """Return an open line, (n, 2), whose cut ends where the line does, half a kerf beyond itself.

    An end on the card's outline, `edge`, stays there; without an outline both do. The bar of a T
    moves towards the outline instead, so that its far side is as deep as it was drawn. A line too
    short becomes a dot in its middle.
    """
    if edge is None or len(points) < 2:
        return points
    line = shapely.LineString(points)
    near, far = (shapely.distance(edge, shapely.points(points[[0, -1]])) > ON_EDGE) * kerf / 2.0
    if near + far == 0.0:
        return points
    if near and far and mark is Mark.NOTCH:
        middle, out = shapely.get_coordinates(shapely.shortest_line(line.centroid, edge))
        shift = (out - middle) / np.hypot(*(out - middle)) * kerf / 2.0
        line = shapely.LineString(points + shift)
    if near + far >= line.length:
        left = line.interpolate(line.length * near / (near + far))
    else:
        left = shapely.ops.substring(line, near, line.length - far)
    return np.asarray(shapely.get_coordinates(left))


def _too_small(area: shapely.Polygon, kerf: float) -> str:
    """Return in words what a dot makes of a contour: nothing, of a hole as wide as the tool."""
    size = 2.0 * float(shapely.minimum_bounding_radius(area))
    is_round = area.area > ROUND * np.pi * size**2 / 4.0
    if is_round and size > kerf - SAME:
        return ""
    return f"it is smaller than the kerf, {kerf:g} mm, and becomes a hole of that width"


def _lost(missed: shapely.Geometry, made: shapely.Geometry, kerf: float) -> str:
    """Return in words where a tool `kerf` mm wide can't make what was drawn, or "".

    made: the shape that it makes. A round tool loses the tip of every corner; small ones are not
    reported.
    """
    off = {}
    least = 0.9 * np.pi * (kerf / 50.0) ** 2  # less area holds no disc of that radius
    for part in polygons(missed):  # the largest first
        if part.area < least:
            break
        if shapely.is_empty(shapely.buffer(part, -kerf / 50.0)):
            continue  # a sliver of rounding
        places = shapely.points(shapely.get_coordinates(shapely.segmentize(part.boundary, kerf)))
        away = shapely.distance(made.boundary, places)
        if away.max() > max(TIP, kerf / 2.0):
            off[part] = float(away.max())
    if not off:
        return ""
    worst = max(off, key=lambda part: off[part])
    at = worst.representative_point()
    more = f" and {len(off) - 1} more of its places" if len(off) > 1 else ""
    return (
        f"it is narrower than the kerf, {kerf:g} mm, at x {at.x:.1f} mm, y {at.y:.1f} mm{more}: "
        f"the cut is up to {off[worst]:.1f} mm off there"
    )


def _like(points: FloatArray, ring: FloatArray) -> FloatArray:
    """Return `ring` in the direction of `points`, begun as near to their start as possible."""
    if shapely.is_ccw(shapely.LinearRing(ring)) != shapely.is_ccw(shapely.LinearRing(points)):
        ring = ring[::-1]
    nearest = int(np.argmin(np.hypot(*(ring[:-1] - points[0]).T)))
    ring = np.roll(ring[:-1], -nearest, axis=0)
    return np.vstack([ring, ring[:1]])
