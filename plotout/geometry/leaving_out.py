"""How likely points are without sets of them, for sets that grow point by point.

What a further point adds depends on the set only by what the set's points already explain: their
block's inverse is kept and extended (by the formula for a bordered inverse), so that a set of fifty
costs hardly more than one of five. All sets of one size are worked on at once.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from plotout.geometry.evidence import (
    SCATTERS,
    UNJUDGED,
    Evidence,
    Indices,
    grid,
    log_sum,
)
from plotout.geometry.strokes import FloatArray

Chance = Callable[[FloatArray, Indices], FloatArray]
"""Gives the log density of how far a set's points lie off, (..., s, k), for sets of k points by
their indices, (s, k): (..., s)."""
_AT_ONCE = 250_000  # numbers of the grid that are worked on at a time
NEGLIGIBLE = 40.0  # of log likelihood: what is so much worse than the best adds nothing to a sum


@dataclass(frozen=True, slots=True, eq=False)
class LeftOut:
    """Points without each of s sets of k of them.

    sets: (s, k), in the order in which they were left out. By kind of price (a): whole: (a,
    scatters, sizes), the log likelihood of all points. By that and ratio (r): shared: (a, r, n,
    n), the matrix of which a set's rows are a block. pulls: (a, r, s, n), and spread: (a, r, s, n),
    of every point without the set. share: (a, r, s, k, n), how much of it the set explains. off:
    (a, r, s, k), mm that the set's points lie off. gain, size: (a, r, s), of the block.
    """

    sets: Indices
    whole: FloatArray
    shared: FloatArray
    pulls: FloatArray
    spread: FloatArray
    share: FloatArray
    off: FloatArray
    gain: FloatArray
    size: FloatArray

    @classmethod
    def none(cls, evidence: Evidence) -> LeftOut:
        """Return all points: the one set is empty."""
        shared, pulls = [], []
        whole = np.array([account.likely for account in evidence.accounts])
        priced = any(account.strengths.any() for account in evidence.accounts)
        if not priced:  # as a straight: all sizes are alike
            whole = log_sum(np.moveaxis(whole, -1, 0))[..., None]
        for account in evidence.accounts:
            weights, turned = account.weights()[: None if priced else 1], account.turned
            shared.append(np.einsum("im,rm,jm->rij", turned, weights, turned, optimize=True))
            pulls.append(weights * account.parts @ turned.T)
        matrix = np.array(shared)
        spread = np.diagonal(matrix, axis1=2, axis2=3)[:, :, None]
        kinds, ratios, _, count = matrix.shape
        share, nothing = np.zeros((kinds, ratios, 1, 0, count)), np.zeros((kinds, ratios, 1))
        return cls(np.zeros((1, 0), dtype=np.intp), whole, matrix, np.array(pulls)[:, :, None],
                   spread, share, share[..., 0], nothing, nothing)  # fmt: skip

    def likely(self, which: Indices, points: Indices, chance: Chance) -> FloatArray:
        """Return the log likelihood without sets by their index and one further point each, (p,).

        which, points: (p,).
        """
        step = max(_AT_ONCE // self.whole.size, 1)
        parts = [slice(first, first + step) for first in range(0, len(which), step)]
        return np.concatenate([self._likely(which[p], points[p], chance) for p in parts])

    def _likely(self, which: Indices, points: Indices, chance: Chance) -> FloatArray:
        pulls, spread = self.pulls[:, :, which, points], self.spread[:, :, which, points]
        spared = spread > UNJUDGED
        spread = np.where(spared, spread, 1.0)
        last = pulls / spread  # mm off, of the further one
        share = np.moveaxis(self.share[:, :, which, :, points], 0, 2)
        off = self.off[:, :, which] - share * last[..., None]
        gain = self.gain[:, :, which] + pulls * last
        size = self.size[:, :, which] + np.where(spared, np.log(spread), np.inf)
        sets = np.column_stack([self.sets[which], points])
        strayed = chance(np.concatenate([off, last[..., None]], axis=-1), sets)
        return self._summed(gain, strayed - 0.5 * size, sets.shape[1])

    def _summed(self, gain: FloatArray, more: FloatArray, left_out: int) -> FloatArray:
        """Return sets' log likelihood, (p,), over all scatters and sizes that matter to any.

        gain, more: (a, r, p), of which the first counts by the scatter.
        """
        scatters = SCATTERS[:, None]
        each = self.whole + left_out * np.log(scatters * np.sqrt(2.0 * np.pi))
        ratios = np.minimum(grid()[:, : each.shape[-1]], gain.shape[1] - 1)
        most = gain.max(axis=-1)[:, ratios] / (2.0 * scatters**2)
        most += each + more.max(axis=-1)[:, ratios]

        def logs(cells: Indices) -> FloatArray:
            kind, row, column = np.unravel_index(cells, each.shape)
            ratio = ratios[row, column]
            found: FloatArray = gain[kind, ratio]
            found *= 0.5 / scatters[row] ** 2
            found += more[kind, ratio]
            found += each[kind, row, column][:, None]
            return found

        least = logs(most.argmax()[None]).max() - NEGLIGIBLE
        return log_sum(logs(np.flatnonzero(~(most < least))))

    def without(self, which: Indices, points: Indices) -> LeftOut:
        """Return sets by their index with one further point each, (p,)."""
        pull, spread = self.pulls[:, :, which, points], self.spread[:, :, which, points]
        spared = spread > UNJUDGED
        spread = np.where(spared, spread, 1.0)
        sets, share = self.sets[which], self.share[:, :, which]
        rows = self.shared[:, :, points[:, None], sets]
        shared = self.shared[:, :, points] - (rows[..., None, :] @ share)[..., 0, :]
        last = shared / spread[..., None]
        off = pull / spread
        mixed = np.moveaxis(self.share[:, :, which, :, points], 0, 2)[..., None]
        last = last[..., None, :]
        return LeftOut(
            np.column_stack([sets, points]),
            self.whole, self.shared,
            self.pulls[:, :, which] - last[..., 0, :] * pull[..., None],
            self.spread[:, :, which] - last[..., 0, :] * shared,
            np.concatenate([share - mixed * last, last], axis=3),
            np.concatenate(
                [self.off[:, :, which] - mixed[..., 0] * off[..., None], off[..., None]], axis=3
            ),
            self.gain[:, :, which] + pull * off,
            self.size[:, :, which] + np.where(spared, np.log(spread), np.inf),
        )  # fmt: skip
