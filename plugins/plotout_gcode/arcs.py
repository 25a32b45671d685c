"""The centres of arcs in G-code.

Source: NIST IR 6556, 3.5.3. G90.1, I and J from the origin: common practice, from memory.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from plotout import Point


def to_centre(start: Point, end: Point, radius: float, *, anticlockwise: bool) -> Point:
    """Return the way from an arc's start to its centre; a negative radius is of the longer arc.

    Raises ValueError with the control's number of the error if its ends are too far apart.
    """
    dx, dy = end[0] - start[0], end[1] - start[1]
    far = math.hypot(dx, dy)
    if not 0.0 < far <= 2.0002 * abs(radius):
        raise ValueError("33")
    height = math.sqrt(max(0.0, radius * radius - far * far / 4.0)) / far
    height = height if (radius > 0.0) == anticlockwise else -height
    return dx / 2.0 - height * dy, dy / 2.0 + height * dx


def centre_of(
    values: Mapping[bytes, bytes], start: Point, end: Point, *, anticlockwise: bool
) -> Point | None:
    """Return an arc's centre; None if its words don't tell it. I and J count from its start, or
    from the origin if only that fits both of its ends.
    """
    if b"R" in values:
        try:
            i, j = to_centre(start, end, float(values[b"R"]), anticlockwise=anticlockwise)
        except ValueError:
            return None
        return start[0] + i, start[1] + j
    i, j = float(values.get(b"I", 0)), float(values.get(b"J", 0))
    centres = (start[0] + i, start[1] + j), (i, j)
    return min(centres, key=lambda one: abs(math.dist(one, start) - math.dist(one, end)))
