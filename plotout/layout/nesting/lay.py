"""Lays cards on stock: fewest sheets first, then the largest off-cut."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from plotout.errors import PlotoutError, UserError
from plotout.layout.nesting.check import faults
from plotout.layout.nesting.fewer import CARDS_PER_SECOND, held_in, on_fewer
from plotout.layout.nesting.filling import Filling, Ground, Rule, Turned
from plotout.layout.nesting.limit import Limit, OutOfTimeError
from plotout.layout.nesting.pack import neighbours, pack
from plotout.layout.nesting.paged import fewest, paged
from plotout.layout.nesting.shape import shape
from plotout.layout.nesting.smaller import on_smaller
from plotout.layout.nesting.strip import shorter
from plotout.layout.paper.frames import crossed
from plotout.layout.registration.corner_marks import corner_marks, mark_rooms
from plotout.layout.stock.model import MARK_ROOM, Stock, StockSheet
from plotout.model import Card, Placed, Sheet

Progress = Callable[[float], None]
"""Called with the share done, 0 to 1."""

TRIALS_PER_SECOND = 3.0
"""So few cards that the trials end before the time does; the same input gives the same lay."""

CROSSED = 100.0
"""mm of roll worth spending to keep a joint of two frames out of a card."""

_HELD = (0.0, 0.3, 1.0, 0.7)
"""Share of the cards kept in one direction, trial by trial."""


@dataclass(frozen=True, eq=False)
class _Task:
    """Cards prepared for laying. kept: sheets with cards that stay in place."""

    turned: tuple[Turned, ...]
    grounds: tuple[Ground, ...]
    stock: Stock
    gap: float
    kept: tuple[tuple[Ground, tuple[Placed, ...]], ...] = ()

    def pack(
        self, order: Sequence[Turned], rule: Rule, limit: Limit, *, whole: bool = False
    ) -> tuple[list[Filling], list[Turned]]:
        """Lay the cards in this order; see `pack.pack`."""
        begun = [
            Filling.begun(ground, placed, inside=self.stock.inside) for ground, placed in self.kept
        ]
        return pack(order, self.grounds, begun, rule, limit, whole=whole)


def lay(
    cards: Sequence[Card],
    stock: Stock,
    *,
    gap: float,
    seconds: float = 10.0,
    seed: int = 1,
    progress: Progress | None = None,
    kept: Sequence[Sheet] = (),
) -> tuple[Sheet, ...]:
    """Lay cards on as few sheets as can be found in `seconds`, from now on; 0 gives a quick lay.

    gap: least distance between cards, mm. seed: of the trials. progress: called with the share
    done. kept: sheets of an earlier lay whose cards stay in place; `cards` are laid in between.
    Ctrl-C (KeyboardInterrupt) ends the search and keeps the best lay so far; where there is none
    yet, and where the time is too short for one, the rest of the cards are laid in haste.
    Raises UserError naming a card that no sheet holds and the shortfall, or those for which there
    are too few sheets.
    """
    if not gap >= 0.0:
        raise UserError(f"a gap of {gap:g} mm can't be kept", fix="Give 0 mm or more.")
    limit = Limit(seconds)
    gap = round(gap, 6)
    tell = progress or (lambda _share: None)
    turned = tuple(_turned(card, stock) for card in cards)
    for shapes in turned:
        _must_fit(shapes, stock)
    begun = [stock.kind_of(sheet) for sheet in kept]
    grounds = _grounds(turned, stock, gap, max((sheet.width for sheet in kept), default=0.0))
    by_kind = {id(ground.sheet): ground for ground in grounds}
    task = _Task(
        turned,
        tuple(_fewer(ground, begun) for ground in grounds),
        stock,
        gap,
        tuple((by_kind[id(kind)], sheet.placed) for kind, sheet in zip(begun, kept, strict=True)),
    )
    best = _first(task, limit)
    with suppress(KeyboardInterrupt, OutOfTimeError):  # the best lay so far is complete
        for sheets in _better(best, task, limit, seed, tell):
            if cost(sheets) < cost(best) and not _wrong(sheets, stock, gap):
                best = sheets
    tell(1.0)
    return _sheets(on_smaller(best, task.grounds, turned), stock, gap, kept)


def _turned(card: Card, stock: Stock) -> Turned:
    angles = sorted({angle for sheet in stock.sheets for angle in sheet.angles})
    return tuple(shape(card, angle, inside=stock.inside) for angle in angles)


def _grounds(turned: Sequence[Turned], stock: Stock, gap: float, used: float = 0.0) -> list[Ground]:
    """Return the kinds of sheet prepared, largest first. used: mm of a roll already used."""
    need = sum(shapes[0].area for shapes in turned)
    longest = max((max(shapes[0].size) for shapes in turned), default=0.0)
    grounds = []
    for sheet in sorted(stock.sheets, key=lambda one: -one.free.area):
        held = mark_rooms(sheet) if stock.registration else ()
        reach = math.inf
        if sheet.roll:
            reach = used + 1.8 * need / sheet.room[1] + 1.5 * longest + 2.0 * MARK_ROOM
        grounds.append(Ground(sheet, gap, held, reach))
    return grounds


def _fewer(ground: Ground, begun: Sequence[StockSheet]) -> Ground:
    """Return the ground with the sheets already begun subtracted from its count."""
    kind = ground.sheet
    used = sum(one is kind for one in begun)
    if kind.count is None or not used:
        return ground
    return replace(ground, sheet=replace(kind, count=max(0, kind.count - used)))


def _first(task: _Task, limit: Limit) -> list[Filling]:
    """Return a quick lay, large cards first; by one rule where a lay for pages follows."""
    order = sorted(task.turned, key=lambda shapes: -shapes[0].area)
    paged_too = any(ground.sheet.pages for ground in task.grounds) and not task.kept
    tried = [task.pack(order, Rule.COLUMNS, limit, whole=True)]
    if tried[0][1] or not paged_too:
        try:
            tried.append(task.pack(order, Rule.ROWS, limit))
        except (KeyboardInterrupt, OutOfTimeError) as reason:
            limit.stopped = limit.stopped or isinstance(reason, KeyboardInterrupt)
    whole = [sheets for sheets, over in tried if not over]
    if not whole:
        least = min((over for _, over in tried), key=len)
        names = ", ".join(f"'{shapes[0].card.title}'" for shapes in least)
        raise UserError(
            f"there are too few sheets: no room is left for {names}", fix=_more(least, task)
        )
    return min(whole, key=cost)


def _more(over: Sequence[Turned], task: _Task) -> str:
    """Return what would make room for the cards left over: sheets that can hold them."""
    holding: list[StockSheet] = []
    for shapes in over:
        found = [ground.sheet for ground in task.grounds if Filling(ground).lay(shapes)]
        if not found:
            title, (wide, tall) = shapes[0].card.title, shapes[0].size
            return (
                f"Use other stock: even an empty sheet of this one does not hold '{title}', "
                f"{wide:.0f} x {tall:.0f} mm."
            )
        holding += found
    kinds = " or ".join(
        dict.fromkeys(
            f"'{kind.name}' ({kind.length:.0f} x {kind.width:.0f} mm)" for kind in holding
        )
    )
    return f"Add sheets that can hold them: {kinds}."


def _better(
    first: list[Filling], task: _Task, limit: Limit, seed: int, tell: Progress
) -> Iterator[list[Filling]]:
    """Yield other lays of all cards while the time lasts."""
    if limit.over:
        return
    seconds = min(limit.seconds, limit.left)
    if first and first[0].ground.sheet.pages and not task.kept:
        yield from _on_few_pages(first, task, seconds, seed, tell)
        return
    if limit.seconds < 1.0 or not task.turned:
        return
    if len(first) == 1 and first[0].ground.sheet.roll and not task.kept:
        for filling in shorter(task.turned, first[0].ground, seconds, seed, tell):
            yield [filling]
        return
    one_kind = len(task.grounds) == 1 and not first[0].ground.sheet.roll
    if len(first) > 1 and one_kind and not task.kept:
        by_id = {shapes[0].card.id: shapes for shapes in task.turned}
        most = int(limit.seconds * CARDS_PER_SECOND)
        yield from on_fewer(first, by_id, task.grounds[0], limit, seed, tell, most)
        return
    yield from _other_orders(task, limit, seed, tell)


def _on_few_pages(
    first: list[Filling], task: _Task, seconds: float, seed: int, tell: Progress
) -> Iterator[list[Filling]]:
    """Yield lays in which the cards of each sheet touch fewer pages of those it is printed on."""
    by_id = {shapes[0].card.id: shapes for shapes in task.turned}
    best = list(first)
    for at, filling in enumerate(first):
        cards = [by_id[placed.card.id] for placed in filling.placed]
        done, share = at / len(first), 1.0 / len(first)
        told = partial(_told_part, tell, done, share)
        for found in paged(cards, filling.ground, seconds * share, seed, told):
            if fewest(found) < fewest(best[at]):
                best[at] = found
                yield list(best)


def _told_part(tell: Progress, done: float, part: float, share: float) -> None:
    tell(done + part * share)


def _other_orders(task: _Task, limit: Limit, seed: int, tell: Progress) -> Iterator[list[Filling]]:
    """Yield lays of the cards in other orders, with the large ones still early.

    Raises OutOfTimeError when the time is over before all are tried.
    """
    rng = np.random.default_rng(seed)
    trials = int(limit.seconds * TRIALS_PER_SECOND)
    sizes = np.array([[shapes[0].area, max(shapes[0].size) ** 2] for shapes in task.turned])
    for index in range(trials):
        tell(max(index / trials, limit.share))
        rank = sizes[:, index // 8 % 2] * rng.uniform(0.6, 1.4, len(sizes))
        some = rng.random(len(sizes)) < _HELD[index % len(_HELD)]
        order = [
            held_in(task.turned[i], 90.0 * (index // 4 % 2)) if some[i] else task.turned[i]
            for i in np.argsort(-rank, kind="stable")
        ]
        sheets, over = task.pack(order, Rule(index // 2 % 2), limit)
        if not over:
            yield sheets


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


def _must_fit(turned: Turned, stock: Stock) -> None:
    """Raise UserError, with the shortfall, when no sheet is large enough for the card."""
    least = None
    for sheet in stock.sheets:
        for shapes in turned:
            if shapes.angle not in sheet.angles:
                continue
            over = (shapes.size[0] - sheet.room[0], shapes.size[1] - sheet.room[1])
            if max(over) <= 1e-6:
                return
            if least is None or max(over) < max(least[0]):
                least = (over, shapes.size, sheet)
    assert least is not None
    over, size, sheet = least
    ways = [f"{o:.1f} mm in {w}" for o, w in zip(over, ("length", "width"), strict=True) if o > 0.0]
    raise UserError(
        f"card '{turned[0].card.title}', {size[0]:.1f} x {size[1]:.1f} mm, is too large for "
        f"{sheet.name} ({sheet.room[0]:.1f} x {sheet.room[1]:.1f} mm within its margins) "
        f"by {' and '.join(ways)}",
        fix="Split the piece in the set file, or use larger stock.",
    )


def _wrong(fillings: Sequence[Filling], stock: Stock, gap: float) -> tuple[str, ...]:
    """Return the faults of a lay, in words."""
    return tuple(
        fault
        for filling in fillings
        for fault in faults(filling.placed, filling.ground.free, gap, inside=stock.inside)
    )


def _sheets(
    fillings: Sequence[Filling], stock: Stock, gap: float, kept: Sequence[Sheet]
) -> tuple[Sheet, ...]:
    """Return the finished sheets, checked; those already begun come first, unchanged."""
    for fault in _wrong(fillings, stock, gap):
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
