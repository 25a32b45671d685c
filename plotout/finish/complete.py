"""From a blank to a finished card: notched, punched, grained, lettered."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from plotout.finish.blank import Blank
from plotout.finish.hang import disc, hole_place
from plotout.finish.label import lettered
from plotout.finish.marks import grain_strokes
from plotout.finish.notching import notched
from plotout.flow import Card
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work
from plotout.pattern.model import PatternSet


def card(made: Blank, pattern_set: PatternSet, number: int, of: int, name: str) -> Card:
    """Return the blank as card `number` of `of`; `name` is its id in the set."""
    defaults = pattern_set.defaults
    outline, notch_strokes, warnings = notched(made.outline, made.notches)
    shape = Polygon(outline)
    strokes = [*made.strokes, *notch_strokes]
    marks = shapely.unary_union(
        [_drawn(strokes, hatch=False), *(Polygon(area) for area in made.kept_clear)]
    )
    hole, untold = hole_place(shape, marks, defaults.hole, defaults.hole_inset)
    told = [*made.warnings, *warnings, *([untold] if untold else [])]
    kept_clear = shapely.unary_union([marks, disc(hole, defaults.hole)]) if hole else marks
    grain: FloatArray | None = made.grain
    if grain is not None:
        arrows, _ = grain_strokes(grain, shape, kept_clear)
        strokes += arrows
        kept_clear = shapely.unary_union([kept_clear, _drawn(arrows)])
        if not arrows:
            told.append("there is no room on it for its grain line")
    for join in made.joins:
        middle = join.line.mean(axis=0) + join.inward * 12.0
        told_to, _ = lettered([join.words], shape, kept_clear, 3.5, join.line, middle)
        strokes += told_to
        kept_clear = shapely.unary_union([kept_clear, _drawn(told_to)])
    title = made.piece + (f", part {made.part} of {made.parts}" if made.parts > 1 else "")
    words = block(made, pattern_set, title, number, of)
    hatched = shapely.unary_union([kept_clear, _drawn(strokes)])
    letters, untold = lettered(words, shape, hatched, defaults.lettering, grain)
    if untold:  # writing over a hatch is better than small writing, or none
        letters, untold = lettered(words, shape, kept_clear, defaults.lettering, grain)
    told += [untold] if untold else []
    strokes += letters
    if hole:
        strokes.append(Stroke(np.array([hole]), Work.PUNCH, Mark.HOLE, size=defaults.hole))
    strokes.append(Stroke(outline, Work.CUT, Mark.OUTLINE))
    return Card(
        id=name,
        piece=made.piece,
        title=title,
        number=number,
        of=of,
        outline=outline,
        strokes=tuple(replace(stroke, card=name) for stroke in strokes),
        hole=hole,
        orders=made.orders,
        grain_angle=_angle(grain),
        warnings=tuple(told),
    )


def block(
    made: Blank, pattern_set: PatternSet, title: str, number: int, of: int
) -> tuple[str, ...]:
    """Return the lines that a card is lettered with."""
    style = " ".join(
        text
        for text in (
            pattern_set.style and f"style {pattern_set.style}",
            pattern_set.size and f"size {pattern_set.size}",
        )
        if text
    )
    lines = (title, pattern_set.name, style, *made.orders, *made.words, f"card {number} of {of}")
    return tuple(line for line in lines if line)


def _drawn(strokes: list[Stroke], *, hatch: bool = True) -> BaseGeometry:
    """Return the strokes as geometry: lines, and discs for what is punched."""
    shapes: list[BaseGeometry] = []
    for stroke in strokes:
        if not hatch and len(stroke.points) == 2 and stroke.mark in (Mark.AREA, Mark.UNDERLAP):
            continue
        if len(stroke.points) == 1:
            shapes.append(Point(stroke.points[0]).buffer(max(stroke.size / 2.0, 0.5)))
        else:
            shapes.append(LineString(stroke.points))
    return shapely.unary_union(shapes)


def _angle(grain: FloatArray | None) -> float:
    if grain is None:
        return 90.0
    step = grain[1] - grain[0]
    return float(np.degrees(np.arctan2(step[1], step[0])))
