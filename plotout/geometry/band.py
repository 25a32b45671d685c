"""A band along part of an outline, inside it."""

from __future__ import annotations

import numpy as np
import shapely
from shapely import LinearRing, LineString, Point, Polygon

from plotout.geometry.end_heading import end_heading
from plotout.geometry.polyline import inner_turns, mirrored, without_repeats
from plotout.geometry.region import outer, polygons
from plotout.geometry.strokes import FloatArray

ENDS = np.radians(30.0)  # an outline that turns less goes on, and ends no band: it would run along
# it for twice its width (common practice: a fly's facing ends where the fly does)

_ON_FOLD, _ANY = 1e-3, 1e-6  # mm


def band(
    outline: FloatArray, along: FloatArray, width: float, fold: FloatArray | None = None
) -> FloatArray:
    """Return the part of `outline` within `width` mm of `along`, closed, counter-clockwise.

    outline: (n, 2), closed, counter-clockwise. along: (m, 2), a stretch of it in its order; the
    band's inner side runs on parallel to it to the outline on either side. Where the outline hardly
    turns inwards, or turns away, the band ends square. fold: (k, 2), a straight part of the outline
    in which it is mirrored: where the stretch ends there, the band is half of the whole one, as at
    the point of a V-neck. Raises ValueError when nothing is left.
    """
    along = without_repeats(along)
    for last in (False, True):
        if shallow := _shallow_leg(along, outline, width, last=last):
            rest, leg, deep = shallow
            parts = band(outline, rest, width, fold), band(outline, leg, deep, fold)
            return outer(shapely.union_all([Polygon(part).buffer(0.0) for part in parts]))
    line = LineString(_run_on(along, outline, width, fold))
    near = line.buffer(width, cap_style="flat", join_style="mitre")
    found = polygons(Polygon(outline).intersection(near))
    if not found:
        raise ValueError("nothing of the piece lies within its width")
    chain = LineString(along).buffer(0.01)
    return outer(max(found, key=lambda part: float(part.exterior.intersection(chain).length)))


def _shallow_leg(
    along: FloatArray, outline: FloatArray, width: float, *, last: bool
) -> tuple[FloatArray, FloatArray, float] | None:
    """Return a stretch without the leg at one end of it, that leg, and how deep its band is, mm.

    None unless the leg is no longer than two widths, and the outline past it turns away again
    before it is a width deep, as a shawl collar does past its centre back: at the shoulder. What
    lies deeper is another part of the piece, into which the leg's band would send a tongue.
    """
    corners = np.flatnonzero(inner_turns(along) >= ENDS) + 1
    if not len(corners) or (along[0] == along[-1]).all():
        return None
    corner = corners[-1 if last else 0]
    rest, leg = along[: corner + 1], along[corner:]
    rest, leg = (rest, leg) if last else (leg, rest)
    if LineString(leg).length > 2.0 * width:
        return None
    deep = _deep_past(leg, outline, last=last)
    return (rest, leg, deep) if _ANY < deep < width - _ANY else None


def _deep_past(leg: FloatArray, outline: FloatArray, *, last: bool) -> float:
    """Return how deep beside a leg, mm, the outline past its end goes before it turns away from the
    leg again; endless if it doesn't.
    """
    end, heading = leg[-1 if last else 0], end_heading(leg, last=last).direction
    ring = outline[:-1]
    ring = np.roll(ring, -int(np.hypot(*(ring - end).T).argmin()), axis=0)
    past = ring if last else np.roll(ring[::-1], 1, axis=0)
    inward = inner_turns(past) * (1.0 if last else -1.0)
    away = np.flatnonzero(inward <= -ENDS)
    if not len(away):
        return np.inf
    beside = (past[: away[0] + 2] - end) @ np.array([-heading[1], heading[0]])
    return float(beside.max())


def _run_on(
    along: FloatArray, outline: FloatArray, width: float, fold: FloatArray | None
) -> FloatArray:
    """Return a stretch of an outline, lengthened by two widths where the outline turns inwards, and
    by its mirror image beyond a fold.

    How far it turns is measured over a width past the stretch, so that a rounded corner is one.
    """
    if (along[0] == along[-1]).all():
        return along
    ring = LinearRing(outline)
    parts = [along]
    for index, step, onwards in (
        (0, -1.0, -end_heading(along, last=False).direction),
        (-1, 1.0, end_heading(along, last=True).direction),
    ):
        if fold is not None and LineString(fold).distance(Point(along[index])) < _ON_FOLD:
            beyond = mirrored(along, fold[0], fold[-1])[::-1]
            parts = [beyond[:-1], *parts] if step < 0.0 else [*parts, beyond[1:]]
            continue
        at = ring.project(Point(along[index])) + step * min(width, ring.length / 4.0)
        x, y = shapely.get_coordinates(ring.interpolate(at % ring.length))[0] - along[index]
        turn = step * np.arctan2(onwards[0] * y - onwards[1] * x, onwards[0] * x + onwards[1] * y)
        if turn >= ENDS:
            further = (along[index] + onwards * 2.0 * width)[None]
            parts = [further, *parts] if step < 0.0 else [*parts, further]
    return np.vstack(parts)
