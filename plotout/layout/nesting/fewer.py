"""Lays cards on fewer sheets: those of two or three sheets are laid anew, until one is empty.

Either all together, or a card of the emptiest sheet goes to another one, perhaps for a smaller one.

A lay is taken for better the more unequally its sheets are filled: the emptiest one is then the
next to be done without (as in bin packing: E. Falkenauer 1996). A slightly worse one is taken at
first, so that the search does not end in the nearest good lay (threshold accepting: G. Dueck and
T. Scheuer 1990).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

import numpy as np

from plotout.layout.nesting.filling import Filling, Ground, Rule, Turned
from plotout.layout.nesting.limit import Limit, OutOfTimeError

CARDS_PER_SECOND = 800.0
"""About as many as a quiet processor lays, so that the same input gives the same lay there."""

_Trial = tuple[list[int], list[tuple[list[str], int]]]
"""The sheets that are laid anew, and parts of their cards with the most sheets for each."""

_EXCHANGES = 0.6  # share of the trials
_WORSE = 0.02
_SPREAD = 0.6  # share by which a card's rank is changed at random
_HELD = (0.0, 0.3, 0.6, 1.0)  # shares of the cards that may be turned in fewer ways


def on_fewer(
    sheets: Sequence[Filling],
    turned: Mapping[str, Turned],
    ground: Ground,
    limit: Limit,
    seed: int,
    tell: Callable[[float], None],
    most: int,
) -> Iterator[list[Filling]]:
    """Yield lays of the sheets' cards on at most as many sheets of the same kind.

    turned: the cards by their ids. most: how many cards are laid, each as often as that happens.
    Raises OutOfTimeError when the time is over.
    """
    rng = np.random.default_rng(seed)
    now = list(sheets)
    fitting = {card: _fitting(shapes, ground) for card, shapes in turned.items()}
    laid = 0
    while laid < most and len(now) > 1:
        tell(max(laid / most, limit.share))
        some, parts = _exchanged(now, rng) if rng.random() < _EXCHANGES else _mixed(now, rng)
        laid += sum(len(part) for part, _ in parts)
        found: list[Filling] = []
        for part, sheets_for in parts:
            rule = Rule(int(rng.integers(2)))
            cards = _ordered([fitting[card] for card in part], rng)
            more = _laid(cards, ground, rule, sheets_for, limit)
            if more is None:
                break
            found += more
        else:
            old = [now[place] for place in some]
            worse = 1.0 - _WORSE * (1.0 - laid / most)
            if len(found) < len(old) or _unequal(found) >= worse * _unequal(old):
                now = [filling for place, filling in enumerate(now) if place not in some] + found
                yield now


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


def _exchanged(now: Sequence[Filling], rng: np.random.Generator) -> _Trial:
    """Return the emptiest sheet and another, and their cards with one or two of them exchanged."""
    emptiest = _emptiest(now)
    other = int(rng.choice([place for place in range(len(now)) if place != emptiest]))
    few, many = ([placed.card.id for placed in now[place].placed] for place in (emptiest, other))
    many.append(few.pop(int(rng.integers(len(few)))))
    if rng.random() < 0.5:
        few.append(many.pop(int(rng.integers(len(many) - 1))))
    return [other, emptiest], [(many, 1), (few, 1)] if few else [(many, 1)]


def _mixed(now: Sequence[Filling], rng: np.random.Generator) -> _Trial:
    """Return two or three sheets, in half of all trials with the emptiest one, and their cards."""
    count = min(int(rng.integers(2, 4)), len(now))
    some = [int(place) for place in rng.permutation(len(now))[:count]]
    emptiest = _emptiest(now)
    if rng.random() < 0.5 and emptiest not in some:
        some[0] = emptiest
    return some, [([placed.card.id for place in some for placed in now[place].placed], count)]


def _emptiest(now: Sequence[Filling]) -> int:
    return min(range(len(now)), key=lambda place: now[place].area)


def _ordered(cards: Sequence[Turned], rng: np.random.Generator) -> list[Turned]:
    """Return the cards in another order, the large ones still early, some with fewer turns."""
    by_area = rng.random() < 0.5
    sizes = np.array([card[0].area if by_area else max(card[0].size) ** 2 for card in cards])
    rank = sizes * rng.uniform(1.0 - _SPREAD, 1.0 + _SPREAD, len(cards))
    held = rng.random(len(cards)) < rng.choice(_HELD)
    angle = 90.0 * rng.integers(2) if rng.random() < 0.5 else None
    return [
        _fewer_turns(cards[place], angle, rng) if held[place] else cards[place]
        for place in np.argsort(-rank, kind="stable")
    ]


def _fewer_turns(turned: Turned, angle: float | None, rng: np.random.Generator) -> Turned:
    """Return a card's turns by an angle and its opposite, or one turn at random."""
    return (turned[int(rng.integers(len(turned)))],) if angle is None else held_in(turned, angle)


def held_in(turned: Turned, angle: float) -> Turned:
    """Return only the turns by `angle` or its opposite, where there are any."""
    some = tuple(shape for shape in turned if shape.angle % 180.0 == angle)
    return some or turned


def _laid(
    order: Sequence[Turned], ground: Ground, rule: Rule, most: int, limit: Limit
) -> list[Filling] | None:
    """Lay cards on at most so many sheets; None if they need more."""
    sheets: list[Filling] = []
    for turned in order:
        if limit.over:
            raise OutOfTimeError
        if any(sheet.lay(turned, rule) for sheet in sheets):
            continue
        new = Filling(ground)
        if len(sheets) == most or not new.lay(turned, rule):
            return None
        sheets.append(new)
    return sheets


def _unequal(sheets: Sequence[Filling]) -> float:
    return sum(filling.area**2 for filling in sheets)
