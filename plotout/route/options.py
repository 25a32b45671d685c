"""Options for working strokes, and which strokes are near one another."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.polyline import length
from plotout.geometry.strokes import FloatArray

Ints = NDArray[np.int64]

_FEWEST, _MOST = 8, 40
_NEIGHBOURS = 16


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
    spacing: float,
    most: int = _MOST,
) -> Options:
    """Return the options of strokes with these ends, (n, 2, 2), mm.

    contours: of closed strokes, else None; their options are `spacing` mm apart, at most `most`.
    """
    pairs = [np.concatenate([start, start])[None]]
    for pair, contour in zip(ends, contours, strict=True):
        if contour is None:
            pairs.append(np.vstack([pair.ravel(), pair[::-1].ravel()]))
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


def neighbours(options: Options, independent: bool) -> Ints:
    """Return for every stroke those with an option nearest to one of its own, (n, k).

    Repeated where there are fewer.
    """
    from scipy.spatial import KDTree

    n = len(options.first) - 1
    count = min(_NEIGHBOURS, n - 1)
    owner = options.owner
    entry = options.ends[1:, :2]
    faint = entry + np.random.default_rng(1).uniform(-1e-7, 1e-7, entry.shape)
    many = min(len(entry), 3 * _NEIGHBOURS)
    norm = np.inf if independent else 2.0
    gaps, found = (np.asarray(values) for values in KDTree(faint).query(faint, k=many, p=norm))
    stroke = np.repeat(owner, many)
    other = owner[found.ravel()]
    rank = np.lexsort([gaps.ravel(), other, stroke])
    stroke, other, gap = stroke[rank], other[rank], gaps.ravel()[rank]
    fresh = np.ones(len(rank), dtype=np.bool_)
    fresh[1:] = (stroke[1:] != stroke[:-1]) | (other[1:] != other[:-1])
    fresh &= stroke != other
    stroke, other, gap = stroke[fresh], other[fresh], gap[fresh]
    rank = np.lexsort([gap, stroke])
    stroke, other = stroke[rank], other[rank]
    begins = np.searchsorted(stroke, np.arange(n + 1))
    own = np.diff(begins)[:, None]
    turn = np.arange(count) % np.maximum(own, 1)
    near = np.append(other, 0)[np.minimum(begins[:-1, None] + turn, len(other))]
    return np.where(own > 0, near, (np.arange(n)[:, None] + 1) % n)
