"""Finds the steps of a run in which pricks seem to be missing.

How evenly a hand pricks shows in all runs of a piece: whether the long steps of one run are several
usual ones is judged by the scatter of the others, and their usual step serves a run of which many
pricks are missing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from plotout import FloatArray

NEAR, SO_MANY = 0.25, 0.75  # a run is even if this share of its steps is so near a whole number
HALF, SOME = 0.5, 0.25  # of single steps, this share near one; if they are those of other runs
SHORT, NOT_TWO = 0.25, 1.5  # this share of steps is short; single ones are below so many of these
FEWEST, ENOUGH = 6, 12  # steps that show what is even: of the run, and of the others
ROUGH = 0.19  # of a step: a hand that scatters more does not prick evenly
LIKE, STEADY = 1.8, 0.05  # times the scatter of others that a run's may be; the least of theirs
USUALLY = 0.85  # share of steps that are usual ones, however uneven
ALIKE = 3  # steps that are alike
GAP, WIDE = 1.6, 3.0  # least step, in usual ones, in which a prick is missing; if they are uneven


@dataclass(frozen=True, slots=True, eq=False)
class Gap:
    """A step that is too long for its run. after: index of the place before it; at: its middle.

    count: of pricks that are missing; 0 if the run is pricked unevenly, so that it isn't known.
    """

    after: int
    count: int
    at: FloatArray
    length: float
    usual: float


def pricks_unseen(places: FloatArray, others: Sequence[FloatArray] = ()) -> list[Gap]:
    """Return the steps of a run, (n, 2) mm from corner to corner, in which pricks may be missing.

    others: the places of the piece's other runs. Where it is pricked evenly, those of two steps or
    so; else those far longer than all others.
    """
    steps = _steps(places)
    if len(steps) < FEWEST:
        return []
    even = _usual(steps, [_steps(other) for other in others])
    usual = even or float(np.median(steps))
    wide = steps > GAP * usual
    if not even:
        wide = steps > np.maximum(WIDE * usual, 1.5 * np.quantile(steps, USUALLY))
    elif _is_closer_at_ends(np.flatnonzero(wide), steps / usual):
        return []
    return [
        Gap(int(k), round(float(steps[k]) / usual) - 1 if even else 0,
            (places[k] + places[k + 1]) / 2.0, float(steps[k]), usual)
        for k in np.flatnonzero(wide)
    ]  # fmt: skip


def _is_closer_at_ends(wide: NDArray[np.intp], lengths: FloatArray) -> bool:
    """Return whether the wide steps, by index, are all of a run's middle, and alike.

    A run may be pricked closer near its corners. Missing pricks leave no such steps.
    lengths: (n,), of all its steps, in usual ones.
    """
    together = len(wide) >= ALIKE and int(np.ptp(wide)) + 1 == len(wide)
    return together and bool(np.ptp(lengths[wide]) < HALF)


def _steps(places: FloatArray) -> FloatArray:
    return np.asarray(np.hypot(*np.diff(places, axis=0).T))


def _usual(steps: FloatArray, others: Sequence[FloatArray]) -> float:
    """Return the step at which a run is pricked evenly, mm; 0 if it is not."""
    own, others = _single(_inner(steps)), [other for other in others if len(other) >= FEWEST // 2]
    if sum(map(len, others)) < ENOUGH:
        return own if _is_even(steps, own, HALF) else 0.0
    theirs = _single(np.concatenate([_inner(other) for other in others]))
    scatter = _scatter(others, theirs)
    if scatter > ROUGH:
        return 0.0
    for usual, single in ((theirs, SOME), (own, HALF)):
        fitted = _fitted(steps, usual)
        inner = _inner(_off(steps, fitted))
        off = float(np.sqrt(np.mean(inner**2)))
        if _is_even(steps, fitted, single) and off <= LIKE * max(scatter, STEADY):
            return fitted
    return 0.0


def _inner(steps: FloatArray) -> FloatArray:
    """Return a run's steps without those at its corners, which are often shorter."""
    return steps[1:-1] if len(steps) > 2 else steps


def _single(steps: FloatArray) -> float:
    """Return the length of single steps among some of which pricks are missing."""
    return float(np.median(steps[steps < NOT_TWO * np.quantile(steps, SHORT)]))


def _scatter(runs: Sequence[FloatArray], usual: float) -> float:
    """Return by how much of a step the places of runs scatter, one sigma.

    Each is pricked at the usual step of all, or at its own.
    """
    offs = []
    for steps in runs:
        ways = [_off(steps, _fitted(steps, usual))]
        if len(steps) >= FEWEST:
            ways.append(_off(steps, _fitted(steps, _single(_inner(steps)))))
        offs.append(min(ways, key=lambda off: float(np.mean(off**2))))
    return 1.48 * float(np.median(np.abs(np.concatenate(offs))))


def _counts(steps: FloatArray, usual: float) -> FloatArray:
    """Return how many usual steps each step is, (n,)."""
    return np.asarray(np.maximum(np.round(steps / usual), 1.0))


def _off(steps: FloatArray, usual: float) -> FloatArray:
    """Return by how much of a step each is off so many, (n,), as if all of them scattered."""
    counts = _counts(steps, usual)
    return np.asarray((steps / usual - counts) / np.sqrt(counts))


def _fitted(steps: FloatArray, usual: float) -> float:
    """Return the usual step by least squares, from a likely one."""
    counts = _counts(steps, usual)
    near = np.abs(steps / usual - counts) < NEAR
    if not near.any():
        return usual
    return float((steps[near] @ counts[near]) / (counts[near] @ counts[near]))


def _is_even(steps: FloatArray, usual: float, single: float) -> bool:
    """Return whether steps are whole numbers of usual ones, and this share of them a single one."""
    near = np.abs(steps / usual - _counts(steps, usual)) < NEAR
    return bool(near.mean() >= SO_MANY and (np.abs(steps / usual - 1.0) < NEAR).mean() >= single)
