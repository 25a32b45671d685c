"""PDF: a sheet at its full size on one page, or in tiles for a printer at home."""

from __future__ import annotations

from collections.abc import Sequence

from plotout import Driver, Machine, Program, Sheet, hookimpl
from plotout.kit import PageGrid, Tiled


@hookimpl
def plotout_drivers() -> Sequence[Driver]:
    """Full-size page, and tiles."""
    from plotout_pdf.options import Options, PageOptions

    return [
        Driver("pdf-page", ".pdf", _page, arcs=True, options=PageOptions, as_driven=_with_band),
        Driver(
            "pdf-tiles",
            ".pdf",
            _tiles,
            _check_tiles,
            arcs=True,
            options=Options,
            tiles=_plan,
            grids=_grids,
        ),
    ]


def _with_band(machine: Machine) -> Machine:
    from plotout_pdf.page import as_driven

    return as_driven(machine)


def _page(program: Program, sheet: Sheet) -> bytes:
    from plotout_pdf.page import emit

    return emit(program, sheet)


def _tiles(program: Program, sheet: Sheet) -> bytes:
    from plotout_pdf.tiles import emit

    return emit(program, sheet)


def _plan(program: Program, sheet: Sheet) -> Sequence[Tiled]:
    from plotout_pdf.tiles import plan

    return plan(program, sheet)


def _grids(machine: Machine) -> Sequence[PageGrid]:
    from plotout_pdf.tiles import grids

    return grids(machine)


def _check_tiles(machine: Machine) -> None:
    from plotout_pdf.tiles import check

    check(machine)
