"""Which pages of a grid a shape takes, for many places at once.

A shape is looked at in fine cells; sums over them give how many lie within a page's cell.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from plotout.geometry.cells import filled
from plotout.geometry.polyline import moved
from plotout.geometry.strokes import FloatArray
from plotout.layout.nesting.shape import Shape
from plotout.layout.stock.model import PageGrid, Sides

_FINE = 1.0  # mm: cells in which a shape is looked at where pages join
_WORD = 63  # pages that go into one number

Bits = NDArray[np.uint64]
"""Which pages are taken: (words,), or (words, n) at n places."""


@dataclass(eq=False)
class Touching:
    """Tells which pages shapes take. high: how far cards may lie, mm. _sums: see `_summed`."""

    grid: PageGrid
    high: tuple[float, float]
    _sums: dict[Shape, tuple[Sides, NDArray[np.int64]]] = field(default_factory=dict)

    @property
    def nothing(self) -> Bits:
        """No page taken, (words,)."""
        return np.zeros(self._words, dtype=np.uint64)

    def pages(self, shape: Shape, places: FloatArray) -> tuple[Bits, NDArray[np.int64]]:
        """Return which pages a shape takes with its lower left bound at places: (words, n).

        And how many more it only touches where their neighbours show that too, (n,).
        """
        taken = self._met(shape, places, self.grid.shared)
        if self.grid.shared == (0.0, 0.0):
            return taken, np.zeros(len(places), dtype=np.int64)
        return taken, counted(self._met(shape, places, (0.0, 0.0))) - counted(taken)

    @cached_property
    def _counts(self) -> tuple[int, int]:
        right, top = self.high
        return self.grid.cell(right, 0) + 2, self.grid.cell(top, 1) + 2

    @cached_property
    def _words(self) -> int:
        return -(-self._counts[0] * self._counts[1] // _WORD)

    def _met(self, shape: Shape, places: FloatArray, shared: tuple[float, float]) -> Bits:
        """Return in which pages' cells a shape lies, but for `shared` mm at their edges."""
        if shape not in self._sums:
            self._sums[shape] = _summed(shape, self.grid)
        (left, bottom, right, top), sums = self._sums[shape]
        many = np.subtract(sums.shape, 1).tolist()
        at = np.add(moved(places, self.grid.sends), (left, bottom))
        firsts = [self.grid.cells(at[:, axis], axis) for axis in (0, 1)]
        spans = [int((b - a) / self.grid.pitch[axis]) + 2
                 for axis, (a, b) in enumerate(((left, right), (bottom, top)))]  # fmt: skip
        begins, ends = (
            [[self._cell_at(at, firsts, axis, k, many[axis], inner) for k in range(spans[axis])]
             for axis in (0, 1)]
            for inner in ((shared[1], 0), (-shared[0], 1))
        )  # fmt: skip
        bits = np.zeros((self._words, len(places)), dtype=np.uint64)
        across = self._counts[0]
        indices = np.arange(len(places))
        for k in range(spans[0]):
            for m in range(spans[1]):
                (x0, x1), (y0, y1) = (begins[0][k], ends[0][k]), (begins[1][m], ends[1][m])
                inked = sums[x1, y1] - sums[x0, y1] - sums[x1, y0] + sums[x0, y0]
                hit = (inked > 0) & (x1 > x0) & (y1 > y0)
                page = (firsts[1][hit] + m) * across + firsts[0][hit] + k
                word, bit = np.divmod(page, _WORD)
                good = word < self._words
                bits[word[good], indices[hit][good]] |= np.uint64(1) << bit[good].astype(np.uint64)
        return bits

    def _cell_at(
        self, at: FloatArray, firsts: Sequence[NDArray[np.int64]], axis: int, page: int, most: int,
        inner: tuple[float, int],
    ) -> NDArray[np.int64]:  # fmt: skip
        """Return where a page's cell begins (ends) in the shapes' fine cells, (n,).

        page: its number from the shape's first page. inner: how far it begins (ends) within that
        page's cell, mm; 0 or 1 for the end.
        """
        within, end = inner
        edge = self.grid.edge(firsts[axis] + page + end, axis) + within - at[:, axis]
        found = np.clip(np.round(edge / _FINE + 0.5), 0, most).astype(np.int64)
        return found if end or page else np.where(firsts[axis] == 0, 0, found)


def _summed(shape: Shape, grid: PageGrid) -> tuple[Sides, NDArray[np.int64]]:
    """Return a shape's bounds, mm sent, and how many of its fine cells lie left of and below each.

    The sums are (columns + 1, rows + 1).
    """
    sent = shapely.transform(shape.polygon, lambda points: moved(points, grid.sends))
    left, bottom, right, top = sent.bounds
    many = (int((right - left) / _FINE) + 2, int((top - bottom) / _FINE) + 2)
    mask = filled(sent.buffer(0.75 * _FINE), (left - _FINE / 2, bottom - _FINE / 2), _FINE, many)
    sums = np.zeros((many[0] + 1, many[1] + 1), dtype=np.int64)
    sums[1:, 1:] = mask.cumsum(axis=0).cumsum(axis=1)
    return (left, bottom, right, top), sums


def counted(bits: Bits) -> NDArray[np.int64]:
    """Return how many pages are touched at each place, (n,)."""
    bytes_ = np.ascontiguousarray(bits.T).view(np.uint8)
    return np.asarray(np.unpackbits(bytes_, axis=1).sum(axis=1, dtype=np.int64))


def numbers(bits: Bits) -> list[int]:
    """Return the numbers of the pages taken."""
    return [
        index * _WORD + bit
        for index, word in enumerate(bits.tolist())
        for bit in range(_WORD)
        if word >> bit & 1
    ]
