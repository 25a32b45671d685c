"""What points say about a fit with a price on bending; its scatter and its price are unknown.

Wanted sizes are design @ x plus normal scatter; rows @ x are normal about what is due. Neither the
scatter nor the price is chosen: each pair of a grid is weighted by the restricted likelihood
(Wahba 1985) and the priors, and so is each kind of price. The usual scatter of pricks and bending
of seams (common practice) matter where points are few.

The same sum decides whether a set of points are strays: the others' likelihood without them, times
the chance of strays. What a set's points add to the likelihood is known in closed form (Cook and
Weisberg 1982, 2.2, in the Bayesian form of Pettit and Smith 1985), so every pair and triple is
judged together, and none hides another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from plotout.geometry.strokes import FloatArray

STEP = 0.5  # of the grids' logarithms
SCATTERS = np.exp(np.arange(np.log(0.001), np.log(3.0), STEP))  # mm
SIZES = np.exp(np.arange(np.log(0.01), np.log(40.0), STEP))  # of the rows' sums
LEAST_SCATTER, MOST_SCATTER = 0.05, 0.6  # mm: of pricks, as people set them (common practice)
HARDLY_UNDER = 0.3  # of the scatter's logarithm: one sigma of how far a hand's lies below the least
UNLIKE = 0.25  # of a hand's scatter: by which that of one straight seam differs from it (judgement)
USUAL_SIZE, SIZE_SPREAD = 1.0, 0.9  # of the rows; and its logarithm's deviation
WIDE = 6.0  # likely extent in a direction that only one kind leaves free
_FREE, _SEEN = 1e-5, 1e-6  # of the greatest singular value: below it: no price, unseen
_STIFF = 1.5  # mm: scatter of a fit that ignores strays
UNJUDGED = 1e-7  # of a point's own weight: without it the fit is undetermined

Indices = np.ndarray[tuple[int, ...], np.dtype[np.intp]]


@dataclass(frozen=True, slots=True, eq=False)
class Price:
    """rows @ x, (p, q), is due, (p,), within `unit` times a size that the points determine."""

    rows: FloatArray
    due: FloatArray
    unit: float


NO_PRICE = Price(np.zeros((0, 2)), np.zeros(0), 1.0)  # of a straight line's two unknowns


@dataclass(frozen=True, slots=True, eq=False)
class Account:
    """One kind of price, decomposed.

    turned: (n, m), what the free directions can't explain; parts: the points in it, (m,).
    strengths: how much each is seen through the costly directions, (m,), else 0.
    likely: (scatters, sizes), log of the likelihood and the priors.
    """

    price: Price
    base: FloatArray
    free: FloatArray
    seen: FloatArray
    costly: FloatArray
    explained: FloatArray
    mix: FloatArray
    turned: FloatArray
    parts: FloatArray
    strengths: FloatArray
    left: FloatArray
    likely: FloatArray

    def weights(self) -> FloatArray:
        """Return how much each part counts, (r, m), for every distinct ratio of size to scatter."""
        return np.asarray(1.0 / (1.0 + distinct_ratios()[:, None] * self.strengths**2))


@dataclass(frozen=True, slots=True)
class Hand:
    """How exactly the same hand pricked elsewhere: scatter, mm, from so many pricks to spare."""

    scatter: float
    freedom: int

    def steadier(self) -> FloatArray:
        """Return the log likelihood that it is as steady as each scatter, or less: (scatters,)."""
        if self.freedom < 1 or self.scatter <= 0.0:
            return np.zeros(len(SCATTERS))
        ratio = self.scatter / np.minimum(SCATTERS, self.scatter)
        return np.asarray(self.freedom * (np.log(ratio) - (ratio**2 - 1.0) / 2.0))

    def alike(self) -> FloatArray:
        """Return the log likelihood that it is as steady as each scatter, (scatters,).

        No seam is pricked just as exactly as the others (`UNLIKE`): many of them say no more than
        a few would.
        """
        if self.freedom < 1:
            return np.zeros(len(SCATTERS))
        ratio = max(self.scatter, float(SCATTERS[0])) / SCATTERS
        freedom = 1.0 / (1.0 / self.freedom + 2.0 * UNLIKE**2)
        return np.asarray(freedom * (np.log(ratio) - (ratio**2 - 1.0) / 2.0))


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """What n points say for each kind of price."""

    accounts: tuple[Account, ...]

    @property
    def total(self) -> float:
        """Log of the whole likelihood, up to a constant."""
        return float(log_sum(np.array([a.likely for a in self.accounts]).ravel()))

    def mean(self, *, stiff: bool = False) -> FloatArray:
        """Return x, (q,), averaged over scatter, size and kind; stiff: of large scatter alone."""
        kept = np.zeros((len(SCATTERS), len(SIZES)))
        if stiff:
            kept[(SCATTERS < _STIFF)[:, None] | (SIZES > USUAL_SIZE)[None, :]] = -np.inf
        likely = [account.likely + kept for account in self.accounts]
        total = log_sum(np.array(likely).ravel())
        means = [_mean(a, np.exp(b - total)) for a, b in zip(self.accounts, likely, strict=True)]
        return np.asarray(np.sum(means, axis=0))

    def scatter(self) -> float:
        """Return the scatter, mm: the root of its mean square."""
        total = self.total
        shares = np.sum([np.exp(a.likely - total).sum(axis=1) for a in self.accounts], axis=0)
        return float(np.sqrt(shares @ SCATTERS**2))

    def of_hand(self, hand: Hand) -> Evidence:
        """Return what the points say if their scatter is no less than the hand's elsewhere.

        Few points that happen to lie well leave their own scatter unknown.
        """
        return self._with(hand.steadier())

    def of_like_hand(self, hand: Hand) -> Evidence:
        """Return what the points say if their scatter is about the hand's elsewhere."""
        return self._with(hand.alike())

    def of_any_hand(self) -> Evidence:
        """Return what the points say if hardly a hand is steadier than `LEAST_SCATTER`.

        Computed points show every unevenness of their curve, and nothing else.
        """
        under = np.minimum(np.log(SCATTERS / LEAST_SCATTER), 0.0) / HARDLY_UNDER
        return self._with(-0.5 * under**2)

    def _with(self, scatters: FloatArray) -> Evidence:
        """Return the evidence with more said of the scatter: its log likelihood, (scatters,)."""
        more = scatters[:, None]
        return Evidence(tuple(replace(a, likely=a.likely + more) for a in self.accounts))

    def draws(self, count: int, seed: int = 1) -> FloatArray:
        """Return x as likely as what the points say, (count, q)."""
        rng = np.random.default_rng(seed)
        weights = np.concatenate([np.exp(a.likely - self.total).ravel() for a in self.accounts])
        even = (np.arange(count) + 0.5) / count
        chosen = np.searchsorted(np.cumsum(weights) / weights.sum(), even)
        kind, place = np.divmod(chosen, len(SCATTERS) * len(SIZES))
        return np.concatenate(
            [_draws(a, place[kind == index], rng) for index, a in enumerate(self.accounts)]
        )


