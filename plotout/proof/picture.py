"""Pictures of every stage: a piece as read, a card as finished, a sheet as laid, a program."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import accumulate, groupby

import numpy as np

from plotout.geometry.polyline import bounds, tips
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work, all_moved
from plotout.machine import Machine
from plotout.model import Card, Placed, Program, Sheet
from plotout.proof.card_names import card_names, names_on
from plotout.proof.piece_picture import piece_picture
from plotout.proof.rendering import to_png, to_svg
from plotout.proof.scene import Scene, SceneLine, framed, scene, words
from plotout.tongue import Tongue

_UNNUMBERED = (Mark.LETTERING, Mark.UNDERLAP, Mark.AREA)

__all__ = [
    "card_picture",
    "cloth_picture",
    "contact_sheet",
    "laid_picture",
    "piece_picture",
    "program_scene",
    "sheet_picture",
    "to_png",
    "to_svg",
]


def sheet_picture(program: Program, sheet: Sheet, *, travel: bool = False) -> Scene:
    """Draw the machine's work on a sheet, kind by kind, and the cards' names.

    travel: also draw travel with the tool up, and number the strokes where they begin.
    """
    say = sheet.say
    plain = program_scene(program, sheet, fine_letters=True)
    details = _about(sheet, program.machine, say)
    if sheet.placed:
        details.append(say.many("{count} stroke", "{count} strokes", program.strokes))
    lines = [line for line in plain.lines if travel or line.kind != "travel"]
    if travel:
        details.append(say("numbered where they begin"))
        lines += _numbers(program, plain.unit)
    else:
        lines += card_names(sheet, plain.unit)
    if program.machine.kind not in ("printer", "file"):
        details.append(_time(program.seconds, say))
    return framed(scene(_title(program, sheet), lines, (say.listed(*details),)), say)


def _title(program: Program, sheet: Sheet) -> str:
    if not sheet.placed:
        return program.name
    return sheet.say(
        "{set}: sheet {number} for {machine}",
        set=program.name, number=sheet.number, machine=sheet.say.unfilled(program.machine.title),
    )  # fmt: skip


def _about(sheet: Sheet, machine: Machine | None, say: Tongue) -> list[str]:
    """Return how many cards are on a sheet, how large it is, and of what stock, if that has a name
    of the user's: the machine's own has an English one, for messages.
    """
    cards = [say.many("{count} card", "{count} cards", len(sheet.placed))] if sheet.placed else []
    own = machine is not None and sheet.stock == machine.own_stock
    stock = [sheet.stock] if sheet.stock and not own else []
    return [*cards, say.size(sheet.width, sheet.height), *stock]


def _time(seconds: float, say: Tongue) -> str:
    minutes, rest = divmod(round(round(seconds, 1)), 60)  # as `make` prints it
    return say("{minutes} min {seconds} s", minutes=minutes, seconds=f"{rest:02d}")


def _numbers(program: Program, unit: float) -> Iterator[SceneLine]:
    """Give what each stroke is called, small, beside where it begins."""
    for label, index in numbered(program):
        x, y = program.runs[index].points[0]
        yield from words(label, x + 0.15 * unit, y + 0.15 * unit, 0.45 * unit)


def numbered(program: Program) -> Iterator[tuple[str, int]]:
    """Give what is written beside strokes, and the run where each begins.

    "17"; or "17-52" for a card's letters or hatching, which numbers of their own would cover.
    """
    runs, labels = program.runs, program.stroke_labels

    def together(index: int) -> tuple[str, str]:
        frame, _, number = labels[index].rpartition(":")
        letters = runs[index].stroke.mark in _UNNUMBERED
        return (frame, runs[index].stroke.card if letters else f"stroke {number}")

    begins = [index for index, run in enumerate(runs) if index == 0 or not run.follows]
    for _, group in groupby(begins, together):
        first, *rest = group
        last = labels[rest[-1]].rpartition(":")[2] if rest else ""
        yield labels[first] + (f"-{last}" if rest else ""), first


def laid_picture(sheet: Sheet, machine: Machine | None = None) -> Scene:
    """Draw a sheet as laid: its cards in place, before tool paths are made.

    machine: whose own stock is not named.
    """
    say = sheet.say
    plain = scene("", [*_stock(sheet), *map(_as_drawn, sheet.strokes)])
    lines = [*plain.lines, *card_names(sheet, plain.unit)]
    title = say("{sheet}, as laid", sheet=sheet.name)
    return framed(scene(title, lines, (say.listed(*_about(sheet, machine, say)),)), say)


def cloth_picture(sheet: Sheet, title: str, say: Tongue) -> Scene:
    """Draw a lay on cloth, its length from left to right: a number and a name on every piece.

    sheet: as `rack.cloth.need` gives it; the number is that of the copy. say: the set's language.
    """
    plain = scene("", [*_stock(sheet), *map(_on_cloth, sheet.strokes)])
    lines = [*plain.lines, *card_names(sheet, plain.unit)]
    many = say.many("{count} piece", "{count} pieces", len(sheet.placed))
    size = say.size(sheet.width, sheet.height)
    return framed(scene(title, lines, (say.listed(many, size),)), say)


def _on_cloth(stroke: Stroke) -> SceneLine:
    kind = "grain line" if stroke.mark is Mark.GRAIN else "internal line"
    return SceneLine(stroke.points, "cut" if stroke.work is Work.CUT else kind)


def contact_sheet(sheets: Sequence[Sheet], seconds: float, say: Tongue) -> Scene:
    """Draw all the sheets of a lay at one small scale, with the cards' numbers and names.

    seconds: the machine's time for all of them; 0 if unknown.
    """
    wide, tall = max(drawn.width for drawn in sheets), max(drawn.height for drawn in sheets)
    across = max(1, round(float(np.sqrt(len(sheets) * tall / wide))))
    unit = across * 1.05 * wide / 70.0
    step = np.array([wide + 2.0 * unit, -(tall + 4.0 * unit)])
    lines: list[SceneLine] = []
    for index, sheet in enumerate(sheets):
        at = step * (index % across, index // across)
        cut = [stroke for placed in sheet.placed for stroke in _cut_free(placed)]
        drawn = [*_stock(sheet), *map(_as_drawn, cut), *names_on(sheet, unit, cut)]
        lines += [replace(line, points=line.points + at) for line in drawn]
        title = say("sheet {number}", number=sheet.number)
        title = say.listed(title, *_about(sheet, None, say)[:2])
        lines += words(title, at[0], at[1] + sheet.height + 0.6 * unit, 0.8 * unit)
    cards = sum(len(sheet.placed) for sheet in sheets)
    about = [
        say.many("{count} sheet", "{count} sheets", len(sheets)),
        say.many("{count} card", "{count} cards", cards),
        *([_time(seconds, say)] if seconds else []),
    ]
    return framed(scene(sheets[0].name, lines, (say.listed(*about),)), say)


def _cut_free(placed: Placed) -> tuple[Stroke, ...]:
    """Return a card's outlines and holes in their place on the sheet."""
    strokes = [s for s in placed.card.strokes if s.mark in (Mark.OUTLINE, Mark.HOLE)]
    return all_moved(strokes, placed.matrix)


