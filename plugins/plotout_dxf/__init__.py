"""DXF: reads drawings, plain or ASTM D6673; writes finished cards."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from plotout import Drawing, Driver, Pick, Program, Reader, Sheet, hookimpl
from plotout.kit import picks_of_lines


@hookimpl
def plotout_readers() -> Sequence[Reader]:
    """Offer the reader of drawings: ASTM D6673 by `block`, or plain by layer."""
    picks = {
        "block": Pick("The block of a file of ASTM D6673, or its piece's name.", '"FRONT"'),
        "size": Pick("The size of that block; the set's, if left out.", '"M"'),
        **picks_of_lines(str.upper),
        "unit": Pick("The unit of a drawing that states none.", '"mm"'),
    }
    return [Reader("dxf", (".dxf",), picks, _read, most=_most)]


def _most() -> str:
    from plotout_dxf.curves import DEEPEST, MOST_ENTITIES, MOST_POINTS
    from plotout_dxf.document import MOST_BYTES

    return (
        f"{MOST_BYTES >> 20} MiB; {MOST_ENTITIES} entities; blocks nested {DEEPEST} deep; "
        f"{MOST_POINTS} points on a layer, once curves are flattened"
    )


def _read(path: Path, pick: Mapping[str, Any]) -> Drawing:
    from plotout_dxf.read import read

    return read(path, pick)


@hookimpl
def plotout_drivers() -> Sequence[Driver]:
    """Offer the driver for finished cards as DXF."""
    from plotout_dxf.options import DxfOptions

    return [Driver("dxf", ".dxf", _emit, options=DxfOptions)]


def _emit(program: Program, sheet: Sheet) -> bytes:
    from plotout_dxf.emit import emit

    return emit(program, sheet)
