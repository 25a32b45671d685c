"""A band along part of an outline, inside it."""

from __future__ import annotations

import numpy as np
import shapely
from shapely import LinearRing, LineString, Point, Polygon

from plotout.geometry.end_heading import end_heading
from plotout.geometry.polyline import mirrored, without_repeats
from plotout.geometry.region import outer, polygons
from plotout.geometry.strokes import FloatArray

ENDS = np.radians(30.0)  # an outline that turns less goes on, and ends no band: it would run along
# it for twice its width (common practice: a fly's facing ends where the fly does)

_ON_FOLD = 1e-3  # mm


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
    line = LineString(_run_on(along, outline, width, fold))
    near = line.buffer(width, cap_style="flat", join_style="mitre")
    found = polygons(Polygon(outline).intersection(near))
    if not found:
        raise ValueError("nothing of the piece lies within its width")
    chain = LineString(along).buffer(0.01)
    return outer(max(found, key=lambda part: float(part.exterior.intersection(chain).length)))


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
