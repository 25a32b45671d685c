"""A beam that stays about one place: it waits there, or goes to and fro or round, and burns it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from plotout.geometry.strokes import FloatArray
from plotout.model import Traced

_LONG, _WITHIN = 2.0, 10.0  # s: more than any hole takes that is burnt (from memory)
_SPOT = 0.3  # mm about a place: as wide as a beam burns (from memory)
_EVERY = 0.02  # s from one look to the next, on average
_UNEVEN = (np.sqrt(5.0) - 1.0) / 2.0  # by which looks never keep step with a beam to and fro
_MOST = 20_000  # looks at once
_ENOUGH = round(_LONG / _EVERY) + 2  # looks at one place: for longer than that
_SLOWEST = 0.25  # mm/s: slower ones are found as well by this


@dataclass(slots=True)
class Lingering:
    """Whether the beam of a reading in parts stays about one place. at: its x, y, mm.

    _clock: s for which it has been on; _looks: x, y, mm, and s, of the last `_WITHIN` s of that.
    """

    at: tuple[float, float] | None = None
    _clock: float = 0.0
    _looks: FloatArray = field(default_factory=lambda: np.empty((0, 3)))

    def add(self, traced: Sequence[Traced]) -> None:
        """Take in the next strokes."""
        lit = [one for one in traced if len(one.points) and one.power != 0.0]
        lit = [one for one in lit if one.feed or one.waits]
        if self.at or not lit:
            return
        points = np.vstack([part for one in lit for part in (one.points[:1], one.points)])
        for looks in self._look(points, np.concatenate([_seconds(one) for one in lit])):
            seen = np.vstack([self._looks, looks])
            self.at = _burnt(seen)
            if self.at:
                return
            self._looks = seen[seen[:, 2] > seen[-1, 2] - _WITHIN]

    def _look(self, points: FloatArray, seconds: FloatArray) -> Iterator[FloatArray]:
        """Yield where it is from time to time, x, y, s. seconds: that it takes to each point."""
        clock = self._clock + np.cumsum(seconds)
        first, end = np.ceil(np.array([self._clock, clock[-1]]) / _EVERY).astype(int)
        self._clock = float(clock[-1])
        for begin in range(first, end, _MOST):
            nth = np.arange(begin, min(begin + _MOST, end))
            times = (nth + nth * _UNEVEN % 1.0) * _EVERY
            x, y = (np.interp(times, clock, values) for values in points.T)
            yield np.column_stack([x, y, times])

    def words(self) -> str:
        """Return it in words, "" if it doesn't."""
        if self.at is None:
            return ""
        x, y = self.at
        return (
            f"its beam stays for over {_LONG:g} s of {_WITHIN:g} s about one place, "
            f"at x {x:.2f}, y {y:.2f} mm"
        )


def _seconds(traced: Traced) -> FloatArray:
    """Return the time to each point from the one before, (n + 1,), with its first point twice: none
    to that, and then what it waits there, as far as that matters.
    """
    legs = np.hypot(*np.diff(traced.points, axis=0).T)
    waits = min(traced.waits, 2.0 * _LONG)
    return np.concatenate([[0.0, waits], legs / max(traced.feed or np.inf, _SLOWEST)])


def _burnt(looks: FloatArray) -> tuple[float, float] | None:
    """Return a place about which too many looks lie within `_WITHIN` s, or None."""
    looks = looks[_crowded(looks)]
    if len(looks) < _ENOUGH:
        return None
    from scipy.spatial import cKDTree  # takes longer to load than a sheet to read back

    scaled = looks / (_SPOT, _SPOT, _WITHIN)
    tree = cKDTree(scaled)
    many = tree.query_ball_point(scaled, 1.0, p=np.inf, return_length=True) >= _ENOUGH
    for nth in np.flatnonzero(many):
        near = looks[sorted(tree.query_ball_point(scaled[nth], 1.0, p=np.inf))]
        times = near[np.hypot(*(near[:, :2] - looks[nth, :2]).T) <= _SPOT, 2]
        if (times[_ENOUGH - 1 :] - times[: 1 - _ENOUGH] <= _WITHIN).any():
            return float(looks[nth, 0]), float(looks[nth, 1])
    return None


def _crowded(looks: FloatArray) -> np.ndarray:
    """Return which looks lie in a square of 4 spots with too many others within `_WITHIN` s."""
    crowded = np.zeros(len(looks), dtype=bool)
    for shift in np.ndindex(2, 2):  # every spot lies wholly in a square of one of these grids
        x, y = np.floor(looks[:, :2] / (4.0 * _SPOT) + np.array(shift) / 2.0).astype(np.int64).T
        order = np.lexsort((looks[:, 2], y, x))
        first, last = order[: 1 - _ENOUGH], order[_ENOUGH - 1 :]
        same = (x[first] == x[last]) & (y[first] == y[last])
        full = np.flatnonzero(same & (looks[last, 2] - looks[first, 2] <= _WITHIN))
        marks = np.zeros(len(looks) + 1, dtype=int)
        np.add.at(marks, full, 1)
        np.add.at(marks, full + _ENOUGH, -1)
        crowded[order[np.cumsum(marks)[:-1] > 0]] = True
    return crowded