def weighed(design: FloatArray, wanted: FloatArray, prices: Sequence[Price]) -> Evidence:
    """Return what (n,) wanted sizes say about x, (q,). design: (n, q)."""
    accounts = [_account(design, wanted, price) for price in prices]
    fewest = min(len(account.free.T) for account in accounts)
    for account in accounts:  # a ramp of norm 1 over so many rows rises by the root of 12 / rows
        more = account.free.shape[1] - fewest
        account.likely[:] += more * np.log(np.sqrt(12.0 / max(len(account.price.rows), 1)) / WIDE)
    return Evidence(tuple(accounts))


def _account(design: FloatArray, wanted: FloatArray, price: Price) -> Account:
    count = len(wanted)
    bent, sizes, directions = np.linalg.svd(price.rows)
    dear = int((sizes > _FREE * sizes[0]).sum()) if len(sizes) else 0
    costly, free = directions[:dear].T / sizes[:dear], directions[dear:].T
    base = costly @ (bent[:, :dear].T @ price.due)
    left = wanted - design @ base
    seen = design @ free
    across, spans, _ = np.linalg.svd(seen)
    used = int((spans > _SEEN * spans[0]).sum()) if len(spans) else 0
    rest = across[:, used:]
    explained = design @ costly * price.unit
    turned, strengths, mix = np.linalg.svd(rest.T @ explained)
    strengths = np.concatenate([strengths, np.zeros(max(count - used - len(strengths), 0))])
    parts = turned.T @ (rest.T @ left)
    spread = 1.0 + distinct_ratios()[:, None] * strengths[: len(parts)] ** 2
    likely = -(count - used) * np.log(SCATTERS)[:, None] - of_grid(0.5 * np.log(spread).sum(axis=1))
    likely -= of_grid((parts**2 / spread).sum(axis=1)) / (2.0 * SCATTERS[:, None] ** 2)
    likely -= np.log(spans[:used]).sum() if used else 0.0
    return Account(price, base, free, seen, costly, explained, mix, rest @ turned, parts,
                    strengths[: len(parts)], left, likely + _prior())  # fmt: skip


