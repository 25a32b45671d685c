"""Reads pricked points: a table of x, y, run and kind.

One prick per line, in the order in which they were pricked; `#` begins a comment. The values are
separated by commas, semicolons or tabs. Decimals have a point, or a comma if commas don't separate
the values; thousands have no separator. A run's kind is `straight`, `curve` or `closed` (a curve
that returns to its start). Corners are not pricked: they are where neighbouring runs meet. The
runs' names become the edges' names. Three or more stabs within 4 mm that lie by themselves, or in
one place, are one key point; two in one place are one prick. A line of kind `notch` or `drill` is a
mark: `run` is the run of a notch, or the name of a drill hole.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from plotout import Drawing, Pick, Reader, hookimpl

_PICKS = {
    "runs": Pick("The runs to take, in order; all, if left out.", '["hem", "side", "neck"]'),
    "unit": Pick("The unit of x and y; mm, if left out.", '"in"'),
    "square": Pick(
        "Curves that meet their straight neighbours square, or one end of them.", '["neck end"]'
    ),
    "tangent": Pick(
        "Curves that join their straight neighbours without a corner, or one end of them.",
        '["hip start"]',
    ),
    "snap": Pick("How far a straight may be moved to lie along x or y.", '"1 mm"'),
}


@hookimpl
def plotout_readers() -> Sequence[Reader]:
    """Offer the reader of pricked points."""
    return [Reader("pricks", (".csv", ".tsv"), _PICKS, _read, most=_most)]


def _most() -> str:
    from plotout_pricks.table import MOST_PRICKS

    return f"as every table; {MOST_PRICKS} pricks in a run"


def _read(path: Path, pick: Mapping[str, Any]) -> Drawing:
    from plotout_pricks.outline import outline
    from plotout_pricks.table import read_table

    return outline(read_table(path, pick), path, pick)
