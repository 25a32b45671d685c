"""Stray pricks: which pricks of a run don't belong, and which may not.

Every set of pricks that may have strayed is weighed against every other, the empty set first: how
well a line or a fair curve fits the rest, against how rarely a hand strays. So two strays can't
hide each other, and a prick that marks a tight bend is not taken for a stray.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from plotout.geometry.evidence import NO_PRICE, Evidence, Indices, weighed
from plotout.geometry.fairing import Fair, faired
from plotout.geometry.fitting import (
    FEWEST_PRICKS,
    End,
    NoCurveError,
    backwards,
    fit_line,
    met,
    smooth_curve,
    straight_problem,
)
from plotout.geometry.leaving_out import Chance, LeftOut
from plotout.geometry.strokes import FloatArray
from plotout.geometry.unexplained import AGAIN, goes_to_and_fro, is_wide, most_strays

LEAST_OFF = 1.0  # mm: no prick nearer to the curve is a stray (common practice)
RARE = 0.015  # of pricks stray (common practice)
COMMON = 0.3  # of pricks: asked of a run that can't show it, so that no stray goes unnamed
# Of runs with two pricks at the end off to one side, the outer further, in how many both strayed:
# two do in RARE squared, a quarter of those alike; one curve in twenty turns suddenly at its end.
TURNED = 0.001
SURE_AT_END = 0.65  # chance from which an end's prick is left out: it is left out in vain in most
# cases below, since a curve that tightens looks like that, and nothing past it holds the curve then
UNPROVED = 4.0  # mm: a stray that would spoil a seam, and can hide among few pricks
DOUBT_IF_COMMON = 0.012  # the least chance of a candidate then: 1 of 100 strays is unnamed at 8
TOO_FEW = 6  # pricks of which any may have strayed (tests/bench/prick_ceiling.py)
USUAL_OFF = 8.0  # mm: half of all strays are nearer (common practice)
DOUBT = 0.06  # the least chance of a wrong decision on a prick that is reported
DOUBT_BESIDE = 0.02  # the same, in a run in which something was found: another explanation
_STIFF = 6.0  # degrees of freedom of a first curve, which strays hardly affect
_STIFF_SHARE = 0.75  # and at most this many per prick
_BEAM, _LARGE = 40, 13  # sets that are extended; fewer of those with more pricks than this
_AT_ONCE = 32  # distances whose product is still no overflow
_CURVELESS = 3  # fits without a result after which no more is sought
_HOPELESS = 6.0  # of log likelihood: sets this much worse than the best are not extended
_RIVAL = 10.0  # and these are tried at a curve of their own
_ROUNDS = 4

Set = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Suspect:
    """off: how far a prick lies from the curve through the others, mm. chance: that it strayed."""

    off: float
    chance: float


@dataclass(frozen=True, slots=True)
class Strays:
    """By index: the pricks to leave out, and the doubtful ones that are kept.

    unproved: pricks that the others can't vouch for: `UNPROVED` mm off, they would pass as a bend.
    candidates: other kept pricks that would be doubted if strays were common. Only where something
    is doubtful anyway: found, doubted or unproved. chances: of each prick, that it strayed; a hand
    that strayed once in a run is likelier to have strayed twice, so that others are likelier to.
    """

    left_out: dict[int, Suspect]
    doubted: dict[int, Suspect]
    chances: tuple[float, ...]
    unproved: tuple[int, ...] = ()
    candidates: tuple[int, ...] = ()


def strays(
    points: FloatArray,
    *,
    straight: bool = False,
    closed: bool = False,
    start: End | None = None,
    end: End | None = None,
    sure: Collection[int] = (),
) -> Strays:
    """Judge (n, 2) points, in order, of a straight line, or of a curve with such ends.

    sure: points that surely didn't stray, by index. Raises NoCurveError where nothing explains
    them, unless more strayed than a hand pricks wrong.
    """
    if straight and len(points) < 3:  # any two lie on a line
        return Strays({}, {}, (0.0,) * len(points))
    if backwards(points):
        last = len(points) - 1
        turned = strays(points[::-1], straight=straight, closed=closed, start=end, end=start,
                        sure=[last - n for n in sure])  # fmt: skip
        return Strays(
            {last - n: suspect for n, suspect in reversed(turned.left_out.items())},
            {last - n: suspect for n, suspect in reversed(turned.doubted.items())},
            turned.chances[::-1],
            tuple(last - n for n in reversed(turned.unproved)),
            tuple(last - n for n in reversed(turned.candidates)),
        )
    if is_wide(points) if straight else goes_to_and_fro(points):
        raise NoCurveError(points)
    run = _Run(points, straight, closed, start, end, frozenset(sure))
    settled = _settled(run)
    if settled is None:
        every = tuple(n for n in range(len(points)) if n not in run.sure)
        return Strays({}, {}, (RARE,) * len(points), every, every)
    chosen, view, weights = settled
    if len(chosen) > most_strays(len(points)):
        raise NoCurveError(points)
    chances = _chances(weights, len(points))
    far = np.abs(view.off) >= LEAST_OFF
    likelier = tuple(n for n in chosen if chances[n] >= _least_chance(n, run) and far[n])
    left_out = {n: Suspect(abs(float(view.off[n])), float(chances[n])) for n in likelier}
    doubted = {}
    least = DOUBT_BESIDE if left_out or (far & (chances > DOUBT)).any() else DOUBT
    in_vain = 0
    for n in np.flatnonzero(chances > least).tolist():
        if n in left_out or in_vain == _CURVELESS:
            continue
        without = _view(run, (*likelier, n), view.fair)
        in_vain += without is None
        if without is not None and abs(float(without.off[n])) >= LEAST_OFF:
            doubted[n] = Suspect(abs(float(without.off[n])), float(chances[n]))
    if likelier != chosen:
        view = _view(run, likelier, view.fair) or view
    unproved = _unproved(view, run, left_out)
    candidates: list[int] = []
    if left_out or doubted or unproved:
        common = _chances(weights, len(points), COMMON / RARE)
        likely = (common > DOUBT_IF_COMMON) | (len(points) <= TOO_FEW)
        known = {*left_out, *doubted, *run.sure}
        candidates = [n for n in np.flatnonzero(likely).tolist() if n not in known]
    again = _chances(weights, len(points), AGAIN / RARE) if left_out else chances
    again[[*left_out]] = chances[[*left_out]]
    return Strays(left_out, doubted, tuple(again.tolist()), unproved, tuple(candidates))


def _least_chance(index: int, run: _Run) -> float:
    """Return the chance from which a prick is left out."""
    at_end = index in (0, len(run.points) - 1) and not (run.straight or run.closed)
    return SURE_AT_END if at_end else 0.5


def _chances(weights: dict[Set, float], count: int, odds: float = 1.0) -> FloatArray:
    """Return each prick's chance of being a stray, (count,). odds: strays are so much commoner."""
    logs = np.array([weight + len(some) * np.log(odds) for some, weight in weights.items()])
    shares = np.exp(logs - np.logaddexp.reduce(logs))
    chances = np.zeros(count)
    for some, share in zip(weights, shares, strict=True):
        chances[list(some)] += share
    return chances


