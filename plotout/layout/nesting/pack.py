"""Packs cards on sheets, one after another, each on the first sheet that holds it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import Enum
from functools import cached_property
from itertools import permutations

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from plotout.layout.nesting.grid import Field, Raster
from plotout.layout.nesting.limit import Limit, OutOfTimeError
from plotout.layout.nesting.shape import Shape, body, slid
from plotout.layout.stock.model import StockSheet
from plotout.model import Placed

Turned = tuple[Shape, ...]
"""One card, turned to all its allowed angles."""

Corner = tuple[float, float]
"""x, y in mm of the lower left of a shape's bounds."""

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

    area: of the bodies with half the gap around them, mm2. _refused: shapes that did not fit, and
    so won't with more cards on it; none beside an outline, where only some places are tried.
    """

    ground: Ground
    placed: list[Placed] = field(default_factory=list)
    bodies: list[Polygon] = field(default_factory=list)
    right: float = 0.0
    area: float = 0.0
    _field: Field | None = None
    _refused: set[bytes] = field(default_factory=set)

    @classmethod
    def begun(cls, ground: Ground, placed: Sequence[Placed], *, inside: bool) -> Filling:
        """Return a sheet on which some cards already lie and stay."""
        bodies = [body(one.card, one.matrix, inside=inside) for one in placed]
        right = max((polygon.bounds[2] for polygon in bodies), default=0.0)
        area = sum(polygon.buffer(ground.gap / 2.0).area for polygon in bodies)
        return cls(ground, list(placed), bodies, right, float(area))

    def lay(self, turned: Turned, rule: Rule = Rule.COLUMNS) -> bool:
        """Lay a card by the rule. Returns False if it doesn't fit."""
        if self.area + turned[0].with_gap(self.ground.gap) > self.ground.area:
            return False
        if self._field is None:
            self._field = self.ground.start.copy()
            for polygon in self.bodies:
                self.ground.raster.take(self._field, polygon)
        best: tuple[float, float, Shape, Corner] | None = None
        for shape in turned:
            if shape.angle not in self.ground.angles or shape.key in self._refused:
                continue
            corners = [
                corner
                for corner in (self._place(shape, rule), self._beside(shape, rule))
                if corner is not None
            ]
            if not corners and self.ground.sheet.outline is None:
                self._refused.add(shape.key)
            for corner in corners:
                rank = rule.rank(corner[0] + shape.size[0], corner[1] + shape.size[1])
                if best is None or rank < best[:2]:
                    best = (*rank, shape, corner)
        if best is None:
            return False
        self._settle(best[2], best[3])
        return True

    def _place(self, shape: Shape, rule: Rule) -> Corner | None:
        """Return a place for the shape on the grid, if any."""
        assert self._field is not None
        raster = self.ground.raster
        odd = self.ground.sheet.outline is not None
        most = _TRIES if odd else 1
        for i, j in raster.places(self._field, shape, most, by_rows=rule is Rule.ROWS).tolist():
            corner = raster.corner(i, j)
            if not odd or self.ground.free.covers(shape.at(*corner)):
                return corner
        return None

    def _beside(self, shape: Shape, rule: Rule) -> Corner | None:
        """Return a place where the shape's bounds just clear all others, which the grid misses."""
        ground = self.ground
        assert self._field is not None
        if ground.sheet.outline is not None or not ground.raster.bounds_fit(self._field, shape):
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
        clear = gap - 1e-9
        apart = (
            (corners[:, None] - around[None, :, 2:] >= clear)
            | (around[None, :, :2] - corners[:, None] - size >= clear)
        ).any(axis=2)
        good = [(float(x), float(y)) for x, y in corners[apart.all(axis=1)]]
        return min(good, key=lambda corner: rule.rank(*corner), default=None)

    def _settle(self, shape: Shape, corner: Corner) -> None:
        assert self._field is not None
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
        ground.raster.take(self._field, here)
        self.placed.append(shape.placed(x, y))  # last: Ctrl-C may come at any time before it


def pack(
    order: Sequence[Turned],
    grounds: Sequence[Ground],
    begun: Sequence[Filling] = (),
    rule: Rule = Rule.COLUMNS,
    limit: Limit | None = None,
    *,
    whole: bool = True,
) -> tuple[list[Filling], list[Turned]]:
    """Lay every card in order on the first sheet that holds it, else on a new one.

    grounds: the kinds of sheet in the order in which they are begun, up to their `count`.
    begun: sheets on which some cards already lie; they are filled first.
    limit: once its time is nearly over, or the user has stopped it (Ctrl-C), the rest is laid in
    haste, on the last sheet or new ones; if not `whole`, OutOfTimeError is raised instead.
    Returns the sheets and the cards without a place.
    """
    limit = limit or Limit(0.0)
    lay = _Lay(list(begun), grounds)
    for index, turned in enumerate(order):
        limit.paced(index)
        hasty = limit.hurries(len(order) - index, first=whole)
        if hasty and not whole:
            raise OutOfTimeError
        try:
            lay.add(turned, rule, hasty=hasty)
        except KeyboardInterrupt:
            if not whole or limit.stopped:
                raise
            limit.stopped = True
            if not lay.holds(turned):
                lay.add(turned, rule, hasty=True)
    return lay.sheets, lay.over


class _Lay:
    """Sheets being filled. over: cards without a place."""

    def __init__(self, sheets: list[Filling], grounds: Sequence[Ground]) -> None:
        self.sheets = sheets
        self.over: list[Turned] = []
        self._grounds = grounds
        self._left = {id(ground): ground.sheet.count for ground in grounds}

    def add(self, turned: Turned, rule: Rule, *, hasty: bool) -> None:
        """Lay a card. hasty: turned in one way only, on the last sheet or a new one, if it can."""
        if hasty and self._put(turned[:1], self.sheets[-1:], rule):
            return
        if not self._put(turned, self.sheets, rule):
            self.over.append(turned)

    def _put(self, turned: Turned, sheets: Sequence[Filling], rule: Rule) -> bool:
        return any(sheet.lay(turned, rule) for sheet in sheets) or self._begin(turned, rule)

    def holds(self, turned: Turned) -> bool:
        """Return whether a card lies on one of the sheets."""
        card = turned[0].card
        return any(placed.card is card for sheet in self.sheets for placed in sheet.placed)

    def _begin(self, turned: Turned, rule: Rule) -> bool:
        for ground in self._grounds:
            count = self._left[id(ground)]
            if count == 0:
                continue
            new = Filling(ground)
            if new.lay(turned, rule):
                self._left[id(ground)] = None if count is None else count - 1
                self.sheets.append(new)
                return True
        return False


_MOST_ORDERED = 7  # the most sheets of which every order is tried


def neighbours(sheets: Sequence[Filling]) -> list[Filling]:
    """Return the sheets in an order that keeps cards of one piece on sheets near each other.

    Ties are ordered by the least number of the sheets' cards, as are all sheets if there are many.
    """
    ranked = sorted(sheets, key=lambda one: min(p.card.number for p in one.placed))
    if len(ranked) > _MOST_ORDERED:
        return ranked
    pieces = [{placed.card.piece for placed in one.placed} for one in ranked]
    shared = set().union(*pieces)
    shared = {name for name in shared if sum(name in piece for piece in pieces) > 1}
    if not shared:
        return ranked

    def spread(order: tuple[int, ...]) -> int:
        places = {name: [n for n, k in enumerate(order) if name in pieces[k]] for name in shared}
        return sum(at[-1] - at[0] for at in places.values())

    best = min(permutations(range(len(ranked))), key=lambda order: (spread(order), order))
    return [ranked[k] for k in best]
