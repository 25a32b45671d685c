"""Cards' numbers and names on a picture of a sheet, large enough to be read there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from shapely.geometry import Polygon

from plotout.finish.card_marks import clear_of, shapes_of
from plotout.finish.label import Grid
from plotout.geometry.grown import buffered
from plotout.geometry.lettering import text_lines, text_width, wrapped
from plotout.geometry.strokes import FloatArray, Mark, Stroke
from plotout.model import Placed, Sheet
from plotout.proof.scene import SceneLine

_HEIGHTS = (1.3, 1.0, 0.8, 0.6)  # in units of the scene
_LEADING = 1.7
_AROUND = 0.35  # units, from a name to other lines
_LEVEL, _UPRIGHT = np.array([1.0, 0.0]), np.array([0.0, 1.0])


def card_names(sheet: Sheet, unit: float) -> Iterator[SceneLine]:
    """Give the number and name of every card of a sheet, clear of its lines where there is room.

    unit: mm, the scene's.
    """
    return names_on(sheet, unit, sheet.strokes)


def names_on(sheet: Sheet, unit: float, strokes: Sequence[Stroke]) -> Iterator[SceneLine]:
    """Give them clear of these strokes of the sheet."""
    own: dict[str, list[Stroke]] = {}
    for stroke in strokes:
        own.setdefault(stroke.card, []).append(stroke)
    for placed in sheet.placed:
        for line in _name(placed, own.get(placed.card.id, []), unit):
            yield SceneLine(line, "words")


def _name(placed: Placed, strokes: Sequence[Stroke], unit: float) -> list[FloatArray]:
    """Return the lines of a card's number and name, or its number alone."""
    name = f"{placed.card.number} {placed.card.title}"
    for grids in _rooms(placed, strokes, unit):
        for height in _HEIGHTS:
            for grid in grids:
                for text in (name, str(placed.card.number)) if height == _HEIGHTS[-1] else (name,):
                    found = _placed(text, height * unit, grid)
                    if found:
                        return found
    return []


def _is_edge(stroke: Stroke) -> bool:
    """Return whether it is the card's own edge: the outlines of a nest lie within it."""
    return stroke.mark is Mark.OUTLINE and not stroke.layer


def _rooms(placed: Placed, strokes: Sequence[Stroke], unit: float) -> Iterator[list[Grid]]:
    """Give where on a card a name may stand: off all lines, off all but letters, anywhere."""
    shape = buffered(Polygon(placed.outline), -_AROUND * unit)
    if shape.is_empty:
        return
    marks = shapes_of([s for s in strokes if s.mark is not Mark.LETTERING and not _is_edge(s)])
    # letters are small: their first points say where words are
    letters = np.array([s.points[0] for s in strokes if s.mark is Mark.LETTERING]).reshape(-1, 2)
    off_marks = shape.difference(clear_of(marks, _AROUND * unit))
    for room, off in ((off_marks, letters), (off_marks, None), (shape, None)):
        yield [
            Grid(room, direction, np.asarray(shape.centroid.coords[0]), unit / 4.0,
                 off=off, reach=_AROUND * unit + 2.0)
            for direction in (_LEVEL, _UPRIGHT)
        ]  # fmt: skip


def _placed(text: str, height: float, grid: Grid) -> list[FloatArray]:
    whole = text_width(text, height)
    for share in (1.0, 0.6, 0.4):
        rows = wrapped(text, whole * share * 1.001, height, cut_words=False)
        wide = max(text_width(row, height) for row in rows)
        tall = height * (1.0 + _LEADING * (len(rows) - 1) + 0.35)
        corner = grid.place(wide, tall)
        if corner is None:
            continue
        feet = [tall - height * (1.0 + _LEADING * index) for index in range(len(rows))]
        return [
            (line + corner + (0.0, foot)) @ grid.turn
            for row, foot in zip(rows, feet, strict=True)
            for line in text_lines(row, height)
        ]
    return []
