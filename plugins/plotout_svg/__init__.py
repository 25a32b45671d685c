"""SVG: reads drawings; writes finished cards."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from plotout import Drawing, Driver, Pick, Program, Reader, Sheet, hookimpl
from plotout.kit import picks_of_lines


@hookimpl
def plotout_readers() -> Sequence[Reader]:
    """Offer the reader of SVG drawings: what is what, by `#id`, `.class` or label."""
    picks = {
        **picks_of_lines("#{}".format),
        "layer": Pick("The layer or group in which everything lies.", '"#front"'),
        "unit": Pick("The unit of a drawing that states none.", '"mm"'),
    }
    return [Reader("svg", (".svg",), picks, _read, most=_most)]


def _most() -> str:
    from plotout_svg.css import MOST_CSS
    from plotout_svg.document import DEEPEST, MOST_BYTES, MOST_ELEMENTS
    from plotout_svg.shapes import MOST_POINTS
    from plotout_svg.tree import MOST_SHAPES

    return (
        f"{MOST_BYTES >> 20} MiB; {MOST_ELEMENTS} elements, nested {DEEPEST} deep; "
        f"{MOST_SHAPES} shapes; {MOST_POINTS} points in all, once curves are flattened; "
        f"{MOST_CSS} characters of style sheets that hide or move"
    )


@hookimpl
def plotout_drivers() -> Sequence[Driver]:
    """Offer the driver for finished cards as SVG. `.svg` itself is the sheet's picture."""
    from plotout_svg.options import SvgOptions

    return [Driver("svg", ".cards.svg", _emit, arcs=True, options=SvgOptions)]


def _read(path: Path, pick: Mapping[str, Any]) -> Drawing:
    from plotout_svg.read import read

    return read(path, pick)


def _emit(program: Program, sheet: Sheet) -> bytes:
    from plotout_svg.emit import emit

    return emit(program, sheet)
