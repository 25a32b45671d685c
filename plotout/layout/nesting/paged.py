"""Cards laid so that they touch as few pages as can be, for a printer of small pages.

The pages are a grid under the sheet. A card goes where it touches the fewest pages that no other
card touches yet; then what lies on the emptiest pages is taken up and laid anew.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial
from itertools import product

import numpy as np
import shapely
from numpy.typing import NDArray

from plotout.geometry.cells import filled
from plotout.geometry.polyline import moved
from plotout.geometry.strokes import FloatArray
from plotout.layout.nesting.pack import Corner, Filling, Ground, Rule, Turned
from plotout.layout.nesting.shape import Shape, slid
from plotout.layout.stock.model import CLEAR, PageGrid

_FINE = 1.0  # mm: cells in which a shape is looked at where pages join
_TRIES = 1.5  # a second: so few that they end before the time does
_SIDEWAYS = 0.3  # share of lays that are gone on from though their cards are spread more evenly
_STEP = 2  # cells from a place that is tried to the next, where any such place is free
_KEPT = 240  # shapes whose pages are remembered
_WORD = 63  # pages that go into one number

Bits = NDArray[np.uint64]
"""Which pages are touched: (words,), or (words, n) of n places."""

_NOWHERE: tuple[FloatArray, Bits] = (np.empty((0, 2)), np.empty((1, 0), dtype=np.uint64))


def pages_touched(filling: Filling, grid: PageGrid) -> int:
    """Return how many pages the cards of a sheet touch."""
    touched: set[tuple[int, int]] = set()
    for body in filling.bodies or [shapely.Polygon(each.outline) for each in filling.placed]:
        sent = shapely.transform(body, lambda points: moved(points, grid.sends))
        left, bottom, right, top = sent.bounds
        for column in range(grid.cell(left, 0), grid.cell(right, 0) + 1):
            for row in range(grid.cell(bottom, 1), grid.cell(top, 1) + 1):
                if (column, row) not in touched and sent.intersects(
                    shapely.box(*grid.box(column, row))
                ):
                    touched.add((column, row))
    return len(touched)


def fewest(filling: Filling) -> int:
    """Return how many pages the cards of a sheet touch on the grid that suits them best."""
    return min(pages_touched(filling, grid) for grid in filling.ground.sheet.pages)


def paged(
    turned: Sequence[Turned],
    ground: Ground,
    seconds: float,
    seed: int,
    tell: Callable[[float], None],
) -> Iterator[Filling]:
    """Yield lays of all cards on one sheet, each with fewer pages than those before it.

    At 0 seconds one for each way that pages may lie.
    """
    rng = np.random.default_rng(seed)
    begun = time.monotonic()
    until = begun + seconds if seconds else math.inf
    tables = [_Table(ground, grid, until) for grid in ground.sheet.pages]
    order = sorted(range(len(turned)), key=lambda nth: -turned[nth][0].area)
    best: dict[int, _Lay] = {}
    for nth, table in enumerate(tables):
        lay = table.laid([], [turned[card] for card in order], Rule.COLUMNS)
        if lay is not None:
            best[nth] = lay
            yield lay.filling()
    if not best:
        return
    trials = int(seconds * _TRIES)
    for trial in range(trials):
        spent = time.monotonic() - begun
        if spent > seconds:
            return
        tell(max(trial / trials, spent / seconds))
        nth = min(best, key=lambda each: best[each].cost) if trial % 3 else int(
            rng.choice(list(best)))  # fmt: skip
        now = best[nth]
        if trial % 6 == 5:
            sizes = np.array([each[0].area for each in turned])
            mixed = np.argsort(-sizes * rng.uniform(0.6, 1.4, len(sizes)), kind="stable")
            lay = tables[nth].laid([], [turned[card] for card in mixed], Rule(trial // 6 % 2))
        else:
            stay, again = now.parted(rng)
            lay = tables[nth].laid(stay, again, Rule(int(rng.integers(2))))
        if lay is None or lay.cost[0] > now.cost[0]:
            continue
        if lay.cost <= now.cost or rng.random() < _SIDEWAYS:
            best[nth] = lay
        if lay.cost[0] < now.cost[0]:
            yield lay.filling()


@dataclass(frozen=True, eq=False)
class _Spot:
    """A card where it lies. body: what it covers; bits: the pages that it touches."""

    turned: Turned
    shape: Shape
    corner: Corner
    body: shapely.Polygon
    bits: Bits


@dataclass(frozen=True, eq=False)
class _Lay:
    """All cards on the pages of a grid."""

    ground: Ground
    spots: tuple[_Spot, ...]

    @cached_property
    def cost(self) -> tuple[int, float]:
        """What is to be little: pages; then how evenly cards are spread over them."""
        bits = np.array([spot.bits for spot in self.spots])
        pages = int(_counted(np.bitwise_or.reduce(bits)[:, None])[0])
        return pages, -sum(load**2 for load in self._loads.values())

    @cached_property
    def _loads(self) -> dict[int, float]:
        """Return page to about how much card lies on it, mm2."""
        loads: dict[int, float] = {}
        for spot in self.spots:
            pages = _pages(spot.bits)
            for page in pages:
                loads[page] = loads.get(page, 0.0) + spot.shape.area / len(pages)
        return loads

    def parted(self, rng: np.random.Generator) -> tuple[list[_Spot], list[Turned]]:
        """Return what stays, and the cards to lay anew: those on two of the emptier pages."""
        loads = self._loads
        pages = sorted(loads, key=lambda page: loads[page] * float(rng.uniform(0.3, 1.7)))
        chosen = set(pages[: int(rng.integers(1, 4))])
        again = [spot for spot in self.spots if chosen & set(_pages(spot.bits))]
        stay = [spot for spot in self.spots if spot not in again]
        ranks = [spot.shape.area * float(rng.uniform(0.5, 1.5)) for spot in again]
        order = sorted(range(len(again)), key=lambda nth: -ranks[nth])
        return stay, [again[nth].turned for nth in order]

    def filling(self) -> Filling:
        """Return the lay as a sheet."""
        filling = Filling(self.ground)
        for spot in self.spots:
            x, y = spot.corner
            filling.placed.append(spot.shape.placed(x, y))
            filling.bodies.append(spot.body)
            filling.right = max(filling.right, x + spot.shape.size[0])
        return filling


@dataclass(eq=False)
class _Table:
    """A sheet with a grid of pages under it. until: by the clock, when no more is laid.

    _known: of a shape, the pages touched, per place.
    """

    ground: Ground
    grid: PageGrid
    until: float
    _known: dict[tuple[bytes, int], Bits] = field(default_factory=dict)

    def laid(self, stay: Sequence[_Spot], cards: Sequence[Turned], rule: Rule) -> _Lay | None:
        """Return a lay with those cards added; None where one finds no place, or time is up."""
        raster = self.ground.raster
        taken = self.ground.start.copy()
        for spot in stay:
            raster.take(taken, spot.body)
        spots = list(stay)
        for turned in cards:
            found = self._placed(turned, spots, raster.spectrum(taken), rule)
            if found is None:
                return None
            spots.append(found)
            raster.take(taken, found.body)
        return _Lay(self.ground, tuple(spots))

    def _placed(
        self, turned: Turned, spots: Sequence[_Spot], spectrum: NDArray[np.complex64], rule: Rule
    ) -> _Spot | None:
        """Return where a card touches the fewest more pages, and there as the rule says.

        None where it finds no place, or time is up.
        """
        used = np.zeros(self._words, dtype=np.uint64)
        for spot in spots:
            used |= spot.bits
        best: tuple[tuple[float, ...], Shape, Corner] | None = None
        bodies = [spot.body for spot in spots]
        shapes = [shape for shape in turned if shape.angle in self.ground.sheet.angles]
        ways = (partial(self._on_cells, spectrum), partial(self._beside, bodies))
        for way, shape in product(ways, shapes):
            if time.monotonic() > self.until:
                return None
            if way is ways[1] and best is not None and best[0][0] == 0.0:
                break  # no more page is needed, and fewer than none can't be
            places, bits = way(shape)
            if not len(places):
                continue
            more = _counted(bits & ~used[:, None])
            least = np.flatnonzero(more == more.min())
            far = places[least] + np.array(shape.size)
            first, second = (0, 1) if rule is Rule.COLUMNS else (1, 0)
            at = int(np.lexsort((far[:, second], far[:, first]))[0])
            rank = (float(more.min()), float(far[at, first]), float(far[at, second]))
            if best is None or rank < best[0]:
                x, y = places[least[at]].tolist()
                best = (rank, shape, (x, y))
        if best is None:
            return None
        return self._settled(turned, best[1], best[2], bodies)

    def _settled(
        self, turned: Turned, shape: Shape, corner: Corner, others: Sequence[shapely.Polygon]
    ) -> _Spot:
        """Slide a card together with its neighbours, but over no joint of pages."""
        ground = self.ground
        left, bottom, right, top = ground.free.bounds
        low = self.grid.corner_of(corner, shape.size)
        free = shapely.box(max(left, low[0]), max(bottom, low[1]), right, top)
        corner = slid(
            shape.polygon,
            shape.size,
            corner,
            others=[*ground.held, *others],
            free=free,
            gap=ground.gap,
            reach=3.0 * ground.raster.cell,
        )
        bits = self._bits(shape, np.array([corner]))[:, 0]
        return _Spot(turned, shape, corner, shape.at(*corner), bits)

    def _on_cells(self, spectrum: NDArray[np.complex64], shape: Shape) -> tuple[FloatArray, Bits]:
        """Return on which cells a shape may lie, (n, 2) mm, with the pages that it then touches."""
        raster = self.ground.raster
        free = raster.places(spectrum, shape)
        step = _STEP if free[::_STEP, ::_STEP].any() else 1
        free = free[::step, ::step]
        key = (shape.polygon.wkb, step)
        if key not in self._known and free.any():
            i, j = np.indices(free.shape).reshape(2, -1)
            every = np.array(raster.low) + np.column_stack([i, j]) * raster.cell * step
            if len(self._known) >= _KEPT:
                self._known.clear()
            self._known[key] = self._bits(shape, every)
        nth = np.flatnonzero(free.ravel())
        if not len(nth):
            return _NOWHERE
        i, j = np.divmod(nth, free.shape[1])
        places = np.array(raster.low) + np.column_stack([i, j]) * raster.cell * step
        return places, self._known[key][:, nth]

    def _beside(self, bodies: Sequence[shapely.Polygon], shape: Shape) -> tuple[FloatArray, Bits]:
        """Return where its bounds just clear others', or just keep to a page's edge; and pages."""
        ground = self.ground
        if ground.sheet.outline is not None:
            return _NOWHERE
        around = shapely.bounds([*ground.held, *bodies]).reshape(-1, 4)
        low = np.array(ground.raster.low)
        high = low + ground.raster.room
        size, gap = np.array(shape.size), ground.gap
        lines = []
        for axis in (0, 1):
            edges = self.grid.edges(high[axis], axis)
            lines.append(np.unique([low[axis], *(around[:, axis + 2] + gap), *(edges + CLEAR),
                                    *(edges - size[axis] - CLEAR)]))  # fmt: skip
        x, y = (grid.ravel() for grid in np.meshgrid(*lines, indexing="ij"))
        corners = np.column_stack([x, y])
        corners = corners[((corners >= low) & (corners + size <= high + 1e-9)).all(axis=1)]
        clear = gap - 1e-9
        apart = (
            (corners[:, None] - around[None, :, 2:] >= clear)
            | (around[None, :, :2] - corners[:, None] - size >= clear)
        ).any(axis=2)
        good = corners[apart.all(axis=1)]
        return (good, self._bits(shape, good)) if len(good) else _NOWHERE

    @cached_property
    def _counts(self) -> tuple[int, int]:
        right, top = np.array(self.ground.raster.low) + self.ground.raster.room
        return self.grid.cell(float(right), 0) + 2, self.grid.cell(float(top), 1) + 2

    @cached_property
    def _words(self) -> int:
        return -(-self._counts[0] * self._counts[1] // _WORD)

    def _bits(self, shape: Shape, places: FloatArray) -> Bits:
        """Return which pages a shape touches with its lower left bound at places: (words, n)."""
        sent = shapely.transform(shape.polygon, lambda points: moved(points, self.grid.sends))
        left, bottom, right, top = sent.bounds
        many = (int((right - left) / _FINE) + 2, int((top - bottom) / _FINE) + 2)
        mask = filled(
            sent.buffer(0.75 * _FINE), (left - _FINE / 2, bottom - _FINE / 2), _FINE, many
        )
        sums = np.zeros((many[0] + 1, many[1] + 1), dtype=np.int64)
        sums[1:, 1:] = mask.cumsum(axis=0).cumsum(axis=1)
        at = np.add(moved(places, self.grid.sends), (left, bottom))
        firsts = [self.grid.cells(at[:, axis], axis) for axis in (0, 1)]
        spans = [int((b - a) / self.grid.pitch[axis]) + 2
                 for axis, (a, b) in enumerate(((left, right), (bottom, top)))]  # fmt: skip
        ends = [
            [np.clip(np.round((self.grid.edge(firsts[axis] + k, axis) - at[:, axis]) / _FINE + 0.5),
                     0, many[axis]).astype(np.int64) for k in range(spans[axis] + 1)]
            for axis in (0, 1)
        ]  # fmt: skip
        for axis in (0, 1):
            ends[axis][0] = np.zeros_like(ends[axis][0])
        corners = [[sums[x, y] for y in ends[1]] for x in ends[0]]
        bits = np.zeros((self._words, len(places)), dtype=np.uint64)
        across = self._counts[0]
        nths = np.arange(len(places))
        for k in range(spans[0]):
            for m in range(spans[1]):
                inked = (
                    corners[k + 1][m + 1] - corners[k][m + 1] - corners[k + 1][m] + corners[k][m]
                )
                hit = inked > 0
                page = (firsts[1][hit] + m) * across + firsts[0][hit] + k
                word, bit = np.divmod(page, _WORD)
                good = word < self._words
                bits[word[good], nths[hit][good]] |= np.uint64(1) << bit[good].astype(np.uint64)
        return bits


def _counted(bits: Bits) -> NDArray[np.int64]:
    """Return how many pages are touched at each place, (n,)."""
    bytes_ = np.ascontiguousarray(bits.T).view(np.uint8)
    return np.asarray(np.unpackbits(bytes_, axis=1).sum(axis=1, dtype=np.int64))


def _pages(bits: Bits) -> list[int]:
    return [
        nth * _WORD + bit
        for nth, word in enumerate(bits.tolist())
        for bit in range(_WORD)
        if word >> bit & 1
    ]
