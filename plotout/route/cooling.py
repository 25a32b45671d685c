"""Searches for a shorter ring in coolings, every one twice as long as the one before."""

from __future__ import annotations

import numpy as np

from plotout.geometry.strokes import FloatArray
from plotout.machine import Motion
from plotout.route.budget import Budget
from plotout.route.cost import costs
from plotout.route.ring import Ints, Net
from plotout.route.search import laid_out, shortened

_AT_ONCE = 100
_LONGEST = 50_000
_LONGEST_KICKED, _REVERSED = 1_000, 10_000_000


class Coolings:
    """A search in coolings, the first of which takes the usual number of kicks.

    starts: how many are of that length. A longer search begins like a shorter one.
    """

    def __init__(
        self, budget: Budget, strokes: int, usual: int, motion: Motion | None, seed: int,
        starts: int = 1,
    ) -> None:  # fmt: skip
        self._kicks = max(-(-usual // _AT_ONCE), 1) * _AT_ONCE
        self._budget, self._strokes, self._motion = budget, strokes, motion
        self._shares = budget.shares(strokes, self._kicks * starts if usual else 0, _AT_ONCE)
        self._state = np.array([seed * 2 + 88172645463325253], dtype=np.uint64)
        self.starts = starts

    def next(self, net: Net, ring: Ints, hot: float) -> tuple[Ints, FloatArray, bool]:
        """Return the best ring found from this one, its nodes' places, and whether time is left.

        All nodes begin at their first spots. hot: how much worse a kick may leave the path at
        first, in mean travels. Ctrl-C ends the search with the best so far.
        """
        if len(net.spots):
            head = net.spots[net.first[:-1]]
            net.at[:], net.beyond[:] = head[:, :2], head[:, 2]
        now, desk = laid_out(ring, net.first)
        best, at, lost, least, done = ring, net.at, 0.0, 0.0, 0
        longest = max(_LONGEST_KICKED, _REVERSED // len(net.at))
        try:
            shortened(net, now, _LONGEST, 0, 0.0, self._state, desk)
            best, at = now.nodes.astype(np.int64), net.at.copy()
            warm = hot * _length(best, net, self._motion) / self._strokes
            while done < self._kicks:
                kicks = next(self._shares, 0)
                if not kicks:
                    return best, at, False
                heat = warm * (1.0 - done / self._kicks) ** 2
                lost -= shortened(net, now, longest, kicks, heat, self._state, desk)
                done += kicks
                if lost < least - 1e-9:
                    best[:], at[:], least = now.nodes, net.at, lost
        except KeyboardInterrupt:
            self._budget.stopped = True
        self.starts -= 1
        if self.starts <= 0:
            self._kicks *= 2
        more = self.starts > 0 or self._budget.asked
        return best, at, more and not self._budget.stopped


def _length(nodes: Ints, net: Net, motion: Motion | None) -> float:
    """Return the cost of the ring's travels, without those between mates and to the open end."""
    after = np.roll(nodes, -1)
    free = (net.mate[nodes] != after) & (nodes < len(nodes) - 1) & (after < len(nodes) - 1)
    return float(costs(net.at[nodes[free]], net.at[after[free]], motion).sum())
