"""What a lay costs: pages, sheets, stock begun, then the length of it used."""

from __future__ import annotations

from collections.abc import Sequence

from plotout.layout.nesting.filling import Filling
from plotout.layout.nesting.paged import fewest
from plotout.layout.paper.frames import crossed

CROSSED = 100.0
"""mm of roll worth spending to keep a joint of two frames out of a card."""


def cost(sheets: Sequence[Filling]) -> tuple[float, ...]:
    """Return what to minimise: pages printed, sheets, stock begun, then the length of it used.

    On a roll worked in frames, a joint through a card counts as additional length.
    """
    stock = sum(sheet.ground.free.area for sheet in sheets if not sheet.ground.sheet.roll)
    used = [sheet.right for sheet in sheets]
    rolls = sum(sheet.right + _joined(sheet) for sheet in sheets if sheet.ground.sheet.roll)
    pages = sum(fewest(sheet) for sheet in sheets if sheet.ground.sheet.pages)
    return (pages, len(sheets), round(stock, 3), rolls, min(used, default=0.0), sum(used))


def _joined(filling: Filling) -> float:
    kind = filling.ground.sheet
    if kind.window is None:
        return 0.0
    return CROSSED * crossed(filling.placed, kind.window, even=kind.even)
