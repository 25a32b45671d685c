"""A test square: what a machine is measured by, as large as its bed allows."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from plotout.errors import UserError
from plotout.geometry.lettering import text_lines, text_width
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work
from plotout.machine import Machine
from plotout.model import Card, Placed, Sheet

SIDES = (400.0, 300.0, 250.0, 200.0, 150.0, 120.0, 100.0, 80.0, 60.0, 50.0, 40.0, 30.0, 20.0)
"""mm: no longer than a rule of a workroom, 600 mm, measures across its diagonal."""

_ROUND = 1.0  # mm about it
_LARGE, _SMALL = 7.0, 2.5  # mm of letters: ISO 3098


def sides_for(machine: Machine) -> Iterator[float]:
    """Give sides of a square that go on the machine's bed, mm, the largest first.

    Raises UserError where none does.
    """
    left, bottom, right, top = machine.bed.margins
    around = 2.0 * (machine.reach + _ROUND)
    room = min(machine.bed.length - left - right, machine.bed.width - bottom - top) - around
    fitting = [side for side in SIDES if side <= room]
    if not fitting:
        raise UserError(
            f"'{machine.name}' can reach {max(room, 0.0):.0f} mm: too little for a test square",
            fix=f"A bed of {SIDES[-1] + around:.0f} mm or more within its margins is needed.",
        )
    yield from fitting


def square(machine: Machine, side: float) -> Sheet:
    """Return a square of that side as a sheet, with its sides and corners named.

    It is drawn where a tool draws, else scored, else cut out.
    """
    left, bottom, right, top = machine.bed.margins
    inset = machine.reach + _ROUND
    corner = np.array([left + inset, bottom + inset])
    works = (Work.DRAW, Work.SCORE, Work.CUT)
    work = next((work for work in works if machine.tool_for(work)), Work.CUT)
    ring = np.array([[0, 0], [1, 0], [1, 1], [0, 1], [0, 0.0]]) * side + corner
    strokes = [Stroke(ring, work, Mark.OUTLINE, "square")]
    if work is not Work.CUT:
        strokes += [
            Stroke(line + corner, work, Mark.LETTERING, "square") for line in _words(machine, side)
        ]
    card = Card("square", "square", "Test square", 1, 1, ring, tuple(strokes))
    width, height = (float(value) for value in corner + side + inset + (right, top))
    placed = (Placed(card, 0.0, (0.0, 0.0)),)
    return Sheet(f"Test square of {machine.name}", 1, width, height, placed, of=1)


def _words(machine: Machine, side: float) -> Iterator[FloatArray]:
    """Give the lettering in a square whose lower left is 0, 0."""
    large = min(_LARGE, side / 12.0)
    small = max(_SMALL, large / 2.0)
    middle = side / 2.0
    lines = [(f"{side:g} mm", large), ("as the machine makes it", small), ("uncorrected", small)]
    y = middle + 2.0 * large
    for text, height in lines:
        yield from _centred(text, (middle, y), height, 0.7 * side)
        y -= 2.2 * height
    yield from _centred(machine.name, (middle, y), small, 0.7 * side)
    yield from _centred("lower side", (middle, 1.5), small, 0.5 * side)
    yield from _centred("upper side", (middle, side - 1.5 - small), small, 0.5 * side)
    turn = np.array([[0.0, 1.0], [-1.0, 0.0]])  # points @ turn: a quarter turn left
    for text, x in (("left side", 1.5 + small), ("right side", side - 1.5)):
        for line in _centred(text, (0.0, 0.0), small, 0.5 * side):
            yield np.add(line @ turn, (x, middle))


def _centred(
    text: str, at: tuple[float, float], height: float, room: float
) -> Iterator[FloatArray]:
    wide = text_width(text, height)
    height *= min(1.0, room / wide)
    wide = min(wide, room)
    for line in text_lines(text, height):
        yield np.add(line, (at[0] - wide / 2.0, at[1]))
