"""How likely points are without a set of them, for sets that grow point by point.

What a further point adds depends on the set only by what the set's points already explain: their
block's inverse is kept and extended (by the formula for a bordered inverse), so that a set of fifty
costs hardly more than one of five. The sums are those of `Evidence.without`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from plotout.geometry.evidence import SCATTERS, UNJUDGED, Account, Evidence, of_grid
from plotout.geometry.strokes import FloatArray

Set = tuple[int, ...]
Chance = Callable[[FloatArray, FloatArray, Set], FloatArray]
"""Gives the log density of how far points lie off, (r, n), if each of n is left out next: that one,
(r, n), and those of the set before it, (r, k, n). It takes these first, and the set last."""


@dataclass(frozen=True, slots=True, eq=False)
class _Without:
    """One account without a set of k points, for every ratio r.

    shared: (r, n, n), the matrix of which the set's rows are a block. pulls: (r, n), and spread:
    (r, n), of every point without the set. share: (r, k, n), how much of it the set explains.
    off: (r, k), mm that the set's points lie off. gain, size: (r,), of the block.
    """

    account: Account
    shared: FloatArray
    pulls: FloatArray
    spread: FloatArray
    share: FloatArray
    off: FloatArray
    gain: FloatArray
    size: FloatArray


class LeftOut:
    """Points of which some are left out, in the order in which they were."""

    def __init__(self, some: Set, accounts: Sequence[_Without]) -> None:
        self.some, self._accounts = some, accounts

    @classmethod
    def none(cls, evidence: Evidence) -> LeftOut:
        """Return all points."""
        return cls((), [_all(account) for account in evidence.accounts])

    def likely(self, chance: Chance) -> FloatArray:
        """Return the log likelihood without each further point, (n,)."""
        found = [_likely(one, self.some, chance) for one in self._accounts]
        return np.asarray(np.logaddexp.reduce(found, axis=0))

    def without(self, point: int) -> LeftOut:
        """Return the points with one more left out."""
        return LeftOut((*self.some, point), [_further(a, self.some, point) for a in self._accounts])


def _all(account: Account) -> _Without:
    weights, turned = account.weights(), account.turned
    shared = np.einsum("im,rm,jm->rij", turned, weights, turned, optimize=True)
    count, ratios = len(turned), len(weights)
    return _Without(account, shared, weights * account.parts @ turned.T,
                    np.diagonal(shared, axis1=1, axis2=2), np.zeros((ratios, 0, count)),
                    np.zeros((ratios, 0)), np.zeros(ratios), np.zeros(ratios))  # fmt: skip


def _likely(one: _Without, some: Set, chance: Chance) -> FloatArray:
    spared = one.spread > UNJUDGED
    spread = np.where(spared, one.spread, 1.0)
    last = one.pulls / spread  # mm off, of each that may be next
    before = one.off[:, :, None] - one.share * last[:, None, :]
    gain = one.gain[:, None] + one.pulls * last
    size = one.size[:, None] + np.where(spared, np.log(spread), np.inf)
    strayed = chance(before, last, some)
    scatters = SCATTERS[:, None, None]
    logs = one.account.likely[:, :, None] + of_grid(gain) / (2.0 * scatters**2)
    logs += of_grid(strayed - 0.5 * size)
    logs += (len(some) + 1) * np.log(scatters * np.sqrt(2.0 * np.pi))
    return np.asarray(np.logaddexp.reduce(logs.reshape(-1, logs.shape[2]), axis=0))


def _further(one: _Without, some: Set, point: int) -> _Without:
    spared = one.spread[:, point] > UNJUDGED
    spread = np.where(spared, one.spread[:, point], 1.0)
    shared = one.shared[:, point] - np.einsum(
        "rk,rkn->rn", one.shared[:, point, list(some)], one.share
    )
    last = shared / spread[:, None]
    off = one.pulls[:, point] / spread
    mixed = one.share[:, :, point]
    return _Without(
        one.account, one.shared,
        one.pulls - last * one.pulls[:, point, None],
        one.spread - last * shared,
        np.concatenate([one.share - mixed[:, :, None] * last[:, None], last[:, None]], axis=1),
        np.column_stack([one.off - mixed * off[:, None], off]),
        one.gain + one.pulls[:, point] * off,
        one.size + np.where(spared, np.log(spread), np.inf),
    )  # fmt: skip
