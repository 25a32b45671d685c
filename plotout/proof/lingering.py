"""A beam that stays about one place: it waits there, or goes to and fro, and burns it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from plotout.geometry.strokes import FloatArray
from plotout.model import Traced

_LONG = 2.0  # s: more than any hole takes that is burnt (from memory)
_SPOT = 0.3  # mm about a place: as wide as a beam burns (from memory)
_SHARES = (0.25, 0.5, 0.75, 1.0)  # of that time, at which a beam that leaves is soon found to


@dataclass(slots=True)
class Lingering:
    """Whether the beam of a reading in parts stays about one place. at: x, y of the first, mm."""

    at: tuple[float, float] | None = None

    def add(self, traced: Sequence[Traced]) -> None:
        """Take in the next strokes."""
        lit = [one for one in traced if len(one.points) and one.power != 0.0]
        lit = [one for one in lit if one.feed or one.waits]
        if self.at or not lit:
            return
        points = np.vstack([part for one in lit for part in (one.points[:1], one.points)])
        found = next(_stays(points, np.concatenate([_seconds(one) for one in lit])), None)
        self.at = None if found is None else (float(points[found, 0]), float(points[found, 1]))

    def words(self) -> str:
        """Return it in words, "" if it doesn't."""
        if self.at is None:
            return ""
        x, y = self.at
        return f"its beam stays for over {_LONG:g} s about one place, at x {x:.2f}, y {y:.2f} mm"


def _seconds(traced: Traced) -> FloatArray:
    """Return the time to each point from the one before, (n + 1,), with its first point twice: none
    to that, and then what it waits there.
    """
    legs = np.hypot(*np.diff(traced.points, axis=0).T)
    return np.concatenate([[0.0, traced.waits], legs / (traced.feed or math.inf)])


def _stays(points: FloatArray, seconds: FloatArray) -> Iterator[int]:
    """Yield the numbers of the points about which it stays too long."""
    clock = np.cumsum(seconds)
    begins = np.arange(len(points))
    for share in _SHARES:
        then = np.searchsorted(clock, clock[begins] + share * _LONG)
        begins, then = begins[then < len(points)], then[then < len(points)]
        begins = begins[np.hypot(*(points[then] - points[begins]).T) <= _SPOT]
    for begin in begins:
        end = np.searchsorted(clock, clock[begin] + _LONG) + 1
        if np.hypot(*(points[begin:end] - points[begin]).T).max() <= _SPOT:
            yield int(begin)
