"""Outlines as likely as their pricks show them: what their lengths, and whole lines, may be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from plotout import FloatArray
from plotout.kit import IfSo
from plotout_pricks.bend import distances, points_at
from plotout_pricks.variants import OUTLINES, TIMES, Variants, lengths_of, located

KEPT = 120  # outlines: what is measured on them is then known to a tenth
FEW = 12  # the same by an explanation that is hardly likely
Spread = tuple[FloatArray, FloatArray] | None
PLACES = 61  # of each curve


@dataclass(frozen=True, slots=True, eq=False)
class Outlines:
    """Outlines drawn by one explanation of the pricks, and how likely that is.

    runs: each in m variants, and whether its pricks determine it. corners: where each run is met
    by the one before it, (m, 2); chances: how likely that is, (m,).
    """

    runs: Sequence[tuple[Variants, bool]]
    corners: Sequence[FloatArray]
    chances: Sequence[FloatArray]
    chance: float

    def spread(
        self, lengths: Sequence[float], like: tuple[Outlines, Sequence[Spread]] | None = None
    ) -> list[Spread]:
        """Return by how much drawn runs' lengths are off given ones, and how likely each draw is.

        (m,) each, for every run, the likelihoods with a sum of `chance`; an infinite length if the
        pricks don't determine a run, None if it doesn't meet its neighbours. like: outlines of
        which most runs are the same, and what this returned of them.
        """
        found: list[Spread] = []
        for index, (run, known) in enumerate(self.runs):
            after = (index + 1) % len(self.runs)
            if like and self._alike(like[0], index, after):
                same = like[1][index]
                found.append(same and (same[0], same[1] * (self.chance / like[0].chance)))
                continue
            off = lengths_of(run, self.corners[index], self.corners[after]) - lengths[index]
            weights = self.chances[index] * self.chances[after]
            weights = np.where(np.isfinite(off), weights, 0.0)
            if np.isfinite(off).sum() >= TIMES * OUTLINES // 2 and weights.max() > 0.0:
                off = off if known else np.full(len(off), np.inf)
                found.append((off, weights * (self.chance / weights.sum())))
            else:
                found.append(None)
        return found

    def _alike(self, other: Outlines, index: int, after: int) -> bool:
        """Return whether a run and both its corners are those of other outlines."""
        return self.runs[index][0] is other.runs[index][0] and all(
            self.corners[corner] is other.corners[corner] for corner in (index, after)
        )

    def weights(self) -> FloatArray:
        """Return how likely each whole outline is, (m,), with a sum of `chance`; 0 for none."""
        there = np.all([np.isfinite(at).all(axis=1) for at in self.corners], axis=0)
        found = np.where(there, np.prod(self.chances, axis=0), 0.0)
        return np.asarray(found * (self.chance / found.sum()) if found.any() else found)

    def lines(self, index: int, draws: NDArray[np.intp]) -> FloatArray:
        """Return a run from corner to corner in some of its variants, (m, k, 2)."""
        run, _ = self.runs[index]
        starts = self.corners[index][draws]
        ends = self.corners[(index + 1) % len(self.runs)][draws]
        if run.curve is None:
            return np.stack([starts, ends], axis=1)
        curves = run.whole[draws]
        low, high = located(curves, starts), located(curves, ends)
        share = np.linspace(0.0, 1.0, PLACES)
        along = low[:, None] + (high - low)[:, None] * share
        found = points_at(curves, distances(curves), along)
        found[:, 0], found[:, -1] = starts, ends
        return found


def likely_lines_of(explained: Sequence[Outlines]) -> list[FloatArray] | None:
    """Return every run in `KEPT` outlines, as many by each explanation as it is likely.

    (m, k, 2) each, from corner to corner. None if the pricks don't determine an outline.
    """
    weights = [outlines.weights() for outlines in explained]
    chosen = _evenly(np.concatenate(weights), KEPT)
    if not all(known for _, known in explained[0].runs) or not len(chosen):
        return None
    which, draw = np.divmod(chosen, len(weights[0]))
    made = []
    for index in range(len(explained[0].runs)):
        parts = [
            outlines.lines(index, draw[which == number])
            for number, outlines in enumerate(explained)
            if (which == number).any()
        ]
        most = max(part.shape[1] for part in parts)
        made.append(np.concatenate([_stretched(part, most) for part in parts]))
    return made


def lines_if_so(explained: Sequence[Outlines], whys: Sequence[str]) -> list[list[IfSo]]:
    """Return for each explanation that determines an outline every run in `FEW` of them.

    whys: what must be so, in words.
    """
    found = []
    for outlines, why in zip(explained, whys, strict=True):
        draws = _evenly(outlines.weights(), FEW)
        if len(draws) and all(known for _, known in outlines.runs):
            runs = range(len(outlines.runs))
            found.append(
                [IfSo(why, outlines.chance, outlines.lines(index, draws)) for index in runs]
            )
    return found


def _evenly(weights: FloatArray, count: int) -> NDArray[np.intp]:
    """Return `count` indices, each as often as it is likely; none if all are impossible."""
    total = np.cumsum(weights)
    if total[-1] <= 0.0:
        return np.empty(0, dtype=np.intp)
    even = (np.arange(count) + 0.5) / count * total[-1]
    return np.asarray(np.minimum(np.searchsorted(total, even), len(total) - 1))


def _stretched(lines: FloatArray, count: int) -> FloatArray:
    """Return straight lines, (m, 2, 2), with `count` points, or lines that have so many."""
    if lines.shape[1] == count:
        return lines
    share = np.linspace(0.0, 1.0, count)[:, None]
    return np.asarray(lines[:, :1] * (1.0 - share) + lines[:, -1:] * share)
