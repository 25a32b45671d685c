"""DXF: drawings in, plain or ASTM D6673; finished cards out."""

from __future__ import annotations

from collections.abc import Sequence

from plotout import Driver, Program, Sheet, hookimpl


@hookimpl
def plotout_drivers() -> Sequence[Driver]:
    """Finished cards as DXF."""
    return [Driver("dxf", ".dxf", _emit)]


def _emit(program: Program, sheet: Sheet) -> bytes:
    from plotout_dxf.emit import emit

    return emit(program, sheet)
