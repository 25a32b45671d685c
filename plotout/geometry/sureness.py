"""How sure a size is that was drawn many times, each as likely as its pricks show it; and a sum."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from plotout.geometry.strokes import FloatArray

TWO_SIGMA = 0.954  # share of a normal error within two sigma
MATTERS = 0.5  # mm: a size that may be so much further off is another
SURELY = 1.5  # of two sigma: what is three off is not so, of all right seams beside a stray but few
TOLD = 0.001  # chance of an explanation that is told wherever it makes another length
LIKELY = 0.1  # chance of an explanation that is named where a seam isn't known to match
LEAST_TAKEN = 0.3  # chance of the explanation taken, at least
LEAST_SIGMA = 0.01  # mm
UNFORESEEN = 1.15  # so that two sigma hold 95 of a hundred (tests/bench/known.py families)


def two_sigma(off: FloatArray, weights: FloatArray | None = None) -> float:
    """Return two sigma of drawn sizes' distances from the fit's own, (m,): 95.4 % are within.

    Of few pricks their spread has long tails, and a mean square is no measure of it. A curve that
    is fair in another way than is reckoned with is less sure than its draws say.
    weights: (m,), how likely each is. Those that are nan don't count.
    """
    weights = np.ones(len(off)) if weights is None else weights
    there = np.isfinite(off)
    order = np.argsort(np.abs(off[there]))
    share = np.cumsum(weights[there][order])
    at = np.interp(TWO_SIGMA * share[-1], share, np.abs(off[there])[order])
    return UNFORESEEN * float(at)


class Known(NamedTuple):
    """To how many mm a length is known, two sigma; 0 where it was drawn.

    unproved: how much of that is because its pricks may be explained otherwise, as by a stray.
    """

    to: float = 0.0
    unproved: float = 0.0

    def times(self, count: float) -> Known:
        """Return to how many mm so many times the length is known."""
        return Known(self.to * count, self.unproved * count)


DRAWN = Known()


class Otherwise(NamedTuple):
    """What a length is if its pricks are explained otherwise, as by a stray that would not show.

    why: what must be so then, in words. longer: by how many mm it is longer then; known_to: mm to
    which that is known, two sigma; scatter: to which it is by the explanation taken. chance: of it,
    by the pricks alone.
    """

    why: str
    longer: float
    known_to: float
    chance: float
    scatter: float = 0.0

    @property
    def is_another(self) -> bool:
        """Whether it is another length than by the explanation taken."""
        return abs(self.longer) + self.known_to > self.scatter + MATTERS

    @property
    def is_told(self) -> bool:
        """Whether it is likely enough to be told even if nothing is wrong."""
        return self.chance >= TOLD

    def by(self, known_to: float) -> float:
        """Return by how many mm a size may be off that is known to so many mm otherwise.

        What this explanation adds to its doubt may be three sigma off: that an outermost prick
        strayed is known from no other prick, and a fault is claimed only of what is surely wrong.
        """
        added = max(self.known_to**2 - self.scatter**2, 0.0)
        return math.hypot(known_to, SURELY * math.sqrt(added))

    def times(self, count: float) -> Otherwise:
        """Return what so many times the length is then."""
        many = abs(count)
        return self._replace(
            longer=self.longer * count,
            known_to=self.known_to * many,
            scatter=self.scatter * many,
        )

    @property
    def in_part(self) -> Otherwise:
        """What a part of the length is then: longer by all of that, by none, or in between."""
        half = self.longer / 2.0
        return self._replace(longer=half, known_to=self.known_to + abs(half))


class IfSo(NamedTuple):
    """An edge as likely as pricks show it, (m, k, 2), if they are explained otherwise.

    why: what must be so then, in words. chance: of it, by the pricks alone.
    """

    why: str
    chance: float
    lines: FloatArray


def taken_together(parts: Iterable[Otherwise]) -> tuple[Otherwise, ...]:
    """Return what a sum of lengths is by each explanation of theirs, the likeliest first."""
    found: dict[str, Otherwise] = {}
    for part in parts:
        if before := found.get(part.why):
            part = part._replace(  # noqa: PLW2901
                longer=before.longer + part.longer,
                known_to=before.known_to + part.known_to,
                scatter=before.scatter + part.scatter,
            )
        found[part.why] = part
    return tuple(sorted(found.values(), key=lambda one: -one.chance))


def likely_within(
    within: float, off: float, known_to: float, otherwise: Iterable[tuple[Otherwise, float]]
) -> tuple[Otherwise, ...]:
    """Return the explanations that are likely if a size is meant to be within so many mm of 0.

    off: what it is, known to so many mm. otherwise: each explanation, and what it is by that. By
    Bayes' rule, with normal errors; the explanation taken has the chance that is left.
    """

    def density(off: float, two_sigma: float) -> float:
        sigma = max(math.hypot(two_sigma, within) / 2.0, LEAST_SIGMA)
        return math.exp(-0.5 * (off / sigma) ** 2) / sigma

    others = list(otherwise)
    taken = max(1.0 - sum(one.chance for one, _ in others), LEAST_TAKEN) * density(off, known_to)
    each = []
    for one, by in others:
        scatter = max(known_to**2 - one.scatter**2, 0.0)
        each.append(one.chance * density(by, math.hypot(math.sqrt(scatter), one.known_to)))
    least = LIKELY * (taken + sum(each))
    return tuple(one for (one, _), by in zip(others, each, strict=True) if by >= least > 0.0)


def less(first: Iterable[Otherwise], second: Iterable[Otherwise]) -> tuple[Otherwise, ...]:
    """Return what the difference of two lengths is by each explanation of either."""
    return taken_together([*first, *(one.times(-1.0) for one in second)])


def known_together(parts: Iterable[Known], shared: float = 0.0) -> Known:
    """Return to how many mm a sum or a difference of lengths is known.

    shared: mm2, twice the sum of their covariances, which is less than 0 where one is too short by
    what another is too long.

    Scatter makes each of them wrong by itself. But an explanation is wrong by all that it moves a
    length, and where it is so in one of two like edges, it is for the same cause in the other.
    """
    known = list(parts)
    unproved = sum(one.unproved for one in known)
    apart = math.hypot(*(one.to - one.unproved for one in known))
    return Known(math.sqrt(max(apart**2 + shared, 0.0)) + unproved, unproved)
