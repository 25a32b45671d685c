"""Laying cards on stock: fewest sheets first, then the largest off-cut."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress

import numpy as np

from plotout.errors import PlotoutError, UserError
from plotout.flow import Card, Sheet
from plotout.layout.check import faults
from plotout.layout.marks import corner_marks, mark_rooms
from plotout.layout.pack import Filling, Ground, Turned, pack
from plotout.layout.shape import shape
from plotout.layout.stock import MARK_ROOM, Stock
from plotout.layout.strip import shorter

Progress = Callable[[float], None]
"""Told the share that is done, 0 to 1."""

TRIALS_PER_SECOND = 3.0
"""So few that the trials end before the time does, and the same input gives the same lay."""


def lay(
    cards: Sequence[Card],
    stock: Stock,
    *,
    gap: float,
    seconds: float = 10.0,
    seed: int = 1,
    progress: Progress | None = None,
) -> tuple[Sheet, ...]:
    """Lay cards on as few sheets as can be found in `seconds`; at 0 one quick lay is made.

    gap: least distance between cards, mm. seed: of the trials. progress: told the share done.
    Ctrl-C (KeyboardInterrupt) ends the search and keeps the best lay so far.
    Raises UserError naming a card that no sheet holds and what it misses by, or those for which
    there are too few sheets.
    """
    if not gap >= 0.0:
        raise UserError(f"a gap of {gap:g} mm can't be kept", fix="Give 0 mm or more.")
    tell = progress or (lambda _share: None)
    turned = [_turned(card, stock) for card in cards]
    grounds = _grounds(turned, stock, gap)
    for each in turned:
        _must_fit(each, stock)
    best = _first(turned, grounds)
    with suppress(KeyboardInterrupt):  # what was found so far is whole
        for sheets in _better(best, turned, grounds, seconds, seed, tell):
            if cost(sheets) < cost(best) and not _wrong(sheets, stock, gap):
                best = sheets
    tell(1.0)
    return _sheets(best, stock, gap)


def _turned(card: Card, stock: Stock) -> Turned:
    angles = sorted({angle for sheet in stock.sheets for angle in sheet.angles})
    return tuple(shape(card, angle, inside=stock.inside) for angle in angles)


def _grounds(turned: Sequence[Turned], stock: Stock, gap: float) -> list[Ground]:
    """Return the kinds of sheet, largest first, each ready for laying."""
    need = sum(each[0].area for each in turned)
    longest = max((max(each[0].size) for each in turned), default=0.0)
    grounds = []
    for sheet in sorted(stock.sheets, key=lambda each: -each.free.area):
        held = mark_rooms(sheet) if stock.registration else ()
        reach = 1.8 * need / sheet.room[1] + 1.5 * longest if sheet.roll else math.inf
        grounds.append(Ground(sheet, gap, held, reach))
    return grounds


def _first(turned: Sequence[Turned], grounds: Sequence[Ground]) -> list[Filling]:
    order = sorted(turned, key=lambda each: -each[0].area)
    sheets, over = pack(order, grounds)
    if over:
        names = ", ".join(f"'{each[0].card.title}'" for each in over)
        raise UserError(
            f"there are too few sheets: no place is left for {names}",
            fix="Add stock, or make the gap less.",
        )
    return sheets


def _better(
    first: list[Filling],
    turned: Sequence[Turned],
    grounds: Sequence[Ground],
    seconds: float,
    seed: int,
    tell: Progress,
) -> Iterator[list[Filling]]:
    """Yield other lays of all cards while the time lasts."""
    if seconds < 1.0:
        return
    if len(first) == 1 and first[0].ground.sheet.roll:
        for filling in shorter(turned, first[0].ground, seconds, seed, tell):
            yield [filling]
        return
    yield from _other_orders(turned, grounds, seconds, seed, tell)


def _other_orders(
    turned: Sequence[Turned], grounds: Sequence[Ground], seconds: float, seed: int, tell: Progress
) -> Iterator[list[Filling]]:
    """Yield lays of the cards in other orders, the large ones still among the first."""
    rng = np.random.default_rng(seed)
    begun = time.monotonic()
    trials = int(seconds * TRIALS_PER_SECOND)
    sizes = np.array([[each[0].area, max(each[0].size) ** 2] for each in turned])
    for nth in range(trials):
        spent = time.monotonic() - begun
        if spent > seconds:
            return
        tell(max(nth / trials, spent / seconds))
        rank = sizes[:, nth % 2] * rng.uniform(0.6, 1.4, len(turned))
        sheets, over = pack([turned[i] for i in np.argsort(-rank, kind="stable")], grounds)
        if not over:
            yield sheets


def cost(sheets: Sequence[Filling]) -> tuple[float, ...]:
    """Return what is to be as little as can be: sheets, stock begun, then length of it used."""
    stock = sum(sheet.ground.free.area for sheet in sheets if not sheet.ground.sheet.roll)
    used = [sheet.right for sheet in sheets]
    rolls = sum(sheet.right for sheet in sheets if sheet.ground.sheet.roll)
    return (len(sheets), round(stock, 3), rolls, min(used, default=0.0), sum(used))


def _must_fit(turned: Turned, stock: Stock) -> None:
    """Raise UserError when no sheet is large enough for the card, saying by how much."""
    least = None
    for sheet in stock.sheets:
        for each in turned:
            if each.angle not in sheet.angles:
                continue
            over = (each.size[0] - sheet.room[0], each.size[1] - sheet.room[1])
            if max(over) <= 1e-6:
                return
            if least is None or max(over) < max(least[0]):
                least = (over, each.size, sheet)
    assert least is not None
    over, size, sheet = least
    ways = [f"{o:.1f} mm in {w}" for o, w in zip(over, ("length", "width"), strict=True) if o > 0.0]
    raise UserError(
        f"card '{turned[0].card.title}' is {size[0]:.1f} x {size[1]:.1f} mm and misses "
        f"{sheet.name} ({sheet.room[0]:.1f} x {sheet.room[1]:.1f} mm within its margins) "
        f"by {' and '.join(ways)}",
        fix="Split the piece in the set file, or take larger stock.",
    )


def _wrong(fillings: Sequence[Filling], stock: Stock, gap: float) -> tuple[str, ...]:
    """Return what is wrong with a lay, in words."""
    return tuple(
        fault
        for each in fillings
        for fault in faults(each.placed, each.ground.free, gap, inside=stock.inside)
    )


def _sheets(fillings: Sequence[Filling], stock: Stock, gap: float) -> tuple[Sheet, ...]:
    """Return the finished sheets, the one with the set's first card first, and check them."""
    for fault in _wrong(fillings, stock, gap):
        raise PlotoutError(
            f"the lay is wrong: {fault}",
            fix="This is a fault of plotout: tell its makers, with the set.",
        )
    ranked = sorted(fillings, key=lambda each: min(p.card.number for p in each.placed))
    return tuple(_sheet(each, nth, stock) for nth, each in enumerate(ranked, start=1))


def _sheet(filling: Filling, number: int, stock: Stock) -> Sheet:
    kind = filling.ground.sheet
    width = _used(filling, stock) if kind.roll else kind.length
    placed = sorted(filling.placed, key=lambda each: each.card.number)
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
    """Return the length of roll that is used, its right margin included, in whole mm."""
    kind = filling.ground.sheet
    marks = MARK_ROOM if stock.registration else 0.0
    return min(kind.length, float(math.ceil(filling.right + marks + kind.margins[2] - 1e-9)))
