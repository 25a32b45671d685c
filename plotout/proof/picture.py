"""Pictures of every stage: a piece as read, a card as finished, a sheet as laid, a program."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import accumulate

import numpy as np

from plotout.geometry.lettering import text_width
from plotout.geometry.polyline import bounds, direction_at, length, point_at
from plotout.geometry.strokes import FloatArray, Mark
from plotout.model import Card, Program, Sheet
from plotout.pattern.model import Piece
from plotout.proof.rendering import to_png, to_svg
from plotout.proof.scene import Scene, SceneLine, framed, scene, words

_UNNUMBERED = (Mark.LETTERING, Mark.UNDERLAP, Mark.AREA)

__all__ = [
    "card_picture",
    "laid_picture",
    "piece_picture",
    "program_scene",
    "sheet_picture",
    "to_png",
    "to_svg",
]


def sheet_picture(program: Program, sheet: Sheet) -> Scene:
    """Draw what the machine will do on a sheet: its work, kind by kind, and its travel."""
    minutes, seconds = divmod(round(program.seconds), 60)
    cards = "1 card" if len(sheet.placed) == 1 else f"{len(sheet.placed)} cards"
    about = f"{cards}, {sheet.width:.0f} x {sheet.height:.0f} mm, {sheet.stock}"
    title = f"{program.name}: sheet {sheet.number} for {program.machine.title}"
    plain = program_scene(program, sheet)
    note = (
        f"{about.rstrip(', ')}; {program.strokes} strokes, numbered where they begin; "
        f"{minutes} min {seconds:02d} s"
    )
    return framed(scene(title, [*plain.lines, *_numbers(program, plain.unit)], (note,)))


def _numbers(program: Program, unit: float) -> Iterator[SceneLine]:
    """Give each stroke's number, small, beside where it begins; letters and hatching have none."""
    height = 0.45 * unit
    for run, number in zip(program.runs, program.stroke_numbers, strict=True):
        if not run.follows and run.stroke.mark not in _UNNUMBERED:
            x, y = run.points[0]
            yield from words(str(number), x + 0.15 * unit, y + 0.15 * unit, height)


def laid_picture(sheet: Sheet) -> Scene:
    """Draw a sheet as laid: its cards where they lie, before any tool's way is worked out."""
    lines = [SceneLine(_box(0.0, 0.0, sheet.width, sheet.height), "stock")]
    if sheet.outline is not None:
        lines.append(SceneLine(sheet.outline, "stock"))
    lines += [SceneLine(stroke.points, stroke.work.value, stroke.size) for stroke in sheet.strokes]
    about = f"{sheet.width:.0f} x {sheet.height:.0f} mm, {sheet.stock}".rstrip(", ")
    return framed(scene(f"{sheet.name}, as laid", lines, (about,)))


def program_scene(program: Program, sheet: Sheet | None = None) -> Scene:
    """Return the lines of a program, numbered by their runs, without a frame."""
    lines = [SceneLine(_box(0.0, 0.0, program.width, program.height), "stock")]
    if sheet is not None and sheet.outline is not None:
        lines.append(SceneLine(sheet.outline, "stock"))
    left, bottom, right, top = program.machine.bed.margins
    if any(program.machine.bed.margins):
        reach = _box(left, bottom, program.width - right, program.height - top)
        lines.append(SceneLine(reach, "edge of reach"))
    for x in accumulate(advance.by for advance in program.advances):
        lines.append(SceneLine(np.array([[x, 0.0], [x, program.height]]), "edge of reach"))
    at = np.zeros(2)
    for number, run in enumerate(program.runs):
        if not run.follows and np.hypot(*(run.points[0] - at)) > 0.05:
            lines.append(SceneLine(np.vstack([at, run.points[0]]), "travel", number=number))
        lines.append(SceneLine(run.points, run.stroke.work.value, run.stroke.size, number))
        at = run.points[-1]
    return scene(program.name, lines)


def card_picture(card: Card) -> Scene:
    """Draw a card as finished, as it hangs."""
    lines = [SceneLine(stroke.points, stroke.work.value, stroke.size) for stroke in card.strokes]
    left, bottom, right, top = bounds(card.outline)
    title = f"{card.title}: card {card.number} of {card.of}"
    about = (f"{right - left:.0f} x {top - bottom:.0f} mm", *card.orders)
    return framed(scene(title, lines, ("; ".join(about),)))


def piece_picture(piece: Piece) -> Scene:
    """Draw a piece as read, on its stitching line, with its edges named."""
    lines = [
        SceneLine(edge.points, "fold" if edge.name == piece.fold else "stitching line")
        for edge in piece.edges
    ]
    lines += [SceneLine(line.points, "internal line") for line in piece.lines]
    lines += [SceneLine(area.points, "internal line") for area in piece.areas]
    if piece.grain is not None:
        lines.append(SceneLine(piece.grain, "grain line"))
    lines += [SceneLine(np.array([drill.at]), "notch", drill.size) for drill in piece.drills]
    lines += [
        SceneLine(_notch(piece.edge(notch.edge).points, notch.along, notch.style.depth), "notch")
        for notch in piece.notches
    ]
    drawn = scene(piece.name, lines)
    names = [line for edge in piece.edges for line in _edge_name(edge.name, edge.points, drawn)]
    sizes = "; ".join(str(cut) for cut in piece.cuts)
    return framed(scene(f"{piece.name}, as read", lines + names, (sizes,) if sizes else ()))


def _edge_name(name: str, points: FloatArray, drawn: Scene) -> list[SceneLine]:
    """Return an edge's name beside its middle, inside the piece, level."""
    height = 0.8 * drawn.unit
    middle, normal = _middle(points)
    wide = text_width(name, height)
    at = middle + normal * (1.2 * drawn.unit + 0.5 * wide * abs(normal[0]))
    return words(name, at[0] - wide / 2.0, at[1] - height / 2.0, height)


def _middle(points: FloatArray, along: float | None = None) -> tuple[FloatArray, FloatArray]:
    """Return a point of an edge (its middle) and the direction into the piece there."""
    along = length(points) / 2.0 if along is None else along
    x, y = direction_at(points, along)
    return point_at(points, along), np.array([-y, x])


def _notch(points: FloatArray, along: float, depth: float) -> FloatArray:
    at, inward = _middle(points, along)
    return np.vstack([at - inward * depth / 2.0, at + inward * depth / 2.0])


def _box(left: float, bottom: float, right: float, top: float) -> FloatArray:
    return np.array([[left, bottom], [right, bottom], [right, top], [left, top], [left, bottom]])
