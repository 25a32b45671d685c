"""Internal lines' names, lettered along them where there is room."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPoint
from shapely.geometry.base import BaseGeometry

from plotout.finish.card_marks import beside
from plotout.geometry.lettering import text_width
from plotout.geometry.polyline import length, point_at, unit
from plotout.geometry.region import lines_in
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work
from plotout.pattern.model import InternalLine

HEIGHTS = (3.5, 2.5)  # ISO 3098-1, mm
_EDGE = 3.0  # mm from letters to the card's edge
_CLEAR = 1.5  # mm from letters to any other mark
_PLACES = (0.5, 0.35, 0.65, 0.2, 0.8)  # of the line's length


def name_strokes(
    lines: Sequence[InternalLine], shape: BaseGeometry, taken: Sequence[BaseGeometry]
) -> list[Stroke]:
    """Return the lines' names lettered along them: one that has no room is left out.

    shape: the card. taken: what they keep clear of; the lines themselves among it.
    """
    found: list[Stroke] = []
    others = list(taken)
    for line in lines:
        letters = _along(line, shape, others)
        if letters:
            others.append(_zone(letters))
            found += [Stroke(each, Work.DRAW, Mark.LETTERING) for each in letters]
    return found


def _zone(letters: Sequence[FloatArray]) -> BaseGeometry:
    return MultiPoint(np.vstack(letters)).convex_hull


def _along(
    line: InternalLine, shape: BaseGeometry, taken: Sequence[BaseGeometry]
) -> list[FloatArray]:
    parts = lines_in(shapely.line_merge(shape.intersection(LineString(line.points))))
    for part in sorted(parts, key=lambda each: -float(each.length)):
        points = np.asarray(part.coords)
        for height in HEIGHTS:
            half = text_width(line.name, height) / 2.0
            for share in _PLACES:
                at = share * length(points)
                if at < half or at + half > length(points):
                    continue
                low, high = point_at(points, at - half), point_at(points, at + half)
                if np.hypot(*(high - low)) < half:
                    continue
                way = unit(high - low)
                for away in (np.array([-way[1], way[0]]), np.array([way[1], -way[0]])):
                    letters = beside(line.name, point_at(points, at), way, away, height)
                    if letters and _has_room(_zone(letters), shape, taken):
                        return letters
    return []


def _has_room(zone: BaseGeometry, shape: BaseGeometry, taken: Sequence[BaseGeometry]) -> bool:
    if not shape.contains(zone) or shape.boundary.distance(zone) < _EDGE:
        return False
    return not len(taken) or bool(shapely.distance(list(taken), zone).min() >= _CLEAR)
