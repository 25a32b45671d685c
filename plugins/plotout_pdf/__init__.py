"""PDF: a sheet at its full size on one page, or in tiles for a printer at home."""

from __future__ import annotations

from collections.abc import Sequence

from plotout import Driver, Program, Sheet, hookimpl


@hookimpl
def plotout_drivers() -> Sequence[Driver]:
    """Full-size page."""
    return [Driver("pdf-page", ".pdf", _page)]


def _page(program: Program, sheet: Sheet) -> bytes:
    from plotout_pdf.page import emit

    return emit(program, sheet)
