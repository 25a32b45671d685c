"""Where the notches of a piece lie on its cutting line."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import LinearRing, LineString

from plotout.errors import Place, UserError
from plotout.finish.bare_card import PlacedNotch
from plotout.geometry.polyline import direction_at, length, point_at
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import Edge, NotchStyle, Piece

CORNER = 20.0  # degrees: a seam's ends meet square to the stitching line below this


def placed_notches(piece: Piece, outline: FloatArray, style: NotchStyle) -> list[PlacedNotch]:
    """Return the seam notches of every corner, then the match notches. style: of seam notches.

    A seam notch lies where the stitching line, run on past its corner, meets the cutting line.
    Raises UserError for a match notch that lies beyond its edge.
    """
    ring = LinearRing(outline)
    found = seam_notches(piece, ring, style)
    for notch in piece.notches:
        edge = piece.edge(notch.edge)
        size = length(edge.points)
        if not -0.01 <= notch.along <= size + 0.01:
            raise UserError(
                f"a notch at {notch.along:.1f} mm lies beyond edge '{edge.name}', "
                f"which is {size:.1f} mm long",
                fix='Measure it from the edge\'s start (or say from = "end").',
                place=Place(piece=piece.name),
            )
        allowance = edge.allowance[0] + (edge.allowance[1] - edge.allowance[0]) * notch.along / size
        at = point_at(edge.points, notch.along)
        outward = _outward(_smooth_direction(edge.points, notch.along))
        on_line = _meet(ring, at, outward, allowance)
        if on_line is not None:
            what = f"the notch at {notch.along:.0f} mm on '{edge.name}'"
            found.append(PlacedNotch(on_line, notch.style, notch.count, allowance, what))
    return found


def seam_notches(piece: Piece, ring: LinearRing, style: NotchStyle) -> list[PlacedNotch]:
    """Return the notches that show the allowance, at both ends of every seam."""
    found: list[PlacedNotch] = []
    if len(piece.edges) == 1:
        return found
    for nth, after in enumerate(piece.edges):
        before = piece.edges[nth - 1]
        into = direction_at(before.points, length(before.points))
        out = direction_at(after.points, 0.0)
        turn = np.degrees(np.arctan2(into[0] * out[1] - into[1] * out[0], into @ out))
        if turn > CORNER:
            found += _at_corner(before, after, into, ring, style, before_first=True)
            found += _at_corner(after, before, -out, ring, style, before_first=False)
        elif (after.seam_notches and before.seam_notches) and (
            after.allowance[0] > 0.0 and before.allowance[1] > 0.0
        ):
            corner = after.points[0]
            between = _outward(into + out)
            wide = max(before.allowance[1], after.allowance[0])
            at = _meet(ring, corner, between / np.hypot(*between), wide)
            if at is not None:
                what = f"the seam notch between '{before.name}' and '{after.name}'"
                found.append(PlacedNotch(at, style, 1, wide, what, seam=True))
    return found


def _at_corner(
    seam: Edge,
    other: Edge,
    way: FloatArray,
    ring: LinearRing,
    style: NotchStyle,
    *,
    before_first: bool,
) -> list[PlacedNotch]:
    """Notch where `seam`, run on along `way`, meets the cutting line of `other`."""
    wide = seam.allowance[1 if before_first else 0]
    beyond = other.allowance[0 if before_first else 1]
    if not seam.seam_notches or wide <= 0.0 or beyond <= 0.0:
        return []
    corner = seam.points[-1 if before_first else 0]
    at = _meet(ring, corner, way, beyond)
    if at is None:
        return []
    where = "end" if before_first else "start"
    what = f"the seam notch at the {where} of '{seam.name}'"
    return [PlacedNotch(at, style, 1, beyond, what, seam=True)]


def _meet(ring: LinearRing, start: FloatArray, way: FloatArray, about: float) -> FloatArray | None:
    """Return where the ray from `start` first leaves the cutting line; on it if they coincide."""
    if about <= 1e-6:
        return np.asarray(ring.interpolate(ring.project(shapely.Point(start))).coords[0])
    ray = LineString([start, start + way * max(8.0 * about, 50.0)])
    hits = shapely.get_coordinates(ring.intersection(ray))
    if not len(hits):
        return None
    reach = (hits - start) @ way
    return np.asarray(hits[np.argmin(reach)]) if reach.min() > -1e-6 else None


def _smooth_direction(points: FloatArray, along: float) -> FloatArray:
    """Return the direction over 1 mm about the place: flattening facets would sway it."""
    size = length(points)
    step = point_at(points, min(along + 0.5, size)) - point_at(points, max(along - 0.5, 0.0))
    reach = np.hypot(*step)
    return np.asarray(step / reach) if reach > 1e-9 else direction_at(points, along)


def _outward(direction: FloatArray) -> FloatArray:
    return np.array([direction[1], -direction[0]])
