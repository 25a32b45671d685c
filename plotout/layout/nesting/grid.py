"""Finds where a shape may lie on a sheet, for all places at once on a grid of small cells.

A cell is taken when any of it may be within half the gap of a card, so shapes with different cells
keep the whole gap. The number of taken cells under a shape, for every place, is a correlation,
computed by FFT.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from plotout.geometry.cells import Cells, filled
from plotout.layout.nesting.blocks import Asked, Blocks, tallest
from plotout.layout.nesting.shape import Shape

CELLS = 90_000
"""Approximate number of cells in a sheet: a finer grid lays closer and takes longer."""


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
        self._size = [_fast(n) for n in self.cells]
        self._spectra: dict[tuple[str, float], NDArray[np.complex64]] = {}
        self._blocks: dict[tuple[str, float], tuple[Blocks, Blocks]] = {}
        self._asked: dict[tuple[str, tuple[float, ...]], Asked] = {}

    def spectrum(self, cells: Cells) -> NDArray[np.complex64]:
        """Return the transform of a field of cells."""
        return np.asarray(np.fft.rfft2(cells.astype(np.float32), self._size))

    def empty(self, free: BaseGeometry) -> Cells:
        """Return a sheet's cells, those outside `free` taken. A rectangle needs no border."""
        taken = np.zeros(self.cells, dtype=bool)
        if not free.equals(shapely.box(*free.bounds)):
            inside = filled(free, self._origin, self.cell, self.cells)
            taken |= ~inside
        return taken

    def take(self, taken: Cells, polygon: BaseGeometry) -> None:
        """Mark the cells of a polygon on the sheet as taken."""
        grown = polygon.buffer(self.reach, quad_segs=4)
        taken |= filled(grown, self._origin, self.cell, self.cells)

    def places(self, sheet: NDArray[np.complex64], shape: Shape) -> Cells:
        """Return for every cell whether the shape may lie with its lower left bound there."""
        counts = [
            math.floor((room - size) / self.cell + 1e-6) + 1
            for room, size in zip(self.room, shape.size, strict=True)
        ]
        if min(counts) < 1:
            return np.zeros((0, 0), dtype=bool)
        key = (shape.card.id, shape.angle)
        if key not in self._spectra:
            self._spectra[key] = np.conj(self.spectrum(self._mask(shape, self.cells)))
        columns = np.fft.ifft(sheet * self._spectra[key], axis=0)[: counts[0]]
        return np.asarray(np.fft.irfft(columns, self._size[1], axis=1)[:, : counts[1]] < 0.5)

    def may_hold(self, free: Blocks, shapes: Sequence[Shape]) -> list[tuple[bool, bool]]:
        """Return whether a sheet's free blocks leave open that a card fits, turned like its shapes.

        First on the grid, then where its bounds keep the whole gap from all others.
        """
        if not shapes:
            return []
        key = (shapes[0].card.id, tuple(shape.angle for shape in shapes))
        if key not in self._asked:
            self._asked[key] = Asked([part for shape in shapes for part in self._asked_by(shape)])
        met = self._asked[key].met(free)
        return list(zip(met[::2], met[1::2], strict=True))

    def _asked_by(self, shape: Shape) -> tuple[Blocks, Blocks]:
        key = (shape.card.id, shape.angle)
        if key not in self._blocks:
            around = [math.ceil(side / self.cell) + 2 * self.pad for side in shape.size]
            # of points within the gap and 0.73 cells of other bounds some may be taken
            wide, tall = (int(max(side / self.cell - 1.46, 0.0)) for side in shape.size)
            bounds = np.full(wide + 1, tall, dtype=np.int16)
            self._blocks[key] = tallest(self._mask(shape, tuple(around))), bounds
        return self._blocks[key]

    def corner(self, i: int, j: int) -> tuple[float, float]:
        """Return x, y in mm of a place."""
        return self.low[0] + i * self.cell, self.low[1] + j * self.cell

    @property
    def _origin(self) -> tuple[float, float]:
        return self.low[0] - self.pad * self.cell, self.low[1] - self.pad * self.cell

    def _mask(self, shape: Shape, cells: tuple[int, ...]) -> Cells:
        grown = shape.polygon.buffer(self.reach, quad_segs=4)
        corner = -self.pad * self.cell
        return filled(grown, (corner, corner), self.cell, cells)


def _fast(count: int) -> int:
    """Return the least even size of at least `count` with no prime factor over 5: fast to do."""
    size = count + count % 2
    while True:
        rest = size
        for prime in (2, 3, 5):
            while rest % prime == 0:
                rest //= prime
        if rest == 1:
            return size
        size += 2
