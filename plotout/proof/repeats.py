"""Strokes that a file has worked more often than its machine's profile says.

Two copies of a job in one file, one after the other, are the usual reason: nothing in either is
wrong, but every cut is made twice. Strokes are compared by their segments, whichever way they run,
and wherever a closed one begins.
"""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.strokes import FloatArray
from plotout.machine import Machine
from plotout.model import Reading, Traced

STEP = 0.001  # mm to which places are compared
Hashes = NDArray[np.uint64]
_FIRST, _SECOND, _BY = (np.uint64(n) for n in (0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 31))


@dataclass(slots=True)
class Repeats:
    """Counts the strokes of a reading in parts. Of a stroke only a hash is kept."""

    machine: Machine
    _found: dict[int, array[int]] = field(default_factory=dict)
    _last: array[int] | None = None

    def add(self, part: Reading) -> None:
        """Take in the next part of a reading."""
        traced = [one for one in part.traced if len(one.points)]
        if not traced:
            return
        begins = [at for at, one in enumerate(traced) if not one.follows or not at]
        whole = np.add.reduceat(_of_each(traced), begins)
        if traced[0].follows and self._last:  # the rest of a stroke that the last part began
            whole[:1] += np.array([self._last.pop()], np.uint64)
        passes = np.array([self._passes(traced[at]) for at in begins])
        for number in set(passes.tolist()):
            kept = self._found.setdefault(number, array("Q"))
            kept.frombytes(whole[passes == number].tobytes())
        self._last = self._found[int(passes[-1])]

    def _passes(self, traced: Traced) -> int:
        """Return how often the same is meant: a tool's passes, unless each is deeper or harder. Of
        an unknown tool, the most of all.
        """
        tools = [tool for tool in self.machine.tools if traced.tool in (None, tool.number)]
        grows = traced.depth is not None
        return max((1 if grows or tool.pass_force else tool.passes for tool in tools), default=1)

    def words(self) -> str:
        """Return in words how many are there too often, "" if none."""
        again, strokes = self._count()
        if not again:
            return ""
        if 2 * again >= strokes:
            return f"all of its work is there more than once ({again} of {strokes} strokes again)"
        return f"{again} of {strokes} strokes are there more than once, in the same place"

    @property
    def whole(self) -> bool:
        """Whether at least half of all strokes are there again: another copy of the job."""
        again, strokes = self._count()
        return 0 < strokes <= 2 * again

    def _count(self) -> tuple[int, int]:
        """Return how many strokes are there too often, and how many there are."""
        strokes = again = 0
        for passes, hashes in self._found.items():
            _, times = np.unique(np.frombuffer(hashes, np.uint64), return_counts=True)
            strokes += len(hashes)
            again += int(np.maximum(times - passes, 0).sum())
        return again, strokes


def _of_each(traced: Sequence[Traced]) -> Hashes:
    """Return a hash of every line, (n,): the sum of those of its segments, by how it is worked."""
    ends = np.cumsum([len(one.points) for one in traced])
    points = _mixed(np.concatenate([one.points for one in traced]))
    along = points * np.roll(points, -1)  # from every point to the next, whichever is first
    along[ends - 1] = 0  # no segment leads on from a line's last point
    sums = np.add.reduceat(along, np.concatenate([[0], ends[:-1]]))
    single = np.array([len(one.points) == 1 for one in traced])
    sums[single] = points[ends[single] - 1]
    ways = [
        hash((one.tool, one.feed, one.power, one.force, one.depth)) & 0xFFFFFFFF for one in traced
    ]
    return np.asarray(sums * (2 * np.array(ways, np.uint64) + 1))


def _mixed(points: FloatArray) -> Hashes:
    """Return a number of every place, (n,), spread over 64 bits."""
    x, y = np.rint(points / STEP).astype(np.int64).T.astype(np.uint64)
    mixed = x * _FIRST + y * _SECOND
    mixed ^= mixed >> _BY
    mixed *= _FIRST
    return np.asarray(mixed ^ (mixed >> _BY) | np.uint64(1))
