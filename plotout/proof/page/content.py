"""What the proof page knows of a set: plain data for its script."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from plotout import plugins
from plotout.finish.derive import all_pieces
from plotout.finish.prepare import ready
from plotout.geometry.polyline import bounds, length, lengths, moved, signed_area
from plotout.machine import AUTOMATIC, Machine
from plotout.machine.caution import caution
from plotout.model import Card, Placed, Program, Run, Sheet
from plotout.pattern.model import PatternSet, Piece
from plotout.pattern.walk import walk
from plotout.proof.page.notes import said_anew
from plotout.proof.page.packed import drawing, in_columns
from plotout.proof.picture import numbered
from plotout.tool.timing import frame_seconds

_RIM = 0.5  # mm: how far outside its card an edge may lie (a fold lies on its border)
_COARSE = 0.2  # mm: edges are kept no finer than this, for finding what lies under the pointer


@dataclass(frozen=True, slots=True, eq=False)
class Leaf:
    """One sheet of the page: the sheet, the program for it, and the name of its file."""

    sheet: Sheet
    program: Program
    file: str


def content(
    pattern_set: PatternSet,
    machine: Machine,
    cards: Sequence[Card],
    leaves: Sequence[Leaf],
    warnings: Sequence[str],
) -> dict[str, Any]:
    """Return all that the page says, fit for JSON. mm, mm2, s.

    drawn: the drawing, runs and edges of every sheet, which the page keeps packed.
    """
    numbers = {card.id: index for index, card in enumerate(cards)}
    runs = [runs_as_rows(leaf.program, numbers) for leaf in leaves]
    works = sorted({row[0] for rows in runs for row in rows})
    marks = sorted({row[1] for rows in runs for row in rows})
    pieces = {piece.name: ready(piece) for piece in all_pieces(pattern_set)}
    return {
        "set": {
            "name": pattern_set.name,
            "style": pattern_set.style,
            "size": pattern_set.size,
            "date": pattern_set.date,
        },
        "machine": pattern_set.say.unfilled(machine.title),
        "timed": machine.kind not in ("printer", "file"),
        "cautions": [*pattern_set.cautions, *map(pattern_set.say.unfilled, caution(machine))],
        "inches": pattern_set.say.inches,
        "tools": [tool.name for tool in machine.tools],
        "cards": [_card(card, leaves) for card in cards],
        "seams": _seams(pattern_set),
        "warnings": said_anew(warnings, pattern_set.say),
        "works": works,
        "marks": marks,
        "sheets": [_sheet(leaf, pattern_set) for leaf in leaves],
        "drawn": [
            {
                "drawing": drawing(leaf.program, leaf.sheet),
                "runs": in_columns(rows, works, marks),
                "of": _sizes(leaf.program, pattern_set.sizes)[1],
                "labels": [list(pair) for pair in numbered(leaf.program)],
                "pages": _pages(leaf.program, leaf.sheet),
                "edges": [
                    edge
                    for placed in leaf.sheet.placed
                    if placed.card.piece in pieces
                    for edge in _edges(placed, pieces[placed.card.piece], numbers)
                ],
            }
            for leaf, rows in zip(leaves, runs, strict=True)
        ],
    }


def _card(card: Card, leaves: Sequence[Leaf]) -> dict[str, Any]:
    left, bottom, right, top = bounds(card.outline)
    where, box, angle, middle = -1, None, 0.0, None
    for place, leaf in enumerate(leaves):
        for placed in leaf.sheet.placed:
            if where < 0 and placed.card.id == card.id:
                where, box = place, _rounded(bounds(placed.outline))
                angle = placed.angle
                inside = Polygon(placed.outline).buffer(0.0).representative_point()
                middle = _rounded((inside.x, inside.y))
    return {
        "id": card.id,
        "title": card.title,
        "number": card.number,
        "of": card.of,
        "orders": list(card.orders),
        "hole": _rounded((card.hole[0] - left, top - card.hole[1])) if card.hole else None,
        "size": _rounded((right - left, top - bottom)),
        "area": round(abs(signed_area(card.outline))),
        "warnings": said_anew(card.warnings, card.say),
        "sheet": where,
        "box": box,
        "angle": round(angle, 3),
        "middle": middle,
    }


def _seams(pattern_set: PatternSet) -> list[dict[str, Any]]:
    made = pattern_set.with_pieces(all_pieces(pattern_set))
    return [
        {
            "name": seam.name,
            "between": [seam.first_piece, seam.second_piece],
            "first": round(seam.first, 2),
            "second": round(seam.second, 2),
            "ease": _rounded(seam.ease),
            "faults": said_anew(seam.faults, made.say),
            "notes": said_anew(seam.notes, made.say),
        }
        for seam in walk(made)
    ]


def _sheet(leaf: Leaf, pattern_set: PatternSet) -> dict[str, Any]:
    sheet, program = leaf.sheet, leaf.program
    sizes, _ = _sizes(program, pattern_set.sizes)
    numbered = pattern_set.say("Sheet {number}", number=sheet.number)
    return {
        "name": sheet.placed[0].card.title if sizes else numbered,
        "number": sheet.number,
        "sizes": sizes,
        "file": leaf.file,
        "width": round(sheet.width, 2),
        "height": round(sheet.height, 2),
        "stock": sheet.stock,
        "frames": _frames(program),
    }


def _frames(program: Program) -> list[int]:
    """Return the number of the last stroke before each file of a roll that is advanced by hand."""
    if program.machine.bed.advance == AUTOMATIC or not program.advances:
        return []
    strokes = program.stroke_numbers
    return [0, *(strokes[advance.run - 1] if advance.run else 0 for advance in program.advances)]


def _sizes(program: Program, order: Sequence[str]) -> tuple[list[str], list[int]]:
    """Return the sizes of a nest, in order, and which of them each run is of; -1: of all."""
    layers = [run.stroke.layer for run in program.runs]
    drawn = [f"size {size}" for size in order if f"size {size}" in layers]
    names = [layer.removeprefix("size ") for layer in drawn]
    return names, [
        drawn.index(layer) if layer in drawn else -1 for layer in layers
    ] if drawn else []


def _pages(program: Program, sheet: Sheet) -> list[dict[str, Any]]:
    """Return the pages that a sheet is printed on, where its driver divides it into several."""
    driver = plugins.driver(program.machine.driver)
    parts = driver.tiles(program, sheet) if driver.tiles else ()
    return [
        {
            "name": part.prefix + tile.name,
            "cell": _rounded(np.array(tile.cell) + np.tile(part.corner, 2)),
            "empty": tile.empty,
        }
        for part in parts
        for tile in part.plan.tiles
    ]


def runs_as_rows(program: Program, numbers: dict[str, int]) -> list[list[Any]]:
    """Return each run as work, mark, card, tool, mm, the seconds when its travel begins, when its
    work begins and when it ends, by the machine's motion, and the number of its stroke.
    """
    tools = [tool.name for tool in program.machine.tools]
    seconds = frame_seconds(program)
    moments = _rounded([0.0, *np.cumsum(seconds).tolist()])
    sizes = lengths([run.points for run in program.runs])
    return [
        [*_row(run, size, tools, numbers), *moments[2 * index : 2 * index + 3], stroke]
        for index, (run, size, stroke) in enumerate(
            zip(program.runs, sizes, program.stroke_numbers, strict=True)
        )
    ]


def _row(run: Run, size: float, tools: list[str], numbers: dict[str, int]) -> list[Any]:
    return [
        run.stroke.work.value,
        run.stroke.mark.value,
        numbers.get(run.stroke.card, -1),
        tools.index(run.tool.name) if run.tool.name in tools else -1,
        round(size, 1),
    ]


def _edges(placed: Placed, piece: Piece, numbers: dict[str, int]) -> list[dict[str, Any]]:
    """Return the piece's edges where they lie on the card; a part of a piece has some of them."""
    card = Polygon(placed.outline).buffer(_RIM)
    return [
        {
            "card": numbers.get(placed.card.id, -1),
            "name": edge.name,
            "allowance": _rounded(edge.allowance),
            "length": round(length(edge.points), 1),
            "points": _coarse(part),
        }
        for edge in piece.edges
        for part in _within(LineString(moved(edge.points, placed.matrix)), card)
    ]


def _within(line: LineString, card: Polygon) -> list[LineString]:
    parts = shapely.get_parts(line.intersection(card)).tolist()
    return [part for part in parts if isinstance(part, LineString) and part.length > _RIM]


def _coarse(line: LineString) -> list[float]:
    kept = np.asarray(line.simplify(_COARSE).coords)
    flat: list[float] = np.round(kept, 1).ravel().tolist()
    return flat


def _rounded(values: Iterable[float]) -> list[float]:
    return [round(float(value), 2) for value in values]
