"""Packs cards on sheets, one after another, each on the first sheet that holds it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import permutations

from plotout.layout.nesting.filling import Filling, Ground, Rule, Turned
from plotout.layout.nesting.limit import Limit, OutOfTimeError
from plotout.layout.nesting.shelf import Shelf


def pack(
    order: Sequence[Turned],
    grounds: Sequence[Ground],
    begun: Sequence[Filling] = (),
    rule: Rule = Rule.COLUMNS,
    limit: Limit | None = None,
    *,
    whole: bool = True,
) -> tuple[list[Filling], list[Turned]]:
    """Lay every card in order on the first sheet that holds it, else on a new one.

    grounds: the kinds of sheet in the order in which they are begun, up to their `count`.
    begun: sheets on which some cards already lie; they are filled first.
    limit: once its time is nearly over, or the user has stopped it (Ctrl-C), the rest is laid in
    haste, on the last sheet or new ones; if not `whole`, OutOfTimeError is raised instead.
    Returns the sheets and the cards without a place.
    """
    limit = limit or Limit(0.0)
    lay = _Lay(begun, grounds, rule)
    for index, turned in enumerate(order):
        limit.paced(index)
        hasty = limit.hurries(len(order) - index)
        if hasty and not whole:
            raise OutOfTimeError
        try:
            lay.add(turned, hasty=hasty)
        except KeyboardInterrupt:
            if not whole or limit.stopped:
                raise
            limit.stopped = True
            if not lay.holds(turned):
                lay.add(turned, hasty=True)
    return lay.sheets, lay.over


class _Lay:
    """Sheets being filled. over: cards without a place."""

    def __init__(self, begun: Sequence[Filling], grounds: Sequence[Ground], rule: Rule) -> None:
        self.over: list[Turned] = []
        self._rule = rule
        self._grounds = grounds
        self._left = {id(ground): ground.sheet.count for ground in grounds}
        self._shelf = Shelf(rule)
        for sheet in begun:
            self._shelf.add(sheet)

    @property
    def sheets(self) -> list[Filling]:
        """The sheets, in the order in which they were begun."""
        return self._shelf.sheets

    def add(self, turned: Turned, *, hasty: bool) -> None:
        """Lay a card. hasty: turned in one way only, on the last sheet or a new one, if it can."""
        quickly = turned[:1]
        if hasty and (
            any(sheet.lay(quickly, self._rule) for sheet in self.sheets[-1:])
            or self._begin(quickly)
        ):
            return
        if not (self._shelf.lay(turned) or self._begin(turned)):
            self.over.append(turned)

    def holds(self, turned: Turned) -> bool:
        """Return whether a card lies on one of the sheets."""
        card = turned[0].card
        return any(placed.card is card for sheet in self.sheets for placed in sheet.placed)

    def _begin(self, turned: Turned) -> bool:
        for ground in self._grounds:
            count = self._left[id(ground)]
            if count == 0:
                continue
            new = Filling(ground)
            if new.lay(turned, self._rule):
                self._left[id(ground)] = None if count is None else count - 1
                self._shelf.add(new)
                return True
        return False


_MOST_ORDERED = 7  # the most sheets of which every order is tried


def neighbours(sheets: Sequence[Filling]) -> list[Filling]:
    """Return the sheets in an order that keeps cards of one piece on sheets near each other.

    Ties are ordered by the least number of the sheets' cards, as are all sheets if there are many.
    """
    ranked = sorted(sheets, key=lambda one: min(p.card.number for p in one.placed))
    if len(ranked) > _MOST_ORDERED:
        return ranked
    pieces = [{placed.card.piece for placed in one.placed} for one in ranked]
    shared = set().union(*pieces)
    shared = {name for name in shared if sum(name in piece for piece in pieces) > 1}
    if not shared:
        return ranked

    def spread(order: tuple[int, ...]) -> int:
        places = {name: [n for n, k in enumerate(order) if name in pieces[k]] for name in shared}
        return sum(at[-1] - at[0] for at in places.values())

    best = min(permutations(range(len(ranked))), key=lambda order: (spread(order), order))
    return [ranked[k] for k in best]
