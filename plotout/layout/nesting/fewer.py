"""Lays cards on fewer sheets: those of two or three sheets are laid anew, until one is empty.

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

CARDS_PER_SECOND = 400.0
"""So few are laid that the trials end before the time does: the same input gives the same lay."""

_WORSE = 0.02
_SPREAD = 0.6  # share by which a card's rank is changed at random
_HELD = (0.0, 0.0, 0.3, 1.0)  # shares of the cards that are kept in one direction


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

    turned: the cards by their ids. most: how often one of them is laid. Raises OutOfTimeError when
    the time is over.
    """
    rng = np.random.default_rng(seed)
    now = list(sheets)
    laid = 0
    while laid < most and len(now) > 1:
        tell(max(laid / most, limit.share))
        some = _some(now, rng)
        old = [now[place] for place in some]
        cards = [turned[placed.card.id] for filling in old for placed in filling.placed]
        laid += len(cards)
        found = _laid(_ordered(cards, rng), ground, Rule(int(rng.integers(2))), len(old), limit)
        if found is None:
            continue
        worse = 1.0 - _WORSE * (1.0 - laid / most)
        if len(found) < len(old) or _unequal(found) >= worse * _unequal(old):
            now = [filling for place, filling in enumerate(now) if place not in some] + found
            yield now


def _some(sheets: Sequence[Filling], rng: np.random.Generator) -> list[int]:
    """Return two or three sheets, in half of all trials with the emptiest one."""
    count = min(int(rng.integers(2, 4)), len(sheets))
    some = [int(place) for place in rng.permutation(len(sheets))[:count]]
    emptiest = min(range(len(sheets)), key=lambda place: sheets[place].area)
    if rng.random() < 0.5 and emptiest not in some:
        some[0] = emptiest
    return sorted(some)


def _ordered(cards: Sequence[Turned], rng: np.random.Generator) -> list[Turned]:
    """Return the cards in another order, the large ones still early, some in one direction only."""
    by_area = rng.random() < 0.5
    sizes = np.array([card[0].area if by_area else max(card[0].size) ** 2 for card in cards])
    rank = sizes * rng.uniform(1.0 - _SPREAD, 1.0 + _SPREAD, len(cards))
    held = rng.random(len(cards)) < rng.choice(_HELD)
    angle = 90.0 * rng.integers(2)
    return [
        held_in(cards[place], angle) if held[place] else cards[place]
        for place in np.argsort(-rank, kind="stable")
    ]


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
