"""SVG: drawings in, finished cards out."""

from __future__ import annotations

from collections.abc import Sequence

from plotout import Driver, Program, Sheet, hookimpl


@hookimpl
def plotout_drivers() -> Sequence[Driver]:
    """Finished cards as SVG. The sheet's picture is `.svg` already."""
    return [Driver("svg", ".cards.svg", _emit)]


def _emit(program: Program, sheet: Sheet) -> bytes:
    from plotout_svg.emit import emit

    return emit(program, sheet)
