"""A sheet as one page of its full size, for a shop that prints from a roll."""

from __future__ import annotations

import math

from plotout import Program, Sheet
from plotout_pdf.document import LONGEST, Bookmark, complete
from plotout_pdf.paper import POINTS, Paper


def emit(program: Program, sheet: Sheet) -> bytes:
    """Return a PDF of one page, as large as the sheet. Work is drawn in the sheet's mm."""
    unit = max(1, math.ceil(max(program.width, program.height) * POINTS / LONGEST))
    paper = Paper(unit)
    paper.page(program.width, program.height)
    paper.work(program.runs)
    paper.end_page()
    return complete(
        paper.close(),
        title=program.name,
        layers=paper.layers,
        bookmarks=[Bookmark(placed.card.title, 0) for placed in sheet.placed],
        names=[str(sheet.number)],
        user_unit=unit,
    )
