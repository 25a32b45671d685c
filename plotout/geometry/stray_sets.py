"""Every set of pricks of a run that may have strayed, weighed against every other.

The empty set is weighed too: how well a line or a fair curve fits the rest, against how rarely a
hand strays. So two strays can't hide each other, and a prick that marks a tight bend is not taken
for a stray.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from plotout.geometry.evidence import NO_PRICE, Evidence, Indices, weighed
from plotout.geometry.fairing import Fair, faired
from plotout.geometry.fitting import (
    FEWEST_PRICKS,
    End,
    StraightLine,
    fit_line,
    met,
    smooth_curve,
    straight_problem,
)
from plotout.geometry.leaving_out import Chance, LeftOut
from plotout.geometry.strokes import FloatArray
from plotout.geometry.unexplained import most_strays

LEAST_OFF = 1.0  # mm: no prick nearer to the curve is a stray (common practice)
RARE = 0.015  # of pricks stray (common practice)
# Of runs with two pricks at the end off to one side, the outer further, in how many both strayed:
# two do in RARE squared, a quarter of those alike; one curve in twenty turns suddenly at its end.
TURNED = 0.001
# The same of three among the four at an end: the others bend there in another way than elsewhere,
# as where two arcs of a draft join (judgement).
BENT = 0.1
USUAL_OFF = 8.0  # mm: half of all strays are nearer (common practice)
_STIFF = 6.0  # degrees of freedom of a first curve, which strays hardly affect
_STIFF_SHARE = 0.75  # and at most this many per prick
_BEAM, _LARGE = 40, 13  # sets that are extended; fewer of those with more pricks than this
_AT_ONCE = 32  # distances whose product is still no overflow
_HOPELESS = 6.0  # of log likelihood: sets this much worse than the best are not extended
_RIVAL = 10.0  # and these are tried at a curve of their own
_ROUNDS = 4

Set = tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """Points, (n, 2), of a straight line or a curve, and its ends. sure: which surely belong."""

    points: FloatArray
    straight: bool
    closed: bool
    start: End | None
    end: End | None
    sure: frozenset[int]


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """What all pricks say at a curve through some. off: (n,), distances from it, mm."""

    evidence: Evidence
    off: FloatArray
    fair: Fair | None


def settled(run: Run) -> tuple[Set, View, dict[Set, float]] | None:
    """Weigh all sets at the curve of the likeliest, again and again until it stays the same."""
    view = _first(run)
    if view is None:
        return None
    tried: dict[Set, tuple[View, dict[Set, float]]] = {}
    curveless = set[Set]()
    weights = _weigh(view.evidence, run)
    rivals = _rivals(weights)
    chosen = _likeliest(weights)
    for asked in [None] * _ROUNDS + [(), *rivals]:
        chosen = chosen if asked is None else asked
        if chosen in tried or chosen in curveless:
            continue
        new = view_without(run, chosen, view.fair)
        if new is None:
            curveless.add(chosen)
        else:
            tried[chosen] = new, _weigh(new.evidence, run, chosen)
            chosen = _likeliest(tried[chosen][1])
    if not tried:  # no curve was found through the likeliest: keep the judgement at the stiff one
        return chosen, view, weights
    best = max(tried, key=lambda some: tried[some][1][some])
    view, weights = tried[best]
    for some, (_, own) in tried.items():
        weights[some] = max(weights.get(some, -np.inf), own[some])
    return best, view, weights


def _rivals(weights: dict[Set, float]) -> list[Set]:
    """Return the likeliest set of each size, those that aren't hopeless.

    At the stiff curve, from which they are seen, a tight bend and a few strays look alike.
    """
    best: dict[int, Set] = {}
    for some, weight in weights.items():
        if len(some) not in best or weight > weights[best[len(some)]]:
            best[len(some)] = some
    least = max(weights.values()) - _RIVAL
    return [some for some in best.values() if weights[some] > least]


def _likeliest(weights: dict[Set, float]) -> Set:
    return max(weights, key=weights.__getitem__)


def _first(run: Run) -> View | None:
    """Return what all pricks say at a stiff curve, which strays hardly affect."""
    if run.straight:
        return view_without(run, (), None)
    begin, finish = met(run.points, run.start, run.end)
    free = min(_STIFF, _STIFF_SHARE * len(run.points))
    like = smooth_curve(run.points, closed=run.closed, start=run.start, end=run.end, most_free=free)
    fair = faired(run.points, like, closed=run.closed, start=begin, end=finish, stiff=True)
    return None if fair is None else seen_at(run.points, fair)


def view_without(run: Run, left_out: Set, like: Fair | None) -> View | None:
    """Return what all pricks say at the line or curve through all but some; None without one."""
    kept = [n for n in range(len(run.points)) if n not in left_out]
    if like is None:
        return seen_at(run.points, fit_line(run.points[kept]))
    begin, finish = met(run.points, run.start, run.end)
    fair = faired(run.points[kept], like.points, closed=run.closed, start=begin, end=finish,
                  doubted=run.points[list(left_out)])  # fmt: skip
    return None if fair is None else seen_at(run.points, fair)


def seen_at(points: FloatArray, fit: StraightLine | Fair) -> View:
    """Return what (n, 2) points say at a line or a curve, if a hand pricked them."""
    if isinstance(fit, Fair):
        evidence, off = fit.judged(points)
        return View(evidence.of_any_hand(), off, fit)
    design, off = straight_problem(fit, points)
    return View(weighed(design, off, [NO_PRICE]).of_any_hand(), off, None)


def all_strayed(off: FloatArray) -> FloatArray:
    """Return the log density of strays this far, (..., k), mm, all of them: (...).

    Cauchy's tails, none near the curve.
    """
    found = np.full(off.shape[:-1], off.shape[-1] * np.log(RARE / (np.pi * USUAL_OFF)))
    product, astray = np.ones_like(found), np.ones(found.shape, dtype=bool)
    for n in range(off.shape[-1]):  # a few points of very many sets
        square = off[..., n] ** 2
        astray &= square >= LEAST_OFF**2
        product *= 1.0 + square / USUAL_OFF**2
        if n % _AT_ONCE == _AT_ONCE - 1:  # one logarithm for many, before it overflows
            found -= np.log(product)
            product[...] = 1.0
    found -= np.log(product)
    return np.where(astray, found, -np.inf)


def _chance_of(run: Run) -> Chance:
    """Return what gives the log density of how far pricks lie off, as `LeftOut.likely` asks."""
    last = len(run.points) - 1

    def logs(off: FloatArray, sets: Indices) -> FloatArray:
        found = all_strayed(off)
        if run.straight or run.closed:
            return found
        for outer, inner in ((0, 1), (last, last - 1)):
            both = np.flatnonzero((sets == outer).any(axis=1) & (sets == inner).any(axis=1))
            if len(both):
                there = np.arange(len(both))
                out, within = (
                    off[..., both, :][..., there, (sets[both] == n).argmax(axis=1)]
                    for n in (outer, inner)
                )
                turned = (out * within > 0.0) & (np.abs(out) > np.abs(within))
                found[..., both] += np.where(turned, np.log(TURNED), 0.0)
        for four in ((0, 1, 2, 3), (last, last - 1, last - 2, last - 3)):
            found = found + np.where(np.isin(sets, four).sum(axis=1) > 2, np.log(BENT), 0.0)
        return found

    return logs


def _weigh(evidence: Evidence, run: Run, also: Set = ()) -> dict[Set, float]:
    """Return the log likelihood of every set of pricks that may have strayed, and of one more."""
    count, chance = len(run.points), _chance_of(run)
    whole = LeftOut.none(evidence)
    every: dict[Set, float] = {(): evidence.total}
    if also:
        first, before = np.zeros(1, dtype=np.intp), whole
        for n in also[:-1]:
            before = before.without(first, first + n)
        every[also] = float(before.likely(first, first + also[-1], chance)[0])
    beam, most = whole, min(max(count // 3, 1), most_strays(count) + 1)
    for size in range(1, most + 1):
        if count - size < (2 if run.straight else FEWEST_PRICKS - 1):
            break
        made: dict[Set, tuple[int, int]] = {}
        for row, before_it in enumerate(beam.sets.tolist()):
            for n in range(count):
                if n not in before_it and n not in run.sure:
                    made.setdefault(tuple(sorted((*before_it, n))), (row, n))
        if not made:
            break
        which, points = np.array(list(made.values())).T
        likely = beam.likely(which, points, chance)
        level = dict(zip(made, likely.tolist(), strict=True))
        every |= level
        hopeless = size >= 3 and max(level.values()) < max(every.values()) - _HOPELESS
        if size == most or hopeless:
            break
        width = int(np.ceil(_BEAM * min(1.0, _LARGE / size) ** 2))
        best = sorted(sorted(level), key=level.__getitem__, reverse=True)[:width]
        which, points = np.array([made[some] for some in best]).T
        beam = beam.without(which, points)
    return every
