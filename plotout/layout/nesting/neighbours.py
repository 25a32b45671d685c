"""Which sheet comes after which: cards of a piece on neighbouring ones."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import permutations

from plotout.layout.nesting.pack import Filling

_MOST = 7  # sheets of which every order is tried


def neighbours(sheets: Sequence[Filling]) -> list[Filling]:
    """Return the sheets so that cards of one piece lie on sheets as near each other as can be.

    Else by the least number of their cards, which alone counts where there are many sheets.
    """
    ranked = sorted(sheets, key=lambda each: min(p.card.number for p in each.placed))
    if len(ranked) > _MOST:
        return ranked
    pieces = [{placed.card.piece for placed in each.placed} for each in ranked]
    shared = set().union(*pieces)
    shared = {name for name in shared if sum(name in each for each in pieces) > 1}
    if not shared:
        return ranked

    def spread(order: tuple[int, ...]) -> int:
        places = {name: [n for n, k in enumerate(order) if name in pieces[k]] for name in shared}
        return sum(at[-1] - at[0] for at in places.values())

    best = min(permutations(range(len(ranked))), key=lambda order: (spread(order), order))
    return [ranked[k] for k in best]
