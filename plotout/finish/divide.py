"""A bare card divided along a straight line into two that lap."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Point, Polygon

from plotout.finish.bare_card import BareCard, Join, PlacedNotch
from plotout.finish.card_marks import straight_within
from plotout.geometry.hatch import hatched
from plotout.geometry.polyline import length, unit
from plotout.geometry.region import lines_in, outer, polygons
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work
from plotout.pattern.model import Area

_SHADE = 5.0  # mm between the lines of an underlap's hatch
_TICK = 12.0  # mm that a matching mark extends on both sides of the join line
_ON = 1e-6  # mm: a point this near to a line is on it
_GRAIN = 60.0  # mm: a shorter grain line is replaced by a new one on its part


def divided(
    bare: BareCard, start: FloatArray, end: FloatArray, underlap: float, number: int
) -> tuple[BareCard, BareCard]:
    """Return the upper and the lower part (left and right of an upright line).

    The lower part ends at the line from `start` to `end`, extended at both ends; the upper extends
    `underlap` mm beyond it, and that strip is shaded. Both carry matching marks and the grain.
    number: of the join, unique in the piece. Raises ValueError where the line doesn't divide
    the bare card into exactly two.
    """
    direction = unit(end - start)
    if direction[0] < -1e-9 or (abs(direction[0]) <= 1e-9 and direction[1] > 0.0):
        direction = -direction  # so that its left is the upper part, or the right-hand one
    up = np.array([-direction[1], direction[0]])
    shape = Polygon(bare.outline)
    upper = polygons(shape.intersection(_beyond(shape, start - up * underlap, direction, up)))
    lower = polygons(shape.intersection(_beyond(shape, start, direction, -up)))
    if len(upper) != 1 or len(lower) != 1:
        raise ValueError("the line does not divide it into exactly two")
    line = straight_within(shape, start, direction)
    if line is None:
        raise ValueError("the line does not cross it")
    over = _part(bare, upper[0])
    under = _part(bare, lower[0])
    ticks = _ticks(line, up, min(_TICK, underlap))
    strip = polygons(upper[0].intersection(_beyond(shape, start, direction, -up)))
    shade = [
        Stroke(stripe, Work.DRAW, Mark.UNDERLAP)
        for part in strip
        for stripe in hatched(part, _SHADE)
    ]
    marks = [Stroke(tick, Work.DRAW, Mark.JOIN) for tick in (line, *ticks)]
    below = _beyond(shape, start, direction, -up)
    return (
        replace(
            over,
            strokes=(*over.strokes, *shade, *marks),
            joins=(*over.joins, Join(number, line, up, True)),
            kept_clear=(*over.kept_clear, *(outer(part) for part in strip)),
        ),
        replace(
            under,
            strokes=(*under.strokes, *clipped(marks[1:], below)),
            joins=(*under.joins, Join(number, line, -up, False)),
        ),
    )


def _beyond(shape: Polygon, start: FloatArray, direction: FloatArray, side: FloatArray) -> Polygon:
    """Return the half plane on that side of the line, as large as the shape needs."""
    low, high = np.reshape(shape.bounds, (2, 2))
    far = 4.0 * float(np.hypot(*(high - low))) + float(np.hypot(*(start - low)))
    return Polygon(
        [
            start - direction * far,
            start + direction * far,
            start + direction * far + side * far,
            start - direction * far + side * far,
        ]
    )


def _part(bare: BareCard, shape: Polygon) -> BareCard:
    """Return the part of the bare card within `shape`."""
    joins = []
    for join in bare.joins:
        line = LineString(join.line).intersection(shape.buffer(1e-6))
        if line.length > 1.0:
            joins.append(replace(join, line=np.asarray(line.coords)[[0, -1]]))
    stitching, turns = _sewn(bare, shape)
    return replace(
        bare,
        stitching=stitching,
        turns=turns,
        outline=outer(shape),
        notches=tuple(n for n in bare.notches if _bears(n, shape)),
        strokes=tuple(clipped(bare.strokes, shape)),
        grain=grain_of_part(bare.grain, shape),
        fold=_fold_of_part(bare.fold, shape),
        joins=tuple(joins),
        kept_clear=_within(bare.kept_clear, shape),
        graded=tuple(point for point in bare.graded if shape.distance(Point(point.at)) < 0.01),
        hatched=tuple(
            Area(area.name, points)
            for area in bare.hatched
            for points in _within((area.points,), shape)
        ),
    )


def _sewn(bare: BareCard, shape: Polygon) -> tuple[FloatArray | None, FloatArray | None]:
    """Return a part's stitching line, which runs along the join, and where its edges meet.

    None where the part holds more than one stretch of the piece, or none.
    """
    if bare.stitching is None or bare.turns is None:
        return None, None
    whole = LineString(bare.stitching)
    found = polygons(Polygon(bare.stitching).intersection(shape))
    if len(found) != 1:
        return None, None
    ring = outer(found[0])
    middles = shapely.points((ring[:-1] + ring[1:]) / 2.0)
    sewn = _on(whole, middles)
    joined = ring[:-1][sewn != np.roll(sewn, 1)]
    kept = bare.turns[_on(LineString(ring), shapely.points(bare.turns))]
    return ring, np.unique(np.vstack([kept, joined]).round(9), axis=0)


def _on(line: LineString, points: NDArray[np.object_]) -> NDArray[np.bool_]:
    """Return which points lie on a line, which may have very many vertices."""
    shapely.prepare(line)
    return np.asarray(shapely.dwithin(line, points, _ON))


def _bears(notch: PlacedNotch, shape: Polygon) -> bool:
    """Return whether the notch lies on the part's edge; a drawn one may lie within it."""
    mouth = Point(notch.at)
    return shape.exterior.distance(mouth) < 0.01 or (not notch.style.cut and shape.covers(mouth))