@dataclass(frozen=True, slots=True, eq=False)
class _Run:
    points: FloatArray
    straight: bool
    closed: bool
    start: End | None
    end: End | None
    sure: frozenset[int]


@dataclass(frozen=True, slots=True, eq=False)
class _View:
    """What all pricks say at a curve through some. off: (n,), distances from it, mm."""

    evidence: Evidence
    off: FloatArray
    fair: Fair | None


def _settled(run: _Run) -> tuple[Set, _View, dict[Set, float]] | None:
    """Weigh all sets at the curve of the likeliest, again and again until it stays the same."""
    view = _first(run)
    if view is None:
        return None
    tried: dict[Set, tuple[_View, dict[Set, float]]] = {}
    curveless = set[Set]()
    weights = _weigh(view.evidence, run)
    rivals = _rivals(weights)
    chosen = _likeliest(weights)
    for asked in [None] * _ROUNDS + [(), *rivals]:
        chosen = chosen if asked is None else asked
        if chosen in tried or chosen in curveless:
            continue
        new = _view(run, chosen, view.fair)
        if new is None:
            curveless.add(chosen)
        else:
            tried[chosen] = new, _weigh(new.evidence, run, chosen)
            chosen = _likeliest(tried[chosen][1])
    if not tried:  # no curve was found through the likeliest: keep the judgement at the stiff one
        return chosen, view, weights
    best = max(tried, key=lambda some: tried[some][1][some])
    view, weights = tried[best]
    if () in tried:
        weights[()] = max(weights[()], tried[()][1][()])
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


