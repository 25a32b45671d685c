"""Finds where a shape may lie on a sheet, for all places at once on a grid of small cells.

A cell is taken when any of it may be within half the gap of a card, so shapes with different cells
keep the whole gap.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from plotout.geometry.cells import Cells, filled
from plotout.geometry.free_cells import Bits, Ints, blocked_by, blocks_of, free_places, spans_of
from plotout.geometry.strokes import FloatArray
from plotout.layout.nesting.shape import Shape, shifted

CELLS = 90_000
"""Approximate number of cells in a sheet: a finer grid lays closer and takes longer."""

_UNSURE = 0.74  # cells within bounds' edges that may be taken though the bounds clear all others


class Field:
    """The cells of a sheet: which are taken."""

    def __init__(self, taken: Cells) -> None:
        self._taken = taken
        self._blocked: dict[bool, Bits] = {}
        self._free: Ints | None = None
        self._sums: Ints | None = None

    def copy(self) -> Field:
        """Return the same cells, to be taken by others."""
        return Field(self._taken.copy())

    def take(self, cells: Cells, column: int, row: int) -> None:
        """Mark some cells as taken, which begin at a column and a row."""
        wide, tall = cells.shape
        self._taken[column : column + wide, row : row + tall] |= cells
        self._blocked.clear()
        self._free = self._sums = None

    def blocked(self, *, by_rows: bool) -> Bits:
        """Return its bits for `free_places`; with columns and rows exchanged if asked."""
        if by_rows not in self._blocked:
            taken = self._taken.T if by_rows else self._taken
            self._blocked[by_rows] = blocked_by(taken)
        return self._blocked[by_rows]

    def keep_in(self, room: Bits, *, by_rows: bool) -> None:
        """Keep its bits in an array of others' instead of one of its own."""
        room[:] = self.blocked(by_rows=by_rows)
        self._blocked[by_rows] = room

    def taken_in(self, low: Ints, high: Ints) -> Ints:
        """Return how many cells are taken in blocks, from low, (n, 2), up to but not at high."""
        if self._sums is None:
            self._sums = np.zeros(np.add(self._taken.shape, 1), dtype=np.int64)
            self._sums[1:, 1:] = self._taken.cumsum(axis=0, dtype=np.int64).cumsum(axis=1)
        sums, (i, j), (k, m) = self._sums, low.T, high.T
        return np.asarray(sums[k, m] - sums[i, m] - sums[k, j] + sums[i, j])

    @property
    def free(self) -> Ints:
        """The most rows of any free block of cells that is so many columns wide."""
        if self._free is None:
            self._free = blocks_of(~self._taken)
        return self._free


@dataclass(frozen=True, slots=True, eq=False)
class Asked:
    """What a shape asks of a sheet: spans of free cells, see `spans_of`, by columns or by rows.

    grown: its polygon, half the gap larger and what is safe. wide, tall: of blocks of cells in it,
    all of which a place needs free.
    """

    grown: Polygon
    by_columns: Ints
    by_rows: Ints
    wide: Ints
    tall: Ints