def _within(areas: tuple[FloatArray, ...], shape: Polygon) -> tuple[FloatArray, ...]:
    return tuple(
        outer(part)
        for area in areas
        for part in polygons(Polygon(area).buffer(0.0).intersection(shape))
    )


def clipped(strokes: tuple[Stroke, ...] | list[Stroke], shape: Polygon) -> list[Stroke]:
    """Return the parts of the strokes within the shape."""
    found: list[Stroke] = []
    for stroke in strokes:
        if len(stroke.points) == 1:
            if shape.contains(Point(stroke.points[0])):
                found.append(stroke)
            continue
        line = LineString(stroke.points)
        if shape.contains(line):
            found.append(stroke)
            continue
        for part in lines_in(shapely.line_merge(line.intersection(shape))):
            if part.length > 0.5:
                found.append(replace(stroke, points=np.asarray(part.coords)))
    return found


def grain_of_part(grain: FloatArray | None, shape: Polygon) -> FloatArray | None:
    """Return the grain line of a part: its stretch of the original, or a new parallel one."""
    if grain is None:
        return None
    kept = LineString(grain).intersection(shape)
    if kept.geom_type == "LineString" and kept.length >= _GRAIN:
        line = np.asarray(kept.coords)[[0, -1]]
        return line if (line[1] - line[0]) @ (grain[1] - grain[0]) > 0.0 else line[::-1]
    direction = unit(grain[1] - grain[0])
    whole = straight_within(shape, np.asarray(shape.representative_point().coords[0]), direction)
    if whole is None:
        return None
    return np.vstack([whole[0] * 0.8 + whole[1] * 0.2, whole[0] * 0.2 + whole[1] * 0.8])


def _fold_of_part(fold: FloatArray | None, shape: Polygon) -> FloatArray | None:
    """Return the part's stretch of the fold edge."""
    if fold is None:
        return None
    kept = LineString(fold).intersection(shape.buffer(1e-6))
    if kept.length < 1.0:
        return None
    line = np.asarray(max(lines_in(kept), key=lambda part: float(part.length)).coords)[[0, -1]]
    return line if (line[1] - line[0]) @ (fold[-1] - fold[0]) > 0.0 else line[::-1]


def _ticks(line: FloatArray, up: FloatArray, reach: float) -> list[FloatArray]:
    """Return matching marks across the join: one near its start, two near its end."""
    size = length(line)
    direction = unit(line[1] - line[0])
    gap = min(6.0, size / 10.0)
    feet = [0.25 * size, 0.75 * size - gap / 2.0, 0.75 * size + gap / 2.0]
    return [
        np.vstack(
            [line[0] + direction * foot - up * reach, line[0] + direction * foot + up * reach]
        )
        for foot in feet
    ]
