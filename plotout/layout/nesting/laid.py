"""A whole lay, with what it is of."""

from __future__ import annotations

from dataclasses import dataclass

from plotout.layout.stock.model import Stock
from plotout.model import Sheet


@dataclass(frozen=True, slots=True)
class SplitBy:
    """What pieces are split to fit. window, upright: as of `Stock`."""

    window: tuple[float, float]
    upright: bool


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """Sheets as laid, the stock that they are of, and the gap between their cards, mm.

    whole: the whole lay is there, not one sheet of it. split: by what the cards' pieces were split,
    where that is not the stock.
    """

    sheets: tuple[Sheet, ...]
    stock: Stock
    gap: float
    whole: bool = True
    split: SplitBy | None = None
