"""Compensates the width of a cut: outlines grow, inner contours shrink, slits end sooner."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
import shapely.ops
from numpy.typing import NDArray

from plotout.geometry.grown import buffered
from plotout.geometry.polyline import is_closed
from plotout.geometry.region import line_shapes, polygons
from plotout.geometry.strokes import FloatArray, Mark
from plotout.machine.model import MITRE

ROUND = 0.97  # of its circle's area: a hole, flattened
SAME = 0.05  # mm: a hole that differs by less from the kerf is of that width
TIP = 0.5  # mm: no shorter lost tip is reported, nor one of half a kerf: that of 60 degrees
HAIR = 0.01  # mm: what is left in the middle of a slot that is made as narrow
ON_EDGE = 0.1  # mm: a slit that ends so near to the card's edge is open there


def widened(points: FloatArray, mark: Mark, kerf: float) -> tuple[list[FloatArray], str]:
    """Return the lines for the middle of the cut that put the edge where it was drawn.

    points: (n, 2), mm. An outline grows, any other closed line shrinks; an open one is cut along
    its middle: see `all_shortened`. The text says what no cut of that width can make; a smaller
    hole is burnt or drilled as a dot in its middle, a narrower slot along its middle.
    """
    if not is_closed(points):
        return [points], ""
    grow = 1.0 if mark is Mark.OUTLINE else -1.0
    area = shapely.Polygon(points)
    moved = buffered(area, grow * kerf / 2.0, join_style="mitre", mitre_limit=MITRE)
    found = polygons(moved)
    if not found:
        return _in_the_middle(points, area, kerf)
    rings = [polygon.exterior for polygon in found] + [
        hole for polygon in found for hole in polygon.interiors
    ]
    lines = [_like(points, shapely.get_coordinates(ring)) for ring in rings]
    if len(rings) == 1 and len(lines[0]) == len(points) and _blunt(points, grow):
        return lines, ""
    made = buffered(moved, -grow * kerf / 2.0, quad_segs=32)
    return lines, _lost(shapely.symmetric_difference(area, made), made, kerf)


def _in_the_middle(
    points: FloatArray, area: shapely.Polygon, kerf: float
) -> tuple[list[FloatArray], str]:
    """Return the same for what is nowhere wider than the tool: worked where it is widest."""
    fits, wide = 0.0, kerf / 2.0
    while wide - fits > HAIR / 4.0:
        half = (fits + wide) / 2.0
        empty = shapely.is_empty(buffered(area, -half, join_style="mitre", mitre_limit=MITRE))
        fits, wide = (fits, half) if empty else (half, wide)
    left = buffered(area, HAIR / 2.0 - fits, join_style="mitre", mitre_limit=MITRE)
    rings = [polygon.exterior for polygon in polygons(left) if polygon.length > kerf]
    made = shapely.union_all(shapely.buffer(rings or [area.centroid], kerf / 2.0))
    lost = _lost(shapely.difference(area, made), made, kerf)
    if not rings:
        return [shapely.get_coordinates(area.centroid)], lost or _too_small(area, kerf)
    narrow = f"it is {2.0 * fits:.2g} mm wide, less than the kerf, {kerf:g} mm, and becomes as wide"
    told = [narrow] if 2.0 * fits < kerf - SAME else []
    lines = [_like(points, shapely.get_coordinates(ring)) for ring in rings]
    return lines, "; ".join([*told, *filter(None, [lost])])


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


def all_shortened(
    lines: Sequence[FloatArray],
    marks: Sequence[Mark],
    kerfs: Sequence[float],
    edges: Sequence[shapely.Geometry],
) -> list[FloatArray]:
    """Return open lines, (n, 2), n >= 2, whose cuts end where the lines do, all worked at once.

    A cut ends half a kerf beyond its line. kerfs, edges: of each, and the outline of its card. An
    end on that stays there. The bar of a T moves towards the outline instead, so that its far side
    is as deep as it was drawn. A line too short becomes a dot in its middle.
    """
    found = list(lines)
    if not found:
        return found
    shapes, edge = line_shapes(found), np.array(edges, dtype=object)[:, None]
    tips = shapely.points([line[[0, -1]] for line in lines])
    off = (shapely.distance(edge, tips) > ON_EDGE) * np.array(kerfs)[:, None] / 2.0
    for index in np.flatnonzero(off.all(axis=1)).tolist():
        if marks[index] is Mark.NOTCH:
            found[index] = _towards(shapes[index], edges[index], kerfs[index] / 2.0)
            shapes[index] = shapely.LineString(found[index])
    sizes = shapely.length(shapes)
    short = off.sum(axis=1) >= sizes
    straight = np.array([len(line) == 2 for line in lines])
    ends = np.column_stack([off[:, 0], sizes - off[:, 1]])
    for index in np.flatnonzero(off.any(axis=1) & (short | ~straight)).tolist():
        near, far = off[index].tolist()
        left = (
            shapely.line_interpolate_point(shapes[index], sizes[index] * near / (near + far))
            if short[index]
            else shapely.ops.substring(shapes[index], *ends[index].tolist())
        )
        found[index] = shapely.get_coordinates(left)
    plain = np.flatnonzero(off.any(axis=1) & ~short & straight)
    kept = shapely.line_interpolate_point(shapes[plain, None], ends[plain])
    for index, line in zip(plain.tolist(), _pairs(kept), strict=True):
        found[index] = line
    return found


def _pairs(points: NDArray[np.object_]) -> FloatArray:
    """Return the coordinates, (n, 2, 2), of pairs of points, (n, 2)."""
    return np.asarray(shapely.get_coordinates(points).reshape(-1, 2, 2))


def _towards(line: shapely.Geometry, edge: shapely.Geometry, by: float) -> FloatArray:
    """Return a line's points moved towards an outline."""
    middle, out = shapely.get_coordinates(shapely.shortest_line(shapely.centroid(line), edge))
    shift = (out - middle) / np.hypot(*(out - middle)) * by
    return np.asarray(shapely.get_coordinates(line) + shift)


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
