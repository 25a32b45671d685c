"""Finds a short path through strokes with fixed ends."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.strokes import FloatArray
from plotout.machine import Motion
from plotout.route.budget import Budget
from plotout.route.cost import costs
from plotout.route.exact import MOST

if TYPE_CHECKING:
    from plotout.route.ring import Net

Ints = NDArray[np.int64]

_KICKS, _KICKS_FEW, _ENOUGH = 2, 8, 1_000
"""Kicks per stroke in the first cooling; if that is not enough, up to so many per stroke until it
is: few strokes take little time, and a bad part counts for more. Every later one is twice as long.
"""
_COARSE = 300
"""Kicks that are enough for fragments, as `_ENOUGH` for strokes."""
_HOT = 1.0
"""How much worse a kick may leave the path at first, in mean travels."""


def shortest(
    ends: FloatArray,
    start: FloatArray,
    beyond: FloatArray,
    motion: Motion | None,
    budget: Budget,
    seed: int,
) -> tuple[Ints, NDArray[np.bool_]]:
    """Return the order of the strokes, and which of them are worked in reverse.

    ends: (n, 2, 2), mm: their starts and ends. start: (2,). beyond: (n, 2) cost of going on from
    either end once all is done. motion: if given, travel is weighed by its time, else by distance.
    """
    from plotout.route.cooling import Coolings
    from plotout.route.net import fixed_net, strokes_of
    from plotout.route.regroup import regrouped

    net, usual = fixed_net(ends, start, beyond, motion), usual_steps(len(ends))
    ring, more = _first_ring(net, motion, budget, seed), True
    coolings = Coolings(budget, len(ends), usual, motion, seed)
    while more:
        ring, _, more = coolings.next(net, ring, _HOT)
        ring, seed = regrouped(ring, net, motion, budget, seed), seed + 1
    return strokes_of(ring, ends)


def usual_steps(strokes: int, enough: int = _ENOUGH) -> int:
    """Return how many kicks are worthwhile for so many strokes; none for a few.

    enough: so many suffice for those that get more than the usual number each.
    """
    if strokes <= MOST:
        return 0
    return max(_KICKS * strokes, min(_KICKS_FEW * strokes, enough))


def _first_ring(net: Net, motion: Motion | None, budget: Budget, seed: int) -> Ints:
    """Return a first ring: fragments of near nodes, ordered and turned as if they were strokes.

    These are ordered in the same way, from longer fragments (multilevel search: C. Walshaw 2002).
    """
    from plotout.route.cooling import Coolings
    from plotout.route.fragments import fragments
    from plotout.route.held import held_between

    nodes, first = fragments(net)
    parts = held_between(np.split(nodes, first[1:-1]), net, motion)
    if parts.strokes > 1:
        own = Budget(None, None, parts.strokes)
        ring = _first_ring(parts.net, motion, own, seed)
        usual = usual_steps(parts.strokes, _COARSE)
        ring, _, _ = Coolings(own, parts.strokes, usual, motion, seed).next(parts.net, ring, _HOT)
        budget.stopped |= own.stopped
        return parts.whole(ring)
    ring = parts.in_order()
    back = np.concatenate([ring[:1], ring[-2:0:-1], ring[-1:]])
    whole = costs(net.at[-2], parts.ends[0], motion) + parts.net.beyond[back[1:-1]]
    return parts.whole(ring if whole[0] <= whole[1] else back)
