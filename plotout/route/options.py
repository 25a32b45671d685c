"""Options for working strokes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.polyline import length
from plotout.geometry.strokes import FloatArray

Ints = NDArray[np.int64]

_FEWEST, _MOST = 8, 40


@dataclass(frozen=True, slots=True, eq=False)
class Options:
    """first: (n + 1,) where the strokes' options begin. ends: (m, 4) the options' starts and ends.

    Option 0 is the start. An open stroke has two options; a contour has places along it, the first
    of them its present touch point.
    """

    first: Ints
    ends: FloatArray

    @property
    def owner(self) -> Ints:
        """The strokes of the options other than the start, (m - 1,)."""
        return np.repeat(np.arange(len(self.first) - 1), np.diff(self.first)).astype(np.int64)


def options_of(
    ends: FloatArray,
    contours: list[FloatArray | None],
    start: FloatArray,
    spacings: FloatArray,
    most: int = _MOST,
) -> Options:
    """Return the options of strokes with these ends, (n, 2, 2), mm.

    contours: of closed strokes, else None; their options are so many of `spacings`, (n,) mm, apart,
    at most `most`.
    """
    pairs = [np.concatenate([start, start])[None]]
    either_way = np.stack([ends, ends[:, ::-1]], axis=1).reshape(-1, 2, 4)
    for pair, both, contour, spacing in zip(ends, either_way, contours, spacings, strict=True):
        if contour is None:
            pairs.append(both)
        else:
            places = np.vstack([pair[0], _along(contour, spacing, most)])
            pairs.append(np.hstack([places, places]))
    first = 1 + np.cumsum([0, *(len(of_stroke) for of_stroke in pairs[1:])])
    return Options(first.astype(np.int64), np.concatenate(pairs))


def _along(contour: FloatArray, spacing: float, most: int) -> FloatArray:
    count = int(np.clip(length(contour) / spacing, _FEWEST, most))
    reached = np.concatenate([[0.0], np.hypot(*np.diff(contour, axis=0).T).cumsum()])
    at = np.arange(count) * reached[-1] / count
    return np.column_stack([np.interp(at, reached, contour[:, axis]) for axis in range(2)])
