"""A sheet being filled: cards laid one after another, each as near to its corner as it goes."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from enum import Enum
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from plotout.layout.nesting.grid import Field, Raster
from plotout.layout.nesting.shape import Shape, body, slid
from plotout.layout.stock.model import StockSheet
from plotout.model import Placed

Turned = tuple[Shape, ...]
"""One card, turned to all its allowed angles."""

Corner = tuple[float, float]
"""x, y in mm of the lower left of a shape's bounds."""

_FEW = 1000  # corners that are compared with every card
_TRIES = 40  # places tried beside an irregular outline before a card is judged not to fit


class Rule(Enum):
    """Where a card goes: first as far left, or first as low, as it can."""

    COLUMNS = 0
    ROWS = 1

    def rank(self, right: float, top: float) -> tuple[float, float]:
        """Return what to minimise in a card's place."""
        return (right, top) if self is Rule.COLUMNS else (top, right)


@dataclass(frozen=True, eq=False)
class Ground:
    """A kind of sheet prepared for laying. held: areas that may not be covered.

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
    def angles(self) -> frozenset[float]:
        """The angles to which a card may be turned, degrees."""
        return frozenset(self.sheet.angles)

    @cached_property
    def area(self) -> float:
        """Greatest area in mm2 that cards, each with half the gap around it, can take up."""
        return float(self.free.buffer(self.gap / 2.0, join_style="mitre").area)

    @cached_property
    def raster(self) -> Raster:
        """Its cells."""
        left, bottom, right, top = self.free.bounds
        return Raster((left, bottom, min(right, left + self.reach), top), self.gap)

    @cached_property
    def start(self) -> Field:
        """Its cells before anything is laid."""
        field = self.raster.field(self.free)
        for polygon in self.held:
            self.raster.take(field, polygon)
        return field


@dataclass(eq=False)
class Filling:
    """A sheet being laid. bodies: areas covered by its cards. right: how far they reach.

    area: of the bodies with half the gap around them, mm2.
    """

    ground: Ground
    placed: list[Placed] = field(default_factory=list)
    bodies: list[Polygon] = field(default_factory=list)
    right: float = 0.0
    area: float = 0.0

    @classmethod
    def begun(cls, ground: Ground, placed: Sequence[Placed], *, inside: bool) -> Filling:
        """Return a sheet on which some cards already lie and stay."""
        bodies = [body(one.card, one.matrix, inside=inside) for one in placed]
        right = max((polygon.bounds[2] for polygon in bodies), default=0.0)
        area = sum(polygon.buffer(ground.gap / 2.0).area for polygon in bodies)
        return cls(ground, list(placed), bodies, right, float(area))

    @cached_property
    def cells(self) -> Field:
        """Its cells, those of its cards taken."""
        cells = self.ground.start.copy()
        for polygon in self.bodies:
            self.ground.raster.take(cells, polygon)
        return cells

    def lay(self, turned: Turned, rule: Rule = Rule.COLUMNS) -> bool:
        """Lay a card by the rule. Returns False if it doesn't fit."""
        if self.area + turned[0].with_gap(self.ground.gap) > self.ground.area:
            return False
        shapes = [shape for shape in turned if shape.angle in self.ground.angles]
        placings = [(self._place, shape) for shape in shapes]
        placings += [(self._beside, shape) for shape in shapes if shape.boxy]
        rest = [(self._beside, shape) for shape in shapes if not shape.boxy]
        best = self._best(placings, rule) or self._best(rest, rule)
        if best is not None:
            self._settle(*best)
        return best is not None

    def _best(
        self, placings: Sequence[tuple[Callable[[Shape, Rule], Corner | None], Shape]], rule: Rule
    ) -> tuple[Shape, Corner] | None:
        """Return the shape and place that the rule likes best, each way of placing one tried."""
        found: list[tuple[float, float, Shape, Corner]] = []
        for placing, shape in placings:
            corner = placing(shape, rule)
            if corner is not None:
                right, top = corner[0] + shape.size[0], corner[1] + shape.size[1]
                found.append((*rule.rank(right, top), shape, corner))
        return min(found, key=lambda one: one[:2])[2:] if found else None

    def _place(self, shape: Shape, rule: Rule) -> Corner | None:
        """Return a place for the shape on the grid, if any."""
        raster = self.ground.raster
        odd = self.ground.sheet.outline is not None
        most = _TRIES if odd else 1
        for i, j in raster.places(self.cells, shape, most, by_rows=rule is Rule.ROWS).tolist():
            corner = raster.corner(i, j)
            if not odd or self.ground.free.covers(shape.at(*corner)):
                return corner
        return None

    def _beside(self, shape: Shape, rule: Rule) -> Corner | None:
        """Return a place where the shape's bounds just clear all others, which the grid misses."""
        ground = self.ground
        if (
            ground.sheet.outline is not None
            or shape.size[0] * shape.size[1] > ground.area - self.area
        ):
            return None
        if not ground.raster.bounds_fit(self.cells.free, shape):
            return None
        around = shapely.bounds([*ground.held, *self.bodies]).reshape(-1, 4)
        low = np.array(ground.raster.low)
        high = low + ground.raster.room
        size, gap = np.array(shape.size), ground.gap
        if (size > high - low + 1e-9).any():
            return None
        lines = [np.unique([low[a], high[a] - size[a], *(around[:, a + 2] + gap)]) for a in (0, 1)]
        x, y = (grid.ravel() for grid in np.meshgrid(*lines, indexing="ij"))
        inside = (x + size[0] <= high[0] + 1e-9) & (y + size[1] <= high[1] + 1e-9)
        corners = np.column_stack([x, y])[inside & (x >= low[0]) & (y >= low[1])]
        if len(corners) > _FEW:
            corners = corners[ground.raster.may_clear(self.cells, corners, shape.size)]
        clear = gap - 1e-9
        apart = (
            (corners[:, None] - around[None, :, 2:] >= clear)
            | (around[None, :, :2] - corners[:, None] - size >= clear)
        ).any(axis=2)
        good = [(float(x), float(y)) for x, y in corners[apart.all(axis=1)]]
        return min(good, key=lambda corner: rule.rank(*corner), default=None)

    def _settle(self, shape: Shape, corner: Corner) -> None:
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
        here = shape.at(x, y)
        self.bodies.append(here)
        self.right = max(self.right, x + shape.size[0])
        self.area += shape.with_gap(ground.gap)
        ground.raster.take_shape(self.cells, shape, x, y)
        self.placed.append(shape.placed(x, y))  # last: Ctrl-C may come at any time before it
