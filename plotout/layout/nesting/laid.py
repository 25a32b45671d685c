"""A whole lay with its stock."""

from __future__ import annotations

from dataclasses import dataclass

from plotout.layout.stock.model import Stock
from plotout.model import Sheet


@dataclass(frozen=True, slots=True)
class SplitBy:
    """What pieces are split to fit. window, upright: as in `Stock`."""

    window: tuple[float, float]
    upright: bool


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """Sheets as laid, their stock, and the gap between their cards, mm.

    whole: it is the whole lay, not one sheet of it. split: what the pieces were split to fit, if
    that is not the stock.
    """

    sheets: tuple[Sheet, ...]
    stock: Stock
    gap: float
    whole: bool = True
    split: SplitBy | None = None
