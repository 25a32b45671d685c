"""Cards onto sheets, one after another: each on the first sheet that holds it, far to the left."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from plotout.flow import Placed
from plotout.layout.grid import Cells, Raster
from plotout.layout.shape import Shape, slid
from plotout.layout.stock import StockSheet

Turned = tuple[Shape, ...]
"""One card, turned every way that it may lie."""

_TRIES = 40  # places tried beside an odd outline before a card is said not to fit


@dataclass(frozen=True, eq=False)
class Ground:
    """A kind of sheet made ready for laying. held: what may not be covered, wherever it comes from.

    reach: how much of a roll may be used, mm; its length for a sheet.
    """

    sheet: StockSheet
    gap: float
    held: tuple[Polygon, ...] = ()
    reach: float = math.inf

    @cached_property
    def free(self) -> BaseGeometry:
        """Where cards may lie."""
        return self.sheet.free

    @cached_property
    def raster(self) -> Raster:
        """Its cells."""
        left, bottom, right, top = self.free.bounds
        return Raster((left, bottom, min(right, left + self.reach), top), self.gap)

    @cached_property
    def start(self) -> Cells:
        """Its cells before anything is laid."""
        taken = self.raster.empty(self.free)
        for polygon in self.held:
            self.raster.take(taken, polygon)
        return taken


@dataclass(eq=False)
class Filling:
    """A sheet in the making."""

    ground: Ground
    kept: tuple[Placed, ...] = ()
    placed: list[Placed] = field(default_factory=list)
    bodies: list[Polygon] = field(default_factory=list)
    right: float = 0.0
    _taken: Cells | None = None
    _spectrum: NDArray[np.complex64] | None = None

    def lay(self, turned: Turned) -> bool:
        """Lay a card as far to the left, then as low, as it goes. Returns False if it can't."""
        raster = self.ground.raster
        if self._taken is None:
            self._taken = self.ground.start.copy()
        if self._spectrum is None:
            self._spectrum = raster.spectrum(self._taken)
        best: tuple[float, float, Shape, tuple[float, float]] | None = None
        for shape in turned:
            if shape.angle not in self.ground.sheet.angles:
                continue
            corner = self._place(shape)
            if corner is not None:
                rank = (corner[0] + shape.size[0], corner[1] + shape.size[1])
                if best is None or rank < best[:2]:
                    best = (*rank, shape, corner)
        if best is None:
            return False
        self._settle(best[2], best[3])
        return True

    def _place(self, shape: Shape) -> tuple[float, float] | None:
        assert self._spectrum is not None
        raster = self.ground.raster
        open_places = raster.places(self._spectrum, shape)
        odd = self.ground.sheet.outline is not None
        found = np.argwhere(open_places)[: _TRIES if odd else 1] if open_places.any() else ()
        for i, j in found:
            corner = raster.corner(int(i), int(j))
            if not odd or self.ground.free.covers(shape.at(*corner)):
                return corner
        return None

    def _settle(self, shape: Shape, corner: tuple[float, float]) -> None:
        assert self._taken is not None
        ground = self.ground
        x, y = slid(
            shape.polygon,
            shape.size,
            corner,
            others=[*ground.held, *self.bodies],
            free=ground.free,
            gap=ground.gap,
            reach=3.0 * ground.raster.cell,
        )
        body = shape.at(x, y)
        self.placed.append(shape.placed(x, y))
        self.bodies.append(body)
        self.right = max(self.right, x + shape.size[0])
        ground.raster.take(self._taken, body)
        self._spectrum = None


def pack(
    order: Iterable[Turned], grounds: Sequence[Ground], open_first: Sequence[Filling] = ()
) -> tuple[list[Filling], list[Turned]]:
    """Lay every card in order on the first sheet that holds it, else on a new one.

    grounds: the kinds of sheet in the order in which they are begun; as many as `count` says.
    Returns the sheets and the cards that found no place.
    """
    sheets = list(open_first)
    left = {id(ground): ground.sheet.count for ground in grounds}
    over = []
    for turned in order:
        if any(sheet.lay(turned) for sheet in sheets):
            continue
        for ground in grounds:
            count = left[id(ground)]
            if count == 0:
                continue
            begun = Filling(ground)
            if begun.lay(turned):
                sheets.append(begun)
                left[id(ground)] = None if count is None else count - 1
                break
        else:
            over.append(turned)
    return sheets, over