@cache
def distinct_ratios() -> FloatArray:
    """Return the distinct ratios of size to scatter, squared, (r,).

    Along a diagonal of the grid of both they are one.
    """
    first, last = SIZES[0] / SCATTERS[::-1], SIZES[1:] / SCATTERS[0]
    return np.concatenate([first, last]) ** 2


@cache
def grid() -> Indices:
    """Return the place of every scatter and size among the distinct ratios: (scatters, sizes)."""
    ahead = len(SCATTERS) - 1 - np.arange(len(SCATTERS))
    return np.add.outer(ahead, np.arange(len(SIZES)))


def of_grid(values: FloatArray) -> FloatArray:
    """Return values of distinct ratios, (r,), for every scatter and size."""
    return np.asarray(values[grid()])


def log_sum(logs: FloatArray) -> FloatArray:
    """Return the logarithms of sums over the first axis, of numbers given by theirs, (m, ...)."""
    most = logs.max(axis=0)
    most = np.where(np.isfinite(most), most, 0.0)
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(np.exp(logs - most).sum(axis=0)) + most)


@cache
def _prior() -> FloatArray:
    """Return the log prior of each scatter and size: (scatters, sizes)."""
    under = np.log(np.minimum(SCATTERS / LEAST_SCATTER, 1.0)) / 0.7
    over = np.log(np.maximum(SCATTERS / MOST_SCATTER, 1.0)) / 0.3
    size = np.log(SIZES / USUAL_SIZE) / SIZE_SPREAD
    return np.asarray(-0.5 * (under**2 + over**2)[:, None] - 0.5 * (size**2)[None, :])


def _mean(account: Account, weights: FloatArray) -> FloatArray:
    """Return the mean x of one kind, times the kind's share."""
    share = float(weights.sum())
    s = account.strengths
    ratios = distinct_ratios()[:, None]
    of_ratios = np.bincount(grid().ravel(), weights.ravel())
    kept = of_ratios @ (ratios * s / (1.0 + ratios * s**2))
    count = min(len(s), len(account.mix))
    bent = account.mix[:count].T @ (kept * account.parts)[:count]
    flat = np.linalg.lstsq(
        account.seen, share * account.left - account.explained @ bent, rcond=_SEEN
    )[0]
    return np.asarray(
        share * account.base + account.free @ flat + account.costly @ bent * account.price.unit
    )


def _draws(account: Account, places: Indices, rng: np.random.Generator) -> FloatArray:
    """Return an x for every place of the grid, (k,): (k, q)."""
    scatter, size = SCATTERS[places // len(SIZES), None], SIZES[places % len(SIZES), None]
    ratio = (size / scatter) ** 2
    s, z = np.zeros((2, len(account.mix)))
    count = min(len(account.strengths), len(s))
    s[:count] = account.strengths[:count]
    z[:count] = account.parts[:count]
    normal = rng.standard_normal((len(places), len(s) + len(account.left)))
    spread = 1.0 + ratio * s**2
    bent = ratio * s * z / spread + size / np.sqrt(spread) * normal[:, : len(s)]
    bent = bent @ account.mix
    noisy = account.left - bent @ account.explained.T + scatter * normal[:, len(s) :]
    flat = noisy @ np.linalg.pinv(account.seen, rcond=_SEEN).T
    return np.asarray(
        account.base + flat @ account.free.T + bent @ account.costly.T * account.price.unit
    )
