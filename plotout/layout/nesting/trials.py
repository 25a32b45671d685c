"""Tries very often whether some cards lie on one or a few sheets of a kind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray

from plotout.geometry.free_cells import Bits, Ints
from plotout.geometry.strokes import FloatArray
from plotout.geometry.trial_lays import trial_lays
from plotout.layout.nesting.filling import Filling, Ground, Rule, Turned
from plotout.layout.nesting.shape import Shape, slid

Spot: TypeAlias = tuple[int, int, float, float]
"""A card's number, that of its shape, and where the shape's lower left bound is, x and y, mm."""

Cards: TypeAlias = tuple[int, ...]
"""Numbers of cards."""

_FIELDS = 3  # sheets at a time


@dataclass(frozen=True, slots=True)
class Tried:
    """A sheet as it was laid in a trial."""

    spots: tuple[Spot, ...]

    @property
    def cards(self) -> Cards:
        """The numbers of its cards."""
        return tuple(spot[0] for spot in self.spots)


@dataclass(frozen=True, slots=True, eq=False)
class _Cells:
    """Shapes and a sheet as cells, for one rule. See `trial_lays`."""

    spans: Ints
    first: Ints
    counts: Ints
    size: FloatArray
    start: Bits
    fields: Bits


@dataclass(frozen=True, slots=True, eq=False)
class Trials:
    """Cards prepared for one kind of sheet, with the shapes of each that fit it when it is empty.

    areas: (cards,) what a card takes of a sheet's area, with half the gap around it. low, cell: mm.
    """

    areas: FloatArray
    _sizes: FloatArray
    _turns: Ints
    _cells: tuple[_Cells, _Cells]
    _low: tuple[float, float]
    _cell: float

    @classmethod
    def of(cls, cards: Sequence[Turned], ground: Ground) -> Trials:
        """Prepare cards."""
        numbers = np.cumsum([0, *map(len, cards)])
        turns = np.full((len(cards), max(map(len, cards))), -1, dtype=np.int64)
        for number, turned in enumerate(cards):
            turns[number, : len(turned)] = np.arange(numbers[number], numbers[number + 1])
        areas = [turned[0].with_gap(ground.gap) / ground.area for turned in cards]
        sizes = [(turned[0].area, max(turned[0].size) ** 2) for turned in cards]
        shapes = [shape for turned in cards for shape in turned]
        return cls(
            np.array(areas),
            np.array(sizes),
            turns,
            (_cells(shapes, ground, Rule.COLUMNS), _cells(shapes, ground, Rule.ROWS)),
            ground.raster.low,
            ground.raster.cell,
        )

    def lay(
        self, cards: Sequence[int], most: int, tries: int, rule: Rule, state: NDArray[np.uint64]
    ) -> list[Tried]:
        """Lay cards on at most so many sheets (3 at most) by a rule; empty if no try is enough."""
        cells = self._cells[rule.value]
        count = len(cards)
        laid = np.empty((count, 5), dtype=np.int64)
        if not trial_lays(
            np.array(cards, dtype=np.int64), self._sizes, self.areas, self._turns, cells.spans,
            cells.first, cells.counts, cells.size, cells.start, cells.fields[:most], tries, state,
            np.empty(count, dtype=np.int64), np.empty(count),
            np.empty(self._turns.shape[1], dtype=np.int64), np.empty(most),
            np.empty(cells.start.shape[2], dtype=np.uint64), np.empty(3, dtype=np.int64), laid,
        ):  # fmt: skip
            return []
        at = laid[:, 3:] if rule is Rule.COLUMNS else laid[:, :2:-1]
        corners = (np.array(self._low) + at * self._cell).tolist()
        sheets: list[list[Spot]] = [[] for _ in range(int(laid[:, 1].max()) + 1)]
        for (card, sheet, shape, *_), (x, y) in zip(laid.tolist(), corners, strict=True):
            sheets[sheet].append((card, shape, x, y))
        return [Tried(tuple(spots)) for spots in sheets]


def _cells(shapes: Sequence[Shape], ground: Ground, rule: Rule) -> _Cells:
    raster, by_rows = ground.raster, rule is Rule.ROWS
    asked = [raster.asked(shape) for shape in shapes]
    spans = [span.by_rows if by_rows else span.by_columns for span in asked]
    counts = np.array([raster.counts(shape) for shape in shapes], dtype=np.int64)
    size = np.array([shape.size for shape in shapes]) / raster.cell
    order = slice(None, None, -1 if by_rows else 1)
    start = ground.start.blocked(by_rows=by_rows)
    return _Cells(
        np.ascontiguousarray(np.vstack(spans)),
        np.cumsum([0, *map(len, spans)]).astype(np.int64),
        np.ascontiguousarray(counts[:, order]),
        np.ascontiguousarray(size[:, order]),
        start,
        np.zeros((_FIELDS, *start.shape), dtype=np.uint64),
    )


def filling(tried: Tried, shapes: Sequence[Shape], ground: Ground) -> Filling:
    """Return a sheet as tried, every card slid towards the sheet's corner as far as it goes."""
    spots = sorted(tried.spots, key=lambda spot: spot[2:])
    bodies = [shapes[number].at(x, y) for _, number, x, y in spots]
    made = Filling(ground)
    for place, (_, number, x, y) in enumerate(spots):
        shape = shapes[number]
        at = slid(
            shape.polygon,
            shape.size,
            (x, y),
            others=[*ground.held, *bodies[:place], *bodies[place + 1 :]],
            free=ground.free,
            gap=ground.gap,
            reach=3.0 * ground.raster.cell,
        )
        bodies[place] = shape.at(*at)
        made.placed.append(shape.placed(*at))
    made.bodies.extend(bodies)
    made.right = float(shapely.bounds(bodies)[:, 2].max())
    made.area = sum(shapes[number].with_gap(ground.gap) for _, number, *_ in spots)
    return made
