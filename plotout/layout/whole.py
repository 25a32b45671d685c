"""A whole lay, with what it is of."""

from __future__ import annotations

from dataclasses import dataclass

from plotout.flow import Sheet
from plotout.layout.stock import Stock


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """Sheets as laid, the stock that they are of, and the gap between their cards, mm.

    whole: the whole lay is there, not one sheet of it.
    """

    sheets: tuple[Sheet, ...]
    stock: Stock
    gap: float
    whole: bool = True
