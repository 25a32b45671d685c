"""SVG: drawings in, finished cards out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from plotout import Drawing, Driver, Program, Reader, Sheet, hookimpl

PICKS = ("outline", "internal", "grain", "drill", "fold", "notch", "cut-out", "stripe", "plaid",
         "layer", "unit")  # fmt: skip


@hookimpl
def plotout_readers() -> Sequence[Reader]:
    """Drawings: which element is what is picked by `#id`, `.class` or the id of a group."""
    return [Reader("svg", (".svg",), PICKS, _read)]


def _read(path: Path, pick: Mapping[str, Any]) -> Drawing:
    from plotout_svg.read import read

    return read(path, pick)


@hookimpl
def plotout_drivers() -> Sequence[Driver]:
    """Finished cards as SVG. The sheet's picture is `.svg` already."""
    return [Driver("svg", ".cards.svg", _emit)]


def _emit(program: Program, sheet: Sheet) -> bytes:
    from plotout_svg.emit import emit

    return emit(program, sheet)
