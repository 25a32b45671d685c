"""Turns a bare card into a finished one: notched, punched, grained, lettered."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from plotout.finish.bare_card import BareCard, PlacedNotch
from plotout.finish.card_marks import fold_strokes, shapes_of
from plotout.finish.hang import Plumb, disc, hole_place, plumb
from plotout.finish.label import lettered
from plotout.finish.lettered_card import Heading, lettered_card
from plotout.finish.notch_shapes import notched
from plotout.finish.wording import hatch_left
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work
from plotout.model import Card, NotchMark
from plotout.pattern.model import PatternSet
from plotout.pattern.settings import Defaults
from plotout.tongue import Tongue


@dataclass(frozen=True, slots=True, eq=False)
class Begun:
    """A bare card with notches and fold drawn, before it is punched and lettered.

    outline: the cutting line with its cut notches. shape: the card within it. taken: where no
    letter or hole may be. plumb: where it can hang.
    """

    made: BareCard
    outline: FloatArray
    strokes: tuple[Stroke, ...]
    shape: BaseGeometry
    taken: tuple[BaseGeometry, ...]
    plumb: Plumb


def begun(made: BareCard, defaults: Defaults, say: Tongue) -> Begun:
    """Return a bare card with everything that its hanging hole must avoid."""
    outline, notch_strokes = notched(made.outline, made.notches)
    strokes = [*made.strokes, *notch_strokes]
    if made.fold is not None:
        busy = [*shapes_of(strokes), *map(Polygon, made.kept_clear)]
        strokes += fold_strokes(made.fold, Polygon(made.outline), busy, defaults.lettering, say)
    openings = [
        Polygon(stroke.points).buffer(0.0)  # one cut off at the card's edge ends there
        for stroke in strokes
        if stroke.mark is Mark.CUTOUT and len(stroke.points) > 2
    ]
    shape = Polygon(outline).difference(shapely.union_all(openings))
    taken = (*shapes_of(strokes), *map(Polygon, made.kept_clear))
    cuts = shapes_of([s for s in strokes if s.work in (Work.CUT, Work.PUNCH)])
    on = plumb(shape, Polygon(made.outline), cuts, taken, defaults.hole, made.stitching)
    return Begun(made, outline, tuple(strokes), shape, taken, on)


def card(
    start: Begun, pattern_set: PatternSet, inset: float, number: int, of: int, name: str
) -> Card:
    """Return the finished card, number `number` of `of`; `name` is its id in the set.

    inset: of the set's hanging holes, mm.
    """
    defaults = pattern_set.defaults
    made, outline, shape = start.made, start.outline, start.shape
    strokes, taken, say = [*start.strokes], [*start.taken], pattern_set.say
    hole, warning = hole_place(start.plumb, inset, defaults.hole_inset, defaults.hole)
    warnings = [*made.warnings, *([warning] if warning else [])]
    if hole:
        taken.append(disc(hole, defaults.hole))
    for join in made.joins:
        middle = join.line.mean(axis=0) + join.inward * 12.0
        notice = lettered([join.words], shape, taken, 3.5, join.line, middle)
        strokes += notice.strokes
        taken += notice.zones
    for stroke in made.strokes:
        if stroke.mark in (Mark.STRIPE, Mark.PLAID):
            line = stroke.points[[0, -1]]
            notice = lettered([say(str(stroke.mark))], shape, taken, 3.5, line, line.mean(axis=0))
            strokes += notice.strokes
            taken += notice.zones
    for area in made.hatched:
        within = Polygon(area.points).buffer(0.0).intersection(shape)
        if isinstance(within, Polygon) and within.area > 0.0:
            notice = lettered([area.name], within, taken, 3.5, made.grain)
            strokes += notice.strokes
            taken += notice.zones
    title = made.piece
    if made.parts > 1:
        title = say("{piece}, part {part} of {of}", piece=title, part=made.part, of=made.parts)
    heading = Heading(title, number, of, name)
    letters = lettered_card(made, shape, taken, strokes, pattern_set, heading)
    if defaults.qr and not letters.code:
        warnings.append("it has no room for its QR code")
    if made.grain is not None and not letters.arrows:
        warnings.append("it has no room for its grain line")
    warnings += [letters.block.warning] if letters.block.warning else []
    warnings += letters.along.warnings
    strokes += letters.strokes
    strokes = hatch_left(strokes)
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
        strokes=tuple(stroke.of_card(name) for stroke in strokes),
        hole=hole,
        orders=made.orders,
        warnings=tuple(warnings),
        faults=made.faults,
        say=say,
        notches=tuple(_mark(notch) for notch in made.notches),
        stitching=made.stitching,
        turns=made.turns,
        bias=made.bias,
        one_way=made.one_way,
        fold=None if made.fold is None else made.fold[[0, -1]],
    )


def _mark(notch: PlacedNotch) -> NotchMark:
    (x, y), (across, up) = notch.at.tolist(), notch.inward.tolist()
    angle = float(np.degrees(np.arctan2(up, across)))
    return NotchMark((x, y), angle, notch.style.depth, notch.style.kind)
