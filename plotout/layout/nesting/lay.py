"""Lays cards on stock: fewest sheets first, off-cuts before others, then the largest off-cut."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from functools import partial
from itertools import product

import numpy as np

from plotout.errors import UserError
from plotout.layout.nesting.fewer import CARDS_PER_SECOND, on_fewer
from plotout.layout.nesting.filling import Filling, Rule, Turned
from plotout.layout.nesting.finished import finished, wrong
from plotout.layout.nesting.limit import Limit, OutOfTimeError
from plotout.layout.nesting.paged import fewest, paged
from plotout.layout.nesting.prepared import Task, prepared, what_would_hold
from plotout.layout.nesting.smaller import on_smaller
from plotout.layout.nesting.strip import shorter
from plotout.layout.paper.frames import crossed
from plotout.layout.stock.model import Stock
from plotout.model import Card, Sheet

Progress = Callable[[float], None]
"""Called with the share done, 0 to 1."""

TRIALS_PER_SECOND = 3.0
"""So few cards that the trials end before the time does; the same input gives the same lay."""

_HELD = (0.0, 0.3, 1.0, 0.7)
"""Share of the cards kept in one direction, trial by trial."""

_MOST_OFF_CUTS = 8
"""Kinds of off-cut with which a quick lay begins; that takes as many times as long."""

CROSSED = 100.0
"""mm of roll worth spending to keep a joint of two frames out of a card."""


def cost(sheets: Sequence[Filling]) -> tuple[float, ...]:
    """Return what to minimise: pages printed, sheets but for off-cuts, all sheets, stock begun,
    then the length of it used.

    On a roll worked in frames, a joint through a card counts as additional length.
    """
    stock = sum(sheet.ground.free.area for sheet in sheets if not sheet.ground.sheet.roll)
    used = [sheet.right for sheet in sheets]
    rolls = sum(sheet.right + _joined(sheet) for sheet in sheets if sheet.ground.sheet.roll)
    pages = sum(fewest(sheet) for sheet in sheets if sheet.ground.sheet.pages)
    new = sum(not sheet.ground.sheet.off_cut for sheet in sheets)
    return (pages, new, len(sheets), round(stock, 3), rolls, min(used, default=0.0), sum(used))


def _joined(filling: Filling) -> float:
    kind = filling.ground.sheet
    if kind.window is None:
        return 0.0
    return CROSSED * crossed(filling.placed, kind.window, even=kind.even)


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
    progress = progress or (lambda _share: None)
    task = prepared(cards, stock, gap, kept)
    best = _first(task, limit)
    with suppress(KeyboardInterrupt, OutOfTimeError):  # the best lay so far is complete
        for sheets in _better(best, task, limit, seed, progress):
            if cost(sheets) < cost(best) and not wrong(sheets, stock, gap):
                best = sheets
    progress(1.0)
    return finished(on_smaller(best, task.grounds, task.turned), stock, gap, kept)


def _first(task: Task, limit: Limit) -> list[Filling]:
    """Return a quick lay, large cards first; by one rule where a lay for pages follows.

    Where there are off-cuts, those that save a sheet are begun first: none, one, two and so on.
    """
    order = sorted(task.turned, key=lambda shapes: -shapes[0].area)
    paged_too = any(ground.sheet.pages for ground in task.grounds) and not task.kept
    tried = [task.pack(order, Rule.COLUMNS, limit, whole=True)]
    others = [(Rule.ROWS, 0)] if tried[0][1] or not paged_too else []
    others += product(Rule, range(1, min(task.off_cuts, _MOST_OFF_CUTS) + 1))
    for rule, off_cuts in others:
        try:
            tried.append(task.pack(order, rule, limit, off_cuts=off_cuts))
        except (KeyboardInterrupt, OutOfTimeError) as reason:
            limit.stopped = limit.stopped or isinstance(reason, KeyboardInterrupt)
            break
    whole = [sheets for sheets, over in tried if not over]
    if not whole:
        least = min((over for _, over in tried), key=len)
        names = ", ".join(f"'{shapes[0].card.title}'" for shapes in least)
        raise UserError(
            f"there are too few sheets: no room is left for {names}",
            fix=what_would_hold(least, task),
        )
    return min(whole, key=cost)


def _better(
    first: list[Filling], task: Task, limit: Limit, seed: int, progress: Progress
) -> Iterator[list[Filling]]:
    """Yield other lays of all cards while the time lasts."""
    if limit.over:
        return
    seconds = min(limit.seconds, limit.left)
    if first and first[0].ground.sheet.pages and not task.kept:
        yield from _on_few_pages(first, task, seconds, seed, progress)
        return
    if limit.seconds < 1.0 or not task.turned:
        return
    if len(first) == 1 and first[0].ground.sheet.roll and not task.kept:
        for filling in shorter(task.turned, first[0].ground, seconds, seed, progress):
            yield [filling]
        return
    one_kind = len(task.grounds) == 1 and not first[0].ground.sheet.roll
    if len(first) > 1 and one_kind and not task.kept:
        most = int(limit.seconds * CARDS_PER_SECOND)
        yield from on_fewer(first, task.turned, task.grounds[0], limit, seed, progress, most)
        return
    yield from _other_orders(task, limit, seed, progress)


def _on_few_pages(
    first: list[Filling], task: Task, seconds: float, seed: int, progress: Progress
) -> Iterator[list[Filling]]:
    """Yield lays in which the cards of each sheet touch fewer pages of those it is printed on."""
    by_id = {shapes[0].card.id: shapes for shapes in task.turned}
    best = list(first)
    for at, filling in enumerate(first):
        cards = [by_id[placed.card.id] for placed in filling.placed]
        done, share = at / len(first), 1.0 / len(first)
        for_part = partial(_share_of, progress, done, share)
        for found in paged(cards, filling.ground, seconds * share, seed, for_part):
            if fewest(found) < fewest(best[at]):
                best[at] = found
                yield list(best)


def _share_of(progress: Progress, done: float, part: float, share: float) -> None:
    progress(done + part * share)


def _held_in(turned: Turned, angle: float) -> Turned:
    """Return only the turns by `angle` or its opposite, where there are any."""
    some = tuple(shape for shape in turned if shape.angle % 180.0 == angle)
    return some or turned


def _other_orders(
    task: Task, limit: Limit, seed: int, progress: Progress
) -> Iterator[list[Filling]]:
    """Yield lays of the cards in other orders, with the large ones still early.

    Raises OutOfTimeError when the time is over before all are tried.
    """
    rng = np.random.default_rng(seed)
    trials, begun_first = int(limit.seconds * TRIALS_PER_SECOND), task.off_cuts + 1
    sizes = np.array([[shapes[0].area, max(shapes[0].size) ** 2] for shapes in task.turned])
    for index in range(trials):
        progress(max(index / trials, limit.share))
        rank = sizes[:, index // 8 % 2] * rng.uniform(0.6, 1.4, len(sizes))
        some = rng.random(len(sizes)) < _HELD[index % len(_HELD)]
        order = [
            _held_in(task.turned[i], 90.0 * (index // 4 % 2)) if some[i] else task.turned[i]
            for i in np.argsort(-rank, kind="stable")
        ]
        off_cuts = index // 16 % begun_first
        sheets, over = task.pack(order, Rule(index // 2 % 2), limit, off_cuts=off_cuts)
        if not over:
            yield sheets
