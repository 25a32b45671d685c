"""The area that a self-crossing ring covers."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LinearRing, LineString, Polygon
from shapely.geometry.polygon import orient

from plotout.geometry.polyline import signed_area, unit, without_repeats
from plotout.geometry.strokes import FloatArray

_ON = 1e-6  # mm: nearer to a fold, it lies on it
_ANY = 1e-6  # mm2: less is rounding
_BACK = -np.cos(np.radians(0.5))  # cosine of a turn back: no corner is so sharp
_AT_ONCE = 1_000  # places for which a ray is followed


def covered(ring: FloatArray) -> FloatArray:
    """Return the outer border of what `ring` encloses counter-clockwise, closed, (n, 2).

    `ring` may cross itself, need not repeat its first point, and has its corners in order. Loops
    of the opposite direction are dropped; holes are filled. Raises ValueError if nothing is left.
    """
    ring = without_repeats(ring)
    if not (ring[0] == ring[-1]).all():
        ring = np.vstack([ring, ring[:1]])
    if len(ring) < 4:
        raise ValueError("the outline has no area")
    if LinearRing(ring).is_simple:
        if signed_area(ring) <= 0.0:
            raise ValueError("the outline is turned inside out")
        return ring
    faces = shapely.get_parts(shapely.polygonize([shapely.union_all(LineString(ring))]))
    inside = windings(ring, shapely.get_coordinates(shapely.point_on_surface(faces))) > 0
    if not inside.any():
        raise ValueError("the outline has no area")
    return outer(shapely.union_all(faces[inside]))


def up_to(fold: FloatArray, border: FloatArray, piece: FloatArray) -> FloatArray:
    """Cut off what of a border, closed, (n, 2), lies past a fold, to the right of its points.

    piece: (n, 2), of which nothing is cut off, though a wrong edge be its fold.
    """
    far = 2.0 * float(np.ptp(border, axis=0).sum())
    along = (fold[-1] - fold[0]) / np.hypot(*(fold[-1] - fold[0]))
    line = np.vstack([fold[0] - along * far, fold, fold[-1] + along * far])
    past = Polygon([*line, *(line[[-1, 0]] + np.array([along[1], -along[0]]) * far)])
    past = past.difference(Polygon(piece).buffer(0.0))
    whole = Polygon(border)
    return outer(whole.difference(past)) if whole.intersection(past).area > _ANY else border


def filled_at(fold: FloatArray, border: FloatArray, piece: FloatArray) -> FloatArray:
    """Fill what is hollow at a fold of a border, closed, (n, 2): with its mirror image, a hole.

    piece: (n, 2). Nothing is filled if it lies along the line of the fold elsewhere, too.
    """
    along = unit(fold[-1] - fold[0])
    across = np.array([-along[1], along[0]])
    reached = (border[:-1] - fold[0]) @ along
    on = np.abs((border[:-1] - fold[0]) @ across) < _ON
    drawn = np.abs((piece - fold[0]) @ across) < _ON
    if on.sum() < 3 or (drawn & np.roll(drawn, 1)).sum() > len(fold) - 1:
        return border
    low, high = (int(pick(np.where(on, reached, empty))) for pick, empty in
                 ((np.argmin, np.inf), (np.argmax, -np.inf)))  # fmt: skip
    ring = np.roll(border[:-1], -high, axis=0)  # round the card, from end to end of the fold
    kept = ring[: (low - high) % len(ring) + 1]
    if np.roll(on, -high)[len(kept) :].all():
        return border  # nothing is hollow
    return np.vstack([kept, kept[:1]])


def without_spikes(ring: FloatArray) -> FloatArray:
    """Drop the tips at which a closed line, (n, 2), turns back along itself: of no width, they
    enclose nothing, but would be cut.
    """
    kept = ring[:-1]
    while len(kept) > 3:
        steps = np.diff(np.vstack([kept[-1:], kept, kept[:1]]), axis=0)
        into, out = steps[:-1], steps[1:]
        size = np.hypot(*into.T) * np.hypot(*out.T)
        back = np.einsum("ij,ij->i", into, out) < _BACK * size
        if not back.any():
            break
        kept = np.delete(kept, int(back.argmax()), axis=0)
    return np.vstack([kept, kept[:1]])


def line_shapes(lines: Sequence[FloatArray]) -> NDArray[np.object_]:
    """Return polylines, (n, 2), n >= 2, as geometries, all made at once."""
    owner = np.repeat(np.arange(len(lines)), [len(line) for line in lines])
    return np.asarray(
        shapely.linestrings(np.concatenate([np.empty((0, 2)), *lines]), indices=owner)
    )


def line_or_point(points: FloatArray) -> LineString | shapely.Point:
    """Return a polyline, (n, 2), as a geometry; one that goes nowhere, n = 1, is a point."""
    return LineString(points) if len(points) > 1 else shapely.Point(points[0])


def outer(shape: shapely.Geometry) -> FloatArray:
    """Return the outer border of the largest polygon in `shape`, counter-clockwise, closed."""
    largest = max(polygons(shape), key=lambda part: part.area)
    return without_repeats(np.asarray(orient(largest, 1.0).exterior.coords)[:, :2])


def polygons(shape: shapely.Geometry) -> list[Polygon]:
    """Return the polygons in any shapely geometry, largest first."""
    found = [
        part for part in shapely.get_parts(shape).tolist() if isinstance(part, Polygon)
    ]  # fmt: skip
    return sorted((part for part in found if not part.is_empty), key=lambda part: -part.area)


def lines_in(shape: shapely.Geometry) -> list[LineString]:
    """Return the lines in any shapely geometry, without points and empty parts."""
    found = [part for part in shapely.get_parts(shape).tolist() if isinstance(part, LineString)]
    return [part for part in found if not part.is_empty]


def windings(ring: FloatArray, places: FloatArray) -> NDArray[np.int64]:
    """Return how often the closed ring winds round each place, (k, 2), counter-clockwise positive.

    Counted along a ray to the right (K. Hormann and A. Agathos 2001). Only sides that a ray may
    meet are looked at: a dense outline's parallel has as many loops as points.
    """
    tree = shapely.STRtree(shapely.linestrings(np.stack([ring[:-1], ring[1:]], axis=1)))
    right = ring[:, 0].max() + 1.0
    found = np.zeros(len(places), dtype=np.int64)
    for first in range(0, len(places), _AT_ONCE):
        some = places[first : first + _AT_ONCE]
        rays = np.stack([some, np.column_stack([np.full(len(some), right), some[:, 1]])], axis=1)
        ray, side = tree.query(shapely.linestrings(rays))
        (x0, y0), (x1, y1) = (ring[side] - some[ray]).T, (ring[side + 1] - some[ray]).T
        cross = x0 * y1 - x1 * y0
        up = (y0 <= 0.0) & (y1 > 0.0) & (cross > 0.0)
        down = (y0 > 0.0) & (y1 <= 0.0) & (cross < 0.0)
        turns = up.astype(np.int64) - down
        found[first : first + _AT_ONCE] = np.bincount(ray, turns, len(some)).astype(np.int64)
    return found


def without_straight(points: FloatArray, tolerance: float = 1e-7) -> FloatArray:
    """Drop inner points of a line that lie within `tolerance` mm of the line through the others.

    The ends stay, and the line goes on within that of every point. A curve flattened to 0.01 mm
    keeps every point.
    """
    points = without_repeats(points)
    if len(points) < 3:
        return points
    line = LineString(points).simplify(tolerance, preserve_topology=False)
    return np.asarray(line.coords)
