"""A lay as finished sheets, checked."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from plotout.errors import PlotoutError
from plotout.layout.nesting.check import faults
from plotout.layout.nesting.filling import Filling
from plotout.layout.nesting.pack import neighbours
from plotout.layout.registration.corner_marks import corner_marks
from plotout.layout.stock.model import MARK_ROOM, Stock
from plotout.model import Sheet


def wrong(fillings: Sequence[Filling], stock: Stock, gap: float) -> tuple[str, ...]:
    """Return the faults of a lay, in words."""
    return tuple(
        fault
        for filling in fillings
        for fault in faults(filling.placed, filling.ground.free, gap, inside=stock.inside)
    )


def finished(
    fillings: Sequence[Filling], stock: Stock, gap: float, kept: Sequence[Sheet]
) -> tuple[Sheet, ...]:
    """Return the finished sheets, checked; those already begun come first, unchanged."""
    for fault in wrong(fillings, stock, gap):
        raise PlotoutError(
            f"the lay is wrong: {fault}",
            fix="Report this fault of plotout to its makers, with the set.",
        )
    begun = [_gone_on(old, filling, stock) for old, filling in zip(kept, fillings, strict=False)]
    first = 1 + max((sheet.number for sheet in kept), default=0)
    new = neighbours(fillings[len(kept) :])
    return (
        *begun,
        *(_sheet(filling, index, stock) for index, filling in enumerate(new, start=first)),
    )


def _gone_on(old: Sheet, filling: Filling, stock: Stock) -> Sheet:
    """Return a sheet begun earlier with the cards added to it."""
    made = _sheet(filling, old.number, stock)
    if made.width > old.width:
        return made  # a roll, of which more is used
    return replace(made, width=old.width, marks=old.marks)


def _sheet(filling: Filling, number: int, stock: Stock) -> Sheet:
    kind = filling.ground.sheet
    width = _used(filling, stock) if kind.roll else kind.length
    placed = sorted(filling.placed, key=lambda one: one.card.number)
    marks = corner_marks(width, kind) if stock.registration else ()
    return Sheet(
        name=f"sheet {number}",
        number=number,
        width=width,
        height=kind.width,
        placed=tuple(placed),
        marks=marks,
        stock=kind.name,
        outline=kind.outline,
    )


def _used(filling: Filling, stock: Stock) -> float:
    """Return the length of roll used, with its right margin, in whole mm."""
    kind = filling.ground.sheet
    marks = MARK_ROOM if stock.registration else 0.0
    return min(kind.length, float(math.ceil(filling.right + marks + kind.margins[2] - 1e-9)))
