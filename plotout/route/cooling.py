"""Searches for a shorter ring in coolings, every one twice as long as the one before."""

from __future__ import annotations

import numpy as np

from plotout.geometry.strokes import FloatArray
from plotout.machine import Motion
from plotout.route.budget import Budget
from plotout.route.cost import costs
from plotout.route.ring import Ints, Net
from plotout.route.search import laid_out, shortened
from plotout.route.windows import SHIFTS, opened, too_long, windows

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
        self._budget, self._motion, self._over = budget, motion, False
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
        at = net.at
        if too_long(net):
            ring = self._in_windows(net, ring, hot)
        else:
            ring, at = self._cooled(net, ring, self._kicks, hot, (0.0, 1.0))
        self.starts -= 1
        if self.starts <= 0:
            self._kicks *= 2
        more = self.starts > 0 or self._budget.asked
        return ring, at, more and not self._over and not self._budget.stopped

    def _in_windows(self, net: Net, ring: Ints, hot: float) -> Ints:
        """Return the best ring found by kicks in one window after another, in several passes."""
        done, seen, passes = 0, 0, len(SHIFTS)
        try:
            ring, _ = self._cooled(net, ring, 0, hot, (0.0, 1.0))
            for index, shift in enumerate(SHIFTS):
                span = index / passes, (index + 1) / passes
                for inside in windows(net, shift):
                    if self._over or self._budget.stopped:
                        return ring
                    seen += len(inside)
                    parts = opened(ring, net, inside, self._motion)
                    if parts is None:
                        continue
                    due = self._kicks * seen // (passes * (len(net.at) - 2)) - done
                    kicks = due // _AT_ONCE * _AT_ONCE
                    best, _ = self._cooled(parts.net, parts.in_order(), kicks, hot, span)
                    ring, done = parts.whole(best), done + kicks
        except KeyboardInterrupt:
            self._budget.stopped = True
        return ring

    def _cooled(
        self, net: Net, ring: Ints, kicks: int, hot: float, span: tuple[float, float]
    ) -> tuple[Ints, FloatArray]:
        """Return the best ring found by so many kicks, and its nodes' places.

        span: how much of the whole cooling is done before and after them.
        """
        now, desk = laid_out(ring, net.first)
        best, at, lost, least, done = ring, net.at, 0.0, 0.0, 0
        longest = max(_LONGEST_KICKED, _REVERSED // len(net.at))
        try:
            shortened(net, now, _LONGEST, 0, 0.0, self._state, desk)
            best, at = now.nodes.astype(np.int64), net.at.copy()
            warm = hot * _mean_travel(best, net, self._motion)
            while done < kicks:
                share = next(self._shares, 0)
                if not share:
                    self._over = True
                    break
                left = 1.0 - (span[0] + (span[1] - span[0]) * done / kicks)
                lost -= shortened(net, now, longest, share, warm * left**2, self._state, desk)
                done += share
                if lost < least - 1e-9:
                    best[:], at[:], least = now.nodes, net.at, lost
        except KeyboardInterrupt:
            self._budget.stopped = True
        return best, at


def _mean_travel(nodes: Ints, net: Net, motion: Motion | None) -> float:
    """Return the mean cost of the ring's travels, without those to the open end."""
    after = np.roll(nodes, -1)
    free = (net.mate[nodes] != after) & (nodes < len(nodes) - 1) & (after < len(nodes) - 1)
    strokes = len(nodes) - 2 - np.count_nonzero(net.mate[:-2] >= 0) // 2
    return float(costs(net.at[nodes[free]], net.at[after[free]], motion).sum()) / strokes
