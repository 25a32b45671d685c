"""A stroke: a polyline in millimetres, the work along it, and what it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import accumulate, groupby
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

FloatArray: TypeAlias = NDArray[np.float64]


def points_in(value: object) -> FloatArray:
    """Return what a plugin gave as points, (n, 2), as an array. Raises TypeError or ValueError."""
    points = np.asarray(value, dtype=np.float64)
    if points.ndim != 2 or points.shape[1] != 2:
        raise ValueError(f"points have the shape (n, 2), not {points.shape}")
    return points


class Work(StrEnum):
    """What is done along a stroke, in the order in which a sheet is worked."""

    DRAW = "draw"
    SCORE = "score"
    PUNCH = "punch"
    CUT = "cut"


class Mark(StrEnum):
    """What a stroke is on a card or sheet."""

    OUTLINE = "outline"
    STITCHING = "stitching line"
    NOTCH = "notch"
    GRAIN = "grain line"
    FOLD = "fold"
    INTERNAL = "internal line"
    DRILL = "drill hole"
    HOLE = "hanging hole"
    CUTOUT = "cut-out"
    LETTERING = "lettering"
    JOIN = "join line"
    UNDERLAP = "underlap"
    AREA = "area"
    STRIPE = "stripe line"
    PLAID = "plaid line"
    REGISTRATION = "registration mark"
    PAGE = "page mark"


class NotchKind(StrEnum):
    """The notch kinds of ASTM D6673 (layers 4 and 80 to 83)."""

    SLIT = "slit"
    V = "V"
    T = "T"
    CASTLE = "castle"
    CHECK = "check"
    U = "U"


@dataclass(frozen=True, slots=True, eq=False)
class Stroke:
    """One line to be worked.

    points: (n, 2) float64, mm, y up. Closed when the first point is repeated at the end.
        A single point is a hole to punch or a dot.
    size: diameter in mm of a punched hole, else 0. A machine without a punch cuts a circle.
    card: id of the card that it belongs to, "" for the sheet's own marks.
    notch: the kind of notch that it is, or is a line of; None if it is not a notch.
    layer: its layer in a file with layers, beside its mark ("size M"); "" for the mark's.
    """

    points: FloatArray
    work: Work
    mark: Mark
    card: str = ""
    size: float = 0.0
    notch: NotchKind | None = None
    layer: str = ""

    def __reduce__(self) -> tuple[type[Stroke], tuple[object, ...]]:
        """Return how it passes to another process: three times as fast as a dataclass by itself."""
        return Stroke, (
            self.points, self.work, self.mark, self.card, self.size, self.notch, self.layer
        )  # fmt: skip

    @property
    def closed(self) -> bool:
        """True when the last point repeats the first."""
        at = self.points
        return len(at) > 2 and bool(at[0, 0] == at[-1, 0] and at[0, 1] == at[-1, 1])

    @property
    def length(self) -> float:
        """Length in mm."""
        return float(np.hypot(*np.diff(self.points, axis=0).T).sum())

    def moved(self, matrix: FloatArray) -> Stroke:
        """Return the stroke under an affine map, (2, 3): columns x, y, shift."""
        return self.along(self.points @ matrix[:, :2].T + matrix[:, 2])

    def of_card(self, card: str) -> Stroke:
        """Return the same stroke as one of a card's."""
        return Stroke(
            self.points, self.work, self.mark, card, self.size, self.notch, self.layer
        )  # as in `along`

    def along(self, points: FloatArray) -> Stroke:
        """Return the same work along other points."""
        return Stroke(
            points, self.work, self.mark, self.card, self.size, self.notch, self.layer
        )  # `replace` takes over twice as long, and sheets have thousands of strokes


def all_moved(strokes: Sequence[Stroke], matrix: FloatArray) -> tuple[Stroke, ...]:
    """Return `moved` of every stroke, all at once."""
    if not strokes:
        return ()
    there = np.concatenate([stroke.points for stroke in strokes]) @ matrix[:, :2].T + matrix[:, 2]
    ends = accumulate(len(stroke.points) for stroke in strokes)
    return tuple(
        stroke.along(there[end - len(stroke.points) : end])
        for stroke, end in zip(strokes, ends, strict=True)
    )


def packed(strokes: Sequence[Stroke]) -> tuple[object, ...]:
    """Return strokes as they pass to another process, for `unpacked`: their points as one array."""
    points = np.concatenate([np.empty((0, 2)), *(stroke.points for stroke in strokes)])
    ends = list(accumulate(len(stroke.points) for stroke in strokes))
    rest = ((s.work, s.mark, s.card, s.size, s.notch, s.layer) for s in strokes)
    return points, ends, [(one, len(list(alike))) for one, alike in groupby(rest)]


def unpacked(
    points: FloatArray, ends: Sequence[int], rest: Sequence[tuple[Any, int]]
) -> tuple[Stroke, ...]:
    """Return the strokes from what `packed` returned."""
    each = [one for one, many in rest for _ in range(many)]
    return tuple(
        Stroke(points[begin:end], *one)
        for begin, end, one in zip([0, *ends], ends, each, strict=False)
    )
