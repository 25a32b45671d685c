"""How a cutting line goes on past a fold: as the mirror image of what leads up to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Protocol

import numpy as np

from plotout.geometry.corners import Ends, Joined
from plotout.geometry.polyline import mirrored
from plotout.geometry.strokes import FloatArray


class Side(Protocol):
    """A side of an outline."""

    @property
    def points(self) -> FloatArray:
        """Its points, (n, 2), mm."""

    @property
    def corner(self) -> str:
        """The kind of its first corner."""

    @property
    def on_fold(self) -> bool:
        """Whether it is a half piece's fold."""


def with_twins(
    ends: Ends, sides: Sequence[Side], mitred: Sequence[Joined], index: int
) -> tuple[Ends, tuple[int, int]]:
    """Return the turned-back corner at the start of side `index` with the other half of the sides
    that lead from it to a fold, and how many points of both parallels are those of other halves.

    mitred: all corners, mitred: what the parallels are at the fold.
    """
    past = [0, 0]
    many = len(sides)
    if sides[index].corner != "turned back" or many < 4:
        return ends, (0, 0)
    behind, ahead = sides[index - 2], sides[(index + 1) % many]
    before, between, after = mitred[index]
    if behind.on_fold:
        _, over, line = mitred[index - 1]
        whole = _opened(over, line, behind)
        past[0] = len(whole) - len(line)
        beyond = _mirrored(np.vstack([between, after]), behind)
        ends = replace(ends, before=whole, beyond_before=beyond)
    if ahead.on_fold:
        line, over, _ = mitred[(index + 1) % many]
        whole = _opened(over[::-1], line[::-1], ahead)[::-1]
        past[1] = len(whole) - len(line)
        beyond = _mirrored(np.vstack([before, between])[::-1], ahead)
        ends = replace(ends, after=whole, beyond_after=beyond)
    return ends, (past[0], past[1])


def _opened(over: FloatArray, line: FloatArray, fold: Side) -> FloatArray:
    """Return a parallel from a fold on, by what of it is at the fold, with its other half before
    it.
    """
    half = np.vstack([over, line])
    return np.vstack([_mirrored(half[::-1], fold), half])


def _mirrored(points: FloatArray, fold: Side) -> FloatArray:
    return mirrored(points, fold.points[0], fold.points[-1])
