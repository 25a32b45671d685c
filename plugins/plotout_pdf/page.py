"""A sheet as one full-size page, for a shop that prints from a roll."""

from __future__ import annotations

import math
from dataclasses import replace

from plotout import Machine, Program, Sheet
from plotout.kit import correction
from plotout_pdf.band import Box, Words, band_for, draw_band, sheet_number
from plotout_pdf.document import LONGEST, Bookmark, complete
from plotout_pdf.options import page_options
from plotout_pdf.paper import POINTS, Paper

EDGE = 3.0  # least distance of the band from the page's edge, mm


def as_driven(machine: Machine) -> Machine:
    """Return the printer with room for the page's band: at the start of a roll, else along the
    bed's shorter side, where it takes least.
    """
    left, bottom, right, top = (max(side, EDGE) for side in machine.bed.margins)
    if _at_left(machine):
        left += band_for(machine.bed.width - bottom - top)
        margins = left, *machine.bed.margins[1:]
    else:
        bottom += band_for(machine.bed.length - left - right)
        margins = machine.bed.margins[0], bottom, *machine.bed.margins[2:]
    return replace(machine, bed=replace(machine.bed, margins=margins))


def emit(program: Program, sheet: Sheet) -> bytes:
    """Return a PDF of one page, as large as the sheet. Work is drawn in the sheet's mm."""
    unit = max(1, math.ceil(max(program.width, program.height) * POINTS / LONGEST))
    machine = program.machine
    say = sheet.say
    paper = Paper(unit, say)
    paper.page(program.width, program.height)
    caution = say(
        "Print at 100 %, never fitted to the page, and measure the square before you cut."
    )
    size = say.size(program.width, program.height)
    words = Words(program.name, f"{sheet_number(sheet)}, {size}. {caution}")
    draw_band(paper, _place(program), words, correction(machine.calibration),
              upright=_at_left(machine))  # fmt: skip
    paper.work(program.runs, machine.step)
    paper.end_page()
    return complete(
        paper.close(),
        title=program.name,
        layers=paper.layers_as_in(sheet),
        bookmarks=[Bookmark(placed.card.title, 0) for placed in sheet.placed],
        names=[str(sheet.number)],
        user_unit=unit,
    )


def _at_left(machine: Machine) -> bool:
    where = page_options(machine).band
    if where != "auto":
        return where == "left"
    return machine.bed.roll or machine.bed.width <= machine.bed.length


def _place(program: Program) -> Box:
    """Return where the band lies: in the margin that `as_driven` widened."""
    left, bottom, right, top = program.machine.bed.margins
    side, foot = max(right, EDGE), max(top, EDGE)
    if _at_left(program.machine):
        low = max(bottom, EDGE)
        wide = band_for(program.machine.bed.width - low - foot)
        return max(left - wide, 0.0), low, max(left, wide), program.height - foot
    low = max(left, EDGE)
    high = band_for(program.machine.bed.length - low - side)
    return low, max(bottom - high, 0.0), program.width - side, max(bottom, high)
