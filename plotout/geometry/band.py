"""A band along part of an outline, inside it."""

from __future__ import annotations

import numpy as np
from shapely.geometry import LineString, Polygon

from plotout.geometry.polyline import direction_at, length, without_repeats
from plotout.geometry.region import outer, polygons
from plotout.geometry.strokes import FloatArray


def band(outline: FloatArray, along: FloatArray, width: float) -> FloatArray:
    """Return the part of `outline` within `width` mm of `along`, closed, counter-clockwise.

    outline: (n, 2), closed. along: (m, 2), a stretch of it; the band's inner side runs on
    parallel to it to the outline on either side. Raises ValueError when nothing is left.
    """
    along = without_repeats(along)
    reach = 2.0 * width
    start = along[0] - direction_at(along, 0.0) * reach
    end = along[-1] + direction_at(along, length(along)) * reach
    closed = bool((along[0] == along[-1]).all())
    line = LineString(along if closed else np.vstack([start, along, end]))
    near = line.buffer(width, cap_style="flat", join_style="mitre")
    found = polygons(Polygon(outline).intersection(near))
    if not found:
        raise ValueError("nothing of the piece lies within its width")
    chain = LineString(along).buffer(0.01)
    return outer(max(found, key=lambda part: float(part.exterior.intersection(chain).length)))
