"""Stray pricks: which pricks of a run don't belong, and which may not.

What is judged is how likely every set of pricks strayed (see stray_sets).
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from itertools import chain

import numpy as np

from plotout.geometry.fitting import End, NoCurveError, backwards, fit_line
from plotout.geometry.stray_sets import (
    LEAST_OFF,
    RARE,
    Run,
    Set,
    View,
    seen_at,
    settled,
    view_without,
)
from plotout.geometry.strokes import FloatArray
from plotout.geometry.unexplained import AGAIN, goes_to_and_fro, is_wide, most_strays

COMMON = 0.3  # of pricks: asked of a run in which something was found, so that all are named
SURE_AT_END = 0.65  # chance from which an end's prick is left out: it is left out in vain in most
# cases below, since a curve that tightens looks like that, and nothing past it holds the curve then
DOUBT_IF_COMMON = 0.012  # the least chance of a candidate then: 1 of 100 strays is unnamed at 8
TOO_FEW = 6  # pricks of which any may have strayed (tests/bench/prick_ceiling.py)
DOUBT = 0.1  # the least chance of a wrong decision on a prick that is reported
ASKED = 0.25  # chance that any prick strayed from which that is asked, if none is left out: of what
# is less likely most is a bend, as a steep raglan's, and lengths are kept by each explanation
ASKED_OFF, ASKED_SIGMAS = 1.5, 5.0  # mm, and of the scatter: how far off it is then, at least,
# unless it is at an end: what is nearer spoils no seam, and the length's certainty holds it
DOUBT_BESIDE = 0.02  # the same, in a run in which something was found: another explanation
UNLIKELY = 1e-5  # chance of an explanation that isn't kept
_CURVELESS = 3  # fits without a result after which no more is sought


@dataclass(frozen=True, slots=True)
class Suspect:
    """off: how far a prick lies from the curve through the others, mm. chance: that it strayed."""

    off: float
    chance: float


@dataclass(frozen=True, slots=True)
class Explanation:
    """A set of pricks, by index, that strayed, and the chance that it was just these."""

    strayed: Set
    chance: float


@dataclass(frozen=True, slots=True)
class Strays:
    """By index: the pricks to leave out, and the doubtful ones that are kept.

    candidates: other kept pricks that would be doubted if strays were common, only where something
    is doubtful anyway. explanations: of the run, the likeliest first.
    """

    left_out: dict[int, Suspect]
    doubted: dict[int, Suspect]
    candidates: tuple[int, ...] = ()
    explanations: tuple[Explanation, ...] = (Explanation((), 1.0),)

    @property
    def worth_asking(self) -> bool:
        """Whether what is doubtful is likely enough, or nothing is known at all."""
        none = sum(one.chance for one in self.explanations if not one.strayed)
        return bool(self.left_out) or not self.doubted or none <= 1.0 - ASKED


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
        return Strays({}, {})
    if backwards(points):
        last = len(points) - 1
        return _turned(
            strays(points[::-1], straight=straight, closed=closed, start=end, end=start,
                   sure=[last - n for n in sure]),
            last,
        )  # fmt: skip
    if is_wide(points) if straight else goes_to_and_fro(points):
        raise NoCurveError(points)
    run = Run(points, straight, closed, start, end, frozenset(sure))
    found = settled(run)
    if found is None:
        every = tuple(n for n in range(len(points)) if n not in run.sure)
        return Strays({}, {}, every)
    chosen, view, weights = found
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
        without = view_without(run, (*likelier, n), view.fair)
        in_vain += without is None
        if without is not None and abs(float(without.off[n])) >= LEAST_OFF:
            doubted[n] = Suspect(abs(float(without.off[n])), float(chances[n]))
    if not left_out and not _worth_asking(doubted, view, run):
        doubted = {}
    candidates: list[int] = []
    if left_out or doubted:
        common = _chances(weights, len(points), COMMON / RARE)
        likely = (common > DOUBT_IF_COMMON) | (len(points) <= TOO_FEW)
        known = {*left_out, *doubted, *run.sure}
        candidates = [n for n in np.flatnonzero(likely).tolist() if n not in known]
    return Strays(left_out, doubted, tuple(candidates), _explanations(weights))


def _worth_asking(doubted: dict[int, Suspect], view: View, run: Run) -> bool:
    """Return whether one of a run's doubtful pricks would be a stray that matters.

    Without an end's prick a curve is led on from further off: that always does.
    """
    likely = {n: one.off for n, one in doubted.items() if one.chance > DOUBT}
    if not (run.straight or run.closed) and likely.keys() & {0, len(run.points) - 1}:
        return True
    furthest = max(likely.values(), default=0.0)
    if furthest < ASKED_OFF:
        return False
    others = np.delete(run.points, list(doubted), axis=0)
    if len(others) < 3:  # they show no scatter
        return True
    seen = seen_at(others, view.fair or fit_line(others))
    return furthest >= ASKED_SIGMAS * seen.evidence.scatter()


def _turned(judged: Strays, last: int) -> Strays:
    """Return what was judged of pricks the other way round. last: the greatest index."""
    return Strays(
        {last - n: suspect for n, suspect in reversed(judged.left_out.items())},
        {last - n: suspect for n, suspect in reversed(judged.doubted.items())},
        tuple(last - n for n in reversed(judged.candidates)),
        tuple(
            Explanation(tuple(last - n for n in reversed(one.strayed)), one.chance)
            for one in judged.explanations
        ),
    )


def _explanations(weights: dict[Set, float]) -> tuple[Explanation, ...]:
    """Return the sets of pricks that may have strayed, and how likely, the likeliest first.

    A hand that strayed once in a run is likelier to have strayed twice.
    """
    more = np.log(AGAIN / RARE)
    logs = np.array([weight + max(len(some) - 1, 0) * more for some, weight in weights.items()])
    shares = np.exp(logs - np.logaddexp.reduce(logs)).tolist()
    found = sorted(zip(shares, weights, strict=True), key=lambda one: (-one[0], one[1]))
    return tuple(Explanation(some, share) for share, some in found if share >= UNLIKELY)


def _least_chance(index: int, run: Run) -> float:
    """Return the chance from which a prick is left out."""
    at_end = index in (0, len(run.points) - 1) and not (run.straight or run.closed)
    return SURE_AT_END if at_end else 0.5


def _chances(weights: dict[Set, float], count: int, odds: float = 1.0) -> FloatArray:
    """Return each prick's chance of being a stray, (count,). odds: strays are so much commoner."""
    logs = np.array([weight + len(some) * np.log(odds) for some, weight in weights.items()])
    shares = np.exp(logs - np.logaddexp.reduce(logs))
    every = np.fromiter(chain.from_iterable(weights), dtype=np.intp)
    each = np.repeat(shares, [len(some) for some in weights])
    return np.bincount(every, each, count).astype(np.float64)
