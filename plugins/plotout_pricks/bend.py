"""The bend and the heading at the ends of curves."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from plotout import FloatArray

LEAST = 0.005  # mm of a fit whose pricks all lie in one place


def cross(one: FloatArray, other: FloatArray) -> FloatArray:
    """Return the cross products of vectors, (m, 2) each."""
    return np.asarray(one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0])


@dataclass(frozen=True, eq=False)
class Tails:
    """Curves, (u, k, 2), in the direction of one of their ends, that stand for m = u * times.

    times: how often all of them are repeated, one set after another.
    """

    curves: FloatArray
    times: int = 1
    _known: dict[float, tuple[FloatArray, FloatArray]] = field(default_factory=dict, init=False)

    @cached_property
    def last(self) -> FloatArray:
        """Their last points, (m, 2)."""
        return np.tile(self.curves[:, -1], (self.times, 1))

    def ends(self, near: float) -> tuple[FloatArray, FloatArray]:
        """Return the bend, 1/mm, and the heading at the curves' ends, (m,).

        near: mm of their ends over which the bend is taken.
        """
        if near not in self._known:
            backwards, reached, length = self._measured
            back = np.minimum(near, length / 2.0)
            places = points_at(backwards, reached, back[:, None] * np.array([0.5, 1.0]))
            bend, heading = _bend(places[:, 1], places[:, 0], backwards[:, 0], back)
            self._known[near] = np.tile(bend, self.times), np.tile(heading, self.times)
        return self._known[near]

    @cached_property
    def turned(self) -> tuple[FloatArray, FloatArray]:
        """By how many radians they turn from their first step to their last, (m,), for each mm.

        And that over all that they turn, either way: 1 for one that never turns back, 0 for an S.
        """
        steps = np.diff(self.curves, axis=1)
        angles = np.unwrap(np.arctan2(steps[..., 1], steps[..., 0]), axis=1)
        turned = angles[:, -1] - angles[:, 0]
        either_way = np.abs(np.diff(angles, axis=1)).sum(axis=1)
        one_way = np.abs(turned) / np.maximum(either_way, np.finfo(float).tiny)
        return np.tile(turned / self._measured[2], self.times), np.tile(one_way, self.times)

    @cached_property
    def _measured(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """The curves the other way round, (u, k, 2), their distances, (u, k), and lengths, (u,)."""
        backwards = self.curves[:, ::-1]
        reached = distances(backwards)
        return backwards, reached, np.maximum(reached[:, -1], LEAST)


def mean_bend(curve: FloatArray) -> float:
    """Return by how many radians a curve, (k, 2), turns for each mm, either way."""
    steps = np.diff(curve, axis=0)
    angles = np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))
    return float(np.abs(np.diff(angles)).sum() / max(np.hypot(*steps.T).sum(), LEAST))


def distances(lines: FloatArray) -> FloatArray:
    """Return the distances along lines, (m, k, 2), of their points from the first, (m, k), mm."""
    steps = np.diff(lines, axis=1)
    found = np.zeros(lines.shape[:2])
    np.cumsum(np.hypot(steps[..., 0], steps[..., 1]), axis=1, out=found[:, 1:])
    return found


def points_at(lines: FloatArray, reached: FloatArray, at: FloatArray) -> FloatArray:
    """Return the points of lines, (m, k, 2), at distances along them, (m, p), mm: (m, p, 2).

    reached: the distances of their own points. Beyond a line's ends: the end.
    """
    after = (reached[:, None, 1:-1] < at[..., None]).sum(axis=2) + 1
    row = np.arange(len(lines))[:, None]
    before, step = reached[row, after - 1], reached[row, after] - reached[row, after - 1]
    share = np.clip((at - before) / np.where(step > 0.0, step, 1.0), 0.0, 1.0)[..., None]
    first = lines[row, after - 1]
    return np.asarray(first + share * (lines[row, after] - first))


def _bend(
    first: FloatArray, middle: FloatArray, last: FloatArray, apart: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the bend, 1/mm, and the heading at the last of three places along curves, (m,).

    apart: mm from the first to the last.
    """
    one, other = middle - first, last - middle
    turn = np.arctan2(cross(one, other), (one * other).sum(axis=1))
    heading = np.arctan2(other[:, 1], other[:, 0]) + turn / 2.0
    return turn / (apart / 2.0), heading