def _stock(sheet: Sheet) -> list[SceneLine]:
    outlines = [_box(0.0, 0.0, sheet.width, sheet.height)]
    if sheet.outline is not None:
        outlines.append(sheet.outline)
    return [SceneLine(outline, "stock") for outline in outlines]


def _as_drawn(stroke: Stroke) -> SceneLine:
    kind = "lettering" if stroke.mark is Mark.LETTERING else stroke.work.value
    return SceneLine(stroke.points, kind, stroke.size)


def program_scene(
    program: Program, sheet: Sheet | None = None, *, fine_letters: bool = False
) -> Scene:
    """Return the lines of a program, numbered by their runs, without a frame.

    fine_letters: letters, which would blot from afar, are of a kind of their own.
    """
    lines = [SceneLine(_box(0.0, 0.0, program.width, program.height), "stock")]
    if sheet is not None and sheet.outline is not None:
        lines.append(SceneLine(sheet.outline, "stock"))
    left, bottom, right, top = program.machine.bed.margins
    if any(program.machine.bed.margins):
        reach = _box(left, bottom, program.width - right, program.height - top)
        lines.append(SceneLine(reach, "edge of reach"))
    for x in accumulate(advance.by for advance in program.advances):
        lines.append(SceneLine(np.array([[x, 0.0], [x, program.height]]), "edge of reach"))
    ends = tips([run.points for run in program.runs])
    leaps = np.zeros_like(ends)  # to each run, from the end of the one before
    leaps[:, 1], leaps[1:, 0] = ends[:, 0], ends[:-1, 1]
    far = np.hypot(*(leaps[:, 1] - leaps[:, 0]).T) > 0.05
    for number, run in enumerate(program.runs):
        if not run.follows and far[number]:
            lines.append(SceneLine(leaps[number], "travel", number=number))
        fine = fine_letters and run.stroke.mark is Mark.LETTERING
        kind = "lettering" if fine else run.stroke.work.value
        lines.append(SceneLine(run.points, kind, run.stroke.size, number))
    return scene(program.name, lines)


def card_picture(card: Card) -> Scene:
    """Draw a finished card as it hangs."""
    say = card.say
    lines = [SceneLine(stroke.points, stroke.work.value, stroke.size) for stroke in card.strokes]
    left, bottom, right, top = bounds(card.outline)
    title = say("{card}: card {number} of {of}", card=card.title, number=card.number, of=card.of)
    about = (say.size(right - left, top - bottom), *card.orders)
    return framed(scene(title, lines, (say.listed(*about, by="; "),)), say)


def _box(left: float, bottom: float, right: float, top: float) -> FloatArray:
    return np.array([[left, bottom], [right, bottom], [right, top], [left, top], [left, bottom]])