def _first(run: _Run) -> _View | None:
    """Return what all pricks say at a stiff curve, which strays hardly affect."""
    if run.straight:
        return _view(run, (), None)
    begin, finish = met(run.points, run.start, run.end)
    free = min(_STIFF, _STIFF_SHARE * len(run.points))
    like = smooth_curve(run.points, closed=run.closed, start=run.start, end=run.end, most_free=free)
    fair = faired(run.points, like, closed=run.closed, start=begin, end=finish, stiff=True)
    return None if fair is None else _seen(run, fair)


def _view(run: _Run, left_out: Set, like: Fair | None) -> _View | None:
    kept = [n for n in range(len(run.points)) if n not in left_out]
    if like is None:
        line = fit_line(run.points[kept])
        design, off = straight_problem(line, run.points)
        return _View(weighed(design, off, [NO_PRICE]), off, None)
    begin, finish = met(run.points, run.start, run.end)
    fair = faired(run.points[kept], like.points, closed=run.closed, start=begin, end=finish,
                  doubted=run.points[list(left_out)])  # fmt: skip
    return None if fair is None else _seen(run, fair)


def _seen(run: _Run, fair: Fair) -> _View:
    return _View(*fair.judged(run.points), fair)


def _unproved(view: _View, run: _Run, left_out: Collection[int]) -> tuple[int, ...]:
    """Return a curve's pricks that would not even be doubted if they lay off to one side.

    A straight of few pricks is left to the certainty of its length.
    """
    if view.fair is None:
        return ()
    kept = np.array([n for n in range(len(run.points)) if n not in left_out])
    least = np.log(DOUBT / (1.0 - DOUBT))
    either_side = np.tile([UNPROVED, -UNPROVED], len(kept))
    alone = np.arange(len(kept))
    seen = view.evidence if not left_out else view.fair.judged(run.points[kept])[0]
    every = LeftOut.none(seen)
    moved = every.moved(np.repeat(alone, 2), either_side)
    which, points = (part.ravel() for part in np.indices((len(either_side), len(kept))))
    without = moved.likely(which, points, lambda off, _: _all_strayed(off))
    # without any of them, not only the one that is moved: what matters is that something shows
    shows = without.reshape(-1, len(kept)).max(axis=1) - moved.totals > least
    hidden = kept[~shows.reshape(-1, 2).all(axis=1)].tolist()
    return tuple(n for n in hidden if n not in run.sure)


def _all_strayed(off: FloatArray) -> FloatArray:
    """Return the log density of strays this far, (..., k), mm, all of them: (...).

    Cauchy's tails, none near the curve.
    """
    tails = np.zeros(off.shape[:-1])
    for first in range(0, off.shape[-1], _AT_ONCE):  # one logarithm for many, before it overflows
        part = off[..., first : first + _AT_ONCE] / USUAL_OFF
        tails += np.log((1.0 + part**2).prod(axis=-1))
    found = off.shape[-1] * np.log(RARE / (np.pi * USUAL_OFF)) - tails
    return np.where((np.abs(off) >= LEAST_OFF).all(axis=-1), found, -np.inf)


def _chance_of(run: _Run) -> Chance:
    """Return what gives the log density of how far pricks lie off, as `LeftOut.likely` asks."""
    last = len(run.points) - 1

    def logs(off: FloatArray, sets: Indices) -> FloatArray:
        found = _all_strayed(off)
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
        return found

    return logs


def _weigh(evidence: Evidence, run: _Run, also: Set = ()) -> dict[Set, float]:
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
