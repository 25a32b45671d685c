"""PDF: a sheet at its full size on one page, or in tiles for a printer at home.

A profile's `[options]` for `pdf-tiles`; lengths in mm or with their unit:

page: the paper, "A4" (the default), "letter", "300 mm x 400 mm".
margin: what the printer can't reach, one length or four: left, bottom, right, top (default 5).
overlap: how much neighbouring pages share (default 10).
style: "trim" (the default: cut both and butt them) or "lap" (cut one and lay it over).
orientation: "auto" (the default: whichever takes fewer pages), "portrait" or "landscape".
by-card: true to tile each card on its own.
"""

from __future__ import annotations

from collections.abc import Sequence

from plotout import Driver, Machine, Program, Sheet, hookimpl

_OPTIONS = ("page", "margin", "overlap", "style", "orientation", "by-card")


@hookimpl
def plotout_drivers() -> Sequence[Driver]:
    """Full-size page, and tiles."""
    return [
        Driver("pdf-page", ".pdf", _page, options=()),
        Driver("pdf-tiles", ".pdf", _tiles, _check_tiles, options=_OPTIONS),
    ]


def _page(program: Program, sheet: Sheet) -> bytes:
    from plotout_pdf.page import emit

    return emit(program, sheet)


def _tiles(program: Program, sheet: Sheet) -> bytes:
    from plotout_pdf.tiles import emit

    return emit(program, sheet)


def _check_tiles(machine: Machine) -> None:
    from plotout_pdf.tiles import check

    check(machine)
