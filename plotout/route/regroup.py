"""Shortens a ring at coarser levels: its parts between long travels are ordered like strokes.

Where work lies in rows or clusters, travels between these are many times as long as the mean. A
kick that is allowed to lose as much as that would spoil the rows; so the rows are held together
while they are ordered anew (multilevel refinement of an order: C. Walshaw 2002).
"""

from __future__ import annotations

import numpy as np

from plotout.geometry.strokes import FloatArray
from plotout.machine import Motion
from plotout.route.budget import Budget
from plotout.route.cooling import Coolings
from plotout.route.cost import costs
from plotout.route.held import held_between
from plotout.route.net import walked
from plotout.route.ring import Ints, Net

_LONG = (1.0, 4.0)
"""Mean travels: a longer one parts the ring, at the finer and at the coarser level."""
_KICKS, _KICKS_FEW, _ENOUGH = 2, 10, 300
"""Kicks per part; if that is not enough, up to so many per part until it is."""
_HOT = 1.0
"""How much worse a kick may leave the path at first, in mean travels between parts."""
_FEWEST = 4


def regrouped(ring: Ints, net: Net, motion: Motion | None, budget: Budget, seed: int) -> Ints:
    """Return a ring of the same nodes, no longer, its parts ordered and turned anew."""
    for long in _LONG:
        parts = parts_of(ring, net, motion, long)
        if not _FEWEST <= len(parts) < len(ring) / 2:
            continue
        rows = held_between(parts, net, motion)
        kicks = max(_KICKS * len(parts), min(_KICKS_FEW * len(parts), _ENOUGH))
        own = Budget(None, None, len(parts))
        coolings = Coolings(own, len(parts), kicks, motion, seed)
        found, _, _ = coolings.next(rows.net, rows.in_order(), _HOT)
        budget.stopped |= own.stopped
        ring = rows.whole(found)
    return ring


def parts_of(ring: Ints, net: Net, motion: Motion | None, long: float) -> list[Ints]:
    """Return a ring's nodes from the start on, parted where a travel is longer than `long` mean
    ones; mates are never parted.
    """
    walk = walked(ring)
    travels: FloatArray = costs(net.at[walk[:-1]], net.at[walk[1:]], motion)
    free = net.mate[walk[:-1]] != walk[1:]
    if not free.any():
        return [walk]
    return np.split(walk, np.flatnonzero(free & (travels > long * travels[free].mean())) + 1)
