"""Lays cards on fewer sheets: a search over which cards share a sheet.

Cards are exchanged between two sheets, or those of two or three are dealt out anew, and thousands
of trials show which of that can be laid. A lay is taken for better the more unequally its sheets
are filled: the emptiest one is then the next to be done without (as in bin packing: E. Falkenauer
1996). A slightly worse one is taken at first, so that the search does not end in the nearest good
lay (threshold accepting: G. Dueck and T. Scheuer 1990).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from plotout.layout.nesting.filling import Filling, Ground, Rule, Turned
from plotout.layout.nesting.limit import Limit, OutOfTimeError
from plotout.layout.nesting.shape import Shape
from plotout.layout.nesting.trials import Cards, Spot, Trials, Tried, filling
from plotout.parallel import results

CARDS_PER_SECOND = 30_000.0
"""About as many as a quiet processor tries, so that the same input gives the same lay there."""

_SEARCHES = 2  # side by side, whatever the number of processors: the result is the same
_ROUNDS = 10  # after each, a search with more sheets goes on from the other's
_TRIES = 6  # by each rule, for the cards of a sheet
_GIVEN_UP = 100  # tries of the same cards in a round
_SHORTER = 100  # tries of laying the emptiest sheet's cards for the largest off-cut
_MIXED = 0.2  # share of the changes in which sheets are dealt out anew
_ANY = 0.2  # share of those in which cards are exchanged, but not with the emptiest sheet
_WORSE = 0.02
_EXACT = 40  # tries take as long as one in exact places
_BOXY = 0.5  # share of cards that nearly fill their bounds, from which on exact places are tried

_Lay: TypeAlias = tuple[Tried, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Task:
    """What is fixed while sheets are searched. cards: with the shapes that fit an empty sheet."""

    cards: tuple[Turned, ...]
    ground: Ground
    trials: Trials

    def area(self, cards: Sequence[int]) -> float:
        """Return the share of a sheet that cards take up."""
        return float(self.trials.areas[list(cards)].sum())

    def worth(self, lay: _Lay) -> tuple[int, float]:
        """Return what is to be little: sheets, then how equally they are filled."""
        return len(lay), -sum(self.area(sheet.cards) ** 2 for sheet in lay)


@dataclass(frozen=True, slots=True, eq=False)
class _Round:
    """A part of a search. most: cards that it tries. warmth: of its start and its end, 1 to 0."""

    task: _Task
    lay: _Lay
    seed: tuple[int, ...]
    most: int
    warmth: tuple[float, float]
    limit: Limit


def on_fewer(
    sheets: Sequence[Filling],
    turned: Sequence[Turned],
    ground: Ground,
    limit: Limit,
    seed: int,
    progress: Callable[[float], None],
    most: int,
) -> Iterator[list[Filling]]:
    """Yield better lays of the sheets' cards on at most as many sheets of the same kind.

    most: how many cards are tried, each as often as that happens. Raises OutOfTimeError when the
    time is over.
    """
    cards = tuple(_fitting(shapes, ground) for shapes in turned)
    task = _Task(cards, ground, Trials.of(cards, ground))
    every = [shape for shapes in cards for shape in shapes]
    best = tuple(_tried(sheet, cards) for sheet in sheets)
    lays = [best] * _SEARCHES
    for done in range(_ROUNDS):
        if limit.over:
            raise OutOfTimeError
        progress(max(done / _ROUNDS, limit.share))
        warmth = (1.0 - done / _ROUNDS, 1.0 - (done + 1) / _ROUNDS)
        rounds = [
            _Round(task, lay, (seed, done, index), most // _ROUNDS, warmth, limit)
            for index, lay in enumerate(lays)
        ]
        lays = list(results(_searched, rounds, brief=True))
        found = min(lays, key=task.worth)
        if task.worth(found) < task.worth(best):
            best = found
            yield [filling(sheet, every, ground) for sheet in _with_an_off_cut(best, task, every)]
        lays = [best if len(lay) > len(best) else lay for lay in lays]


def _with_an_off_cut(lay: _Lay, task: _Task, every: Sequence[Shape]) -> _Lay:
    """Return the lay with the cards of its emptiest sheet laid as far to the left as was found."""

    def reach(sheet: Tried) -> float:
        return max(x + every[shape].size[0] for _, shape, x, _ in sheet.spots)

    emptiest = min(lay, key=lambda sheet: task.area(sheet.cards))
    state = np.ones(1, dtype=np.uint64)
    tries = [task.trials.lay(emptiest.cards, 1, 1, Rule.COLUMNS, state) for _ in range(_SHORTER)]
    shortest = min((emptiest, *(sheet for found in tries for sheet in found)), key=reach)
    return tuple(shortest if sheet is emptiest else sheet for sheet in lay)


def _fitting(turned: Turned, ground: Ground) -> Turned:
    """Return the turns in which a card fits the empty sheet."""
    wide, tall = ground.sheet.room
    return tuple(
        shape
        for shape in turned
        if shape.angle in ground.angles
        and shape.size[0] <= wide + 1e-6
        and shape.size[1] <= tall + 1e-6
    )


def _tried(sheet: Filling, cards: Sequence[Turned]) -> Tried:
    """Return a sheet that was laid as if in a trial."""
    first = np.cumsum([0, *map(len, cards)]).tolist()
    number = {shapes[0].card.id: card for card, shapes in enumerate(cards)}
    spots: list[Spot] = []
    for placed in sheet.placed:
        card = number[placed.card.id]
        turn = [shape.angle for shape in cards[card]].index(placed.angle)
        low = cards[card][turn].low
        corner = (placed.shift[0] + low[0], placed.shift[1] + low[1])
        spots.append((card, first[card] + turn, *corner))
    return Tried(tuple(spots))


def _searched(part: _Round) -> _Lay:
    """Return the best lay that a part of a search finds, or its own."""
    task, now, best = part.task, part.lay, part.lay
    search = _Search(task, part.seed, part.limit)
    while len(now) > 1 and search.tried < part.most and not part.limit.over:
        warm, cold = part.warmth
        warmth = warm + (cold - warm) * search.tried / part.most
        old, new = search.change(now, 1.0 - _WORSE * warmth)
        if new:
            now = (*(sheet for sheet in now if sheet not in old), *new)
            if task.worth(now) < task.worth(best):
                best = now
    return best


class _Search:
    """Changes of a lay at random. tried: how many cards were."""

    def __init__(self, task: _Task, seed: Sequence[int], limit: Limit) -> None:
        self.tried = 0
        self._limit = limit
        self._task = task
        self._random = np.random.default_rng(seed)
        self._state = self._random.integers(1, 2**63, 1, dtype=np.uint64)
        self._failed: dict[frozenset[int], int] = {}

    def change(self, now: _Lay, least: float) -> tuple[_Lay, _Lay]:
        """Return some sheets and what they become; nothing if that can't be laid.

        least: how much of the inequality of these must be left.
        """
        if self._random.random() < _MIXED:
            return self._dealt_anew(now, least)
        return self._exchanged(now, least)

    def _exchanged(self, now: _Lay, least: float) -> tuple[_Lay, _Lay]:
        """Exchange a card or two of two sheets, mostly with the emptiest one."""
        random = self._random
        places = random.permutation(len(now))[:2].tolist()
        if random.random() > _ANY:
            places[0] = self._emptiest(now)
            places[1] = (places[0] + 1 + int(random.integers(len(now) - 1))) % len(now)
        old = (now[places[0]], now[places[1]])
        few, many = (list(sheet.cards) for sheet in old)
        many.append(few.pop(int(random.integers(len(few)))))
        for chance in (0.6, 0.15):
            if len(many) > 1 and random.random() < chance:
                few.append(many.pop(int(random.integers(len(many) - 1))))
        parts = sorted((few, many), key=self._task.area, reverse=True)
        if not self._unequal(parts, old, least):
            return (), ()
        new: list[Tried] = []
        for part in parts:
            sheet = self._laid(tuple(part))
            if part and sheet is None:
                return (), ()
            new += [sheet] if sheet else []
        return old, tuple(new)

    def _dealt_anew(self, now: _Lay, least: float) -> tuple[_Lay, _Lay]:
        """Deal out the cards of two or three sheets, in half of all trials of the emptiest, too."""
        random = self._random
        count = min(int(random.integers(2, 4)), len(now))
        places = random.permutation(len(now))[:count].tolist()
        emptiest = self._emptiest(now)
        if random.random() < 0.5 and emptiest not in places:
            places[0] = emptiest
        old = tuple(now[place] for place in places)
        cards = [card for sheet in old for card in sheet.cards]
        for trial in range(4):
            if self._limit.over:
                break
            self.tried += _TRIES * len(cards)
            new = self._task.trials.lay(cards, count, _TRIES, Rule(trial % 2), self._state)
            if new and (
                len(new) < count or self._unequal([sheet.cards for sheet in new], old, least)
            ):
                return old, tuple(new)
        return (), ()

    def _unequal(self, new: Sequence[Sequence[int]], old: _Lay, least: float) -> bool:
        area = self._task.area
        before = sum(area(sheet.cards) ** 2 for sheet in old)
        return sum(area(part) ** 2 for part in new) >= least * before

    def _emptiest(self, now: _Lay) -> int:
        return min(range(len(now)), key=lambda place: self._task.area(now[place].cards))

    def _laid(self, cards: Cards) -> Tried | None:
        """Lay cards on one sheet; None if no trial does."""
        key = frozenset(cards)
        if not cards or self._task.area(cards) > 1.0 or self._failed.get(key, 0) >= _GIVEN_UP:
            return None
        first = int(self._random.integers(2))
        for rule in (Rule(first), Rule(1 - first)):
            self.tried += _TRIES * len(cards)
            found = self._task.trials.lay(cards, 1, _TRIES, rule, self._state)
            if found:
                return found[0]
        self._failed[key] = self._failed.get(key, 0) + 2 * _TRIES
        return self._exactly(cards)

    def _exactly(self, cards: Cards) -> Tried | None:
        """Lay cards in exact places, which oblongs may need; None if that is not tried."""
        shapes = [self._task.cards[card] for card in cards]
        if sum(turned[0].boxy for turned in shapes) < _BOXY * len(cards):
            return None
        self.tried += _EXACT * len(cards)
        sheet = Filling(self._task.ground)
        ranks = [-turned[0].area * self._random.uniform(0.4, 1.6) for turned in shapes]
        rule = Rule(int(self._random.integers(2)))
        for place in np.argsort(ranks):
            if not sheet.lay(shapes[place], rule):
                return None
        return _tried(sheet, self._task.cards)