class Raster:
    """The division of a sheet into cells, the same for all sheets of a kind."""

    def __init__(self, bounds: tuple[float, float, float, float], gap: float) -> None:
        """bounds: where cards may lie, mm. gap: between cards, mm."""
        left, bottom, right, top = bounds
        self.cell = max(0.5, math.sqrt((right - left) * (top - bottom) / CELLS))
        self.low = (left, bottom)
        self.room = (right - left, top - bottom)
        self.reach = 1.02 * (gap / 2.0 + self.cell * math.sqrt(0.5))
        self.pad = math.ceil(self.reach / self.cell)
        self.cells = tuple(math.ceil(side / self.cell) + 2 * self.pad for side in self.room)
        self._asked: dict[bytes, Asked] = {}
        self.work = np.zeros(max(self.cells) // 64 + 1, dtype=np.uint64)

    def field(self, free: BaseGeometry) -> Field:
        """Return a sheet's cells, those outside `free` taken. A rectangle needs no border."""
        taken = np.zeros(self.cells, dtype=bool)
        if not free.equals(shapely.box(*free.bounds)):
            taken = ~filled(free, self._origin, self.cell, self.cells)
        return Field(taken)

    def take(self, field: Field, polygon: BaseGeometry) -> None:
        """Mark the cells of a polygon on the sheet as taken."""
        self._take(field, self._grown(polygon))

    def take_shape(self, field: Field, shape: Shape, x: float, y: float) -> None:
        """Mark the cells of a shape as taken, with its lower left bound at x, y."""
        self._take(field, shifted(self.asked(shape).grown, x, y))

    def _take(self, field: Field, grown: Polygon) -> None:
        ends = np.array(grown.bounds).reshape(2, 2) - self._origin
        low = np.clip(np.floor(ends[0] / self.cell), 0, self.cells).astype(int)
        high = np.clip(np.ceil(ends[1] / self.cell), 0, self.cells).astype(int)
        origin = np.array(self._origin) + low * self.cell
        wide, tall = np.maximum(high - low, 0).tolist()
        cells = filled(grown, (float(origin[0]), float(origin[1])), self.cell, (wide, tall))
        field.take(cells, int(low[0]), int(low[1]))

    def places(
        self, field: Field, shape: Shape, most: int | None = None, *, by_rows: bool = False
    ) -> NDArray[np.int64]:
        """Return the first cells, (n, 2), at which the shape may lie with its lower left bound.

        By columns from the left, or by rows from below. most: how many at most, None for all.
        """
        counts = self.counts(shape)
        if min(counts) < 1:
            return np.empty((0, 2), dtype=np.int64)
        asked = self.asked(shape)
        spans, ends = (asked.by_rows, counts[::-1]) if by_rows else (asked.by_columns, counts)
        found = np.empty((most or counts[0] * counts[1], 2), dtype=np.int64)
        blocked = field.blocked(by_rows=by_rows)
        many = free_places(blocked, spans, np.array(ends), self.work, found)
        return found[:many, ::-1] if by_rows else found[:many]

    def asked(self, shape: Shape) -> Asked:
        """Return what a shape asks of a sheet."""
        if shape.key not in self._asked:
            grown = self._grown(shape.polygon)
            corner = -self.pad * self.cell
            cells = tuple(math.ceil(side / self.cell) + 2 * self.pad for side in shape.size)
            mask = filled(grown, (corner, corner), self.cell, cells)
            tall = blocks_of(mask)
            wide = np.flatnonzero(tall > np.append(tall[1:], 0))
            self._asked[shape.key] = Asked(
                grown, spans_of(mask), spans_of(mask.T), wide, tall[wide]
            )
        return self._asked[shape.key]

    def bounds(self, shape: Shape) -> tuple[int, int]:
        """Return width and height of the block that must be free where its bounds clear all others.

        Cells that are within the gap and 0.73 cells of other bounds may be taken.
        """
        wide, tall = (int(max(side / self.cell - 1.46, 0.0)) for side in shape.size)
        return min(wide, self.cells[0]), tall

    def bounds_fit(self, free: Ints, shape: Shape) -> bool:
        """Return whether the shape's bounds may clear all others. free: the field's blocks."""
        wide, tall = self.bounds(shape)
        return bool(free[wide] >= tall)

    def may_clear(
        self, field: Field, corners: FloatArray, size: tuple[float, float]
    ) -> NDArray[np.bool_]:
        """Return at which corners, (n, 2) mm, bounds of a size may clear all others."""
        edge = _UNSURE * self.cell
        first = np.ceil((corners + edge - self._origin) / self.cell - 0.5)
        beyond = np.floor((corners + size - edge - self._origin) / self.cell - 0.5) + 1.0
        low = np.clip(first, 0, self.cells).astype(np.int64)
        high = np.maximum(np.clip(beyond, 0, self.cells).astype(np.int64), low)
        return np.asarray(field.taken_in(low, high) == 0)

    def corner(self, i: int, j: int) -> tuple[float, float]:
        """Return x, y in mm of a place."""
        return self.low[0] + i * self.cell, self.low[1] + j * self.cell

    def counts(self, shape: Shape) -> tuple[int, int]:
        """Return how many columns and rows may hold the shape's lower left bound."""
        wide, tall = (
            math.floor((room - side) / self.cell + 1e-6) + 1
            for room, side in zip(self.room, shape.size, strict=True)
        )
        return wide, tall

    @property
    def _origin(self) -> tuple[float, float]:
        return self.low[0] - self.pad * self.cell, self.low[1] - self.pad * self.cell

    def _grown(self, polygon: BaseGeometry) -> Polygon:
        return polygon.buffer(self.reach, quad_segs=4)
