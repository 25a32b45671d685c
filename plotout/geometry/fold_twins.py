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
        half = np.vstack([over, line])
        twin = _mirrored(half[::-1], behind)
        past[0] = len(twin) + len(over)
        ends = replace(
            ends,
            before=np.vstack([twin, half]),
            beyond_before=_mirrored(np.vstack([between, after]), behind),
        )
    if ahead.on_fold:
        line, over, _ = mitred[(index + 1) % many]
        half = np.vstack([line, over])
        twin = _mirrored(half[::-1], ahead)
        past[1] = len(twin) + len(over)
        ends = replace(
            ends,
            after=np.vstack([half, twin]),
            beyond_after=_mirrored(np.vstack([before, between])[::-1], ahead),
        )
    return ends, (past[0], past[1])


def _mirrored(points: FloatArray, fold: Side) -> FloatArray:
    return mirrored(points, fold.points[0], fold.points[-1])
