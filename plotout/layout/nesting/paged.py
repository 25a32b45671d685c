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
from itertools import count, product

import numpy as np
import shapely
from numpy.typing import NDArray

from plotout.geometry.polyline import moved
from plotout.geometry.strokes import FloatArray
from plotout.layout.nesting.filling import Corner, Filling, Ground, Rule, Turned
from plotout.layout.nesting.grid import Field
from plotout.layout.nesting.shape import Shape, slid
from plotout.layout.nesting.touching import Bits, Touching, counted, numbers
from plotout.layout.paper.needed import needed
from plotout.layout.stock.model import CLEAR, PageGrid

_CARDS = 40.0  # laid anew a second: so few that they end before the time does
_SIDEWAYS = 0.3  # share of lays that are gone on from though their cards are spread more evenly
_STEP = 2  # cells from a place that is tried to the next, where any such place is free
_KEPT = 240  # shapes whose pages are remembered
_TOUCHES = 1000  # more than the pages that a card can touch

_Places = tuple[FloatArray, Bits, NDArray[np.int64]]
"""Where a shape may lie, (n, 2) mm; the pages it then takes; how many more it touches, (n,)."""

_NOWHERE: _Places = (
    np.empty((0, 2)), np.empty((1, 0), dtype=np.uint64), np.empty(0, dtype=np.int64)
)  # fmt: skip


def pages_touched(filling: Filling, grid: PageGrid) -> int:
    """Return how many pages the cards of a sheet take, but for what their neighbours show."""
    bodies = filling.bodies or [shapely.Polygon(placed.outline) for placed in filling.placed]
    sent = shapely.transform(np.array(bodies), lambda points: moved(points, grid.sends))
    right, top = shapely.bounds(sent)[:, 2:].max(axis=0).tolist()
    tree = shapely.STRtree(sent)
    return len(needed(grid.lines(right, 0), grid.lines(top, 1), grid.shared, tree))


def fewest(filling: Filling) -> int:
    """Return how many pages the cards of a sheet touch on the grid that suits them best."""
    return min(pages_touched(filling, grid) for grid in filling.ground.sheet.pages)


def paged(
    turned: Sequence[Turned],
    ground: Ground,
    seconds: float,
    seed: int,
    progress: Callable[[float], None],
) -> Iterator[Filling]:
    """Yield lays of all cards on one sheet, each with fewer pages than those before it.

    At 0 seconds one for each way that pages may lie.
    """
    rng = np.random.default_rng(seed)
    begun = time.monotonic()
    until = begun + seconds if seconds else math.inf
    tables = [_Table(ground, grid, until) for grid in ground.sheet.pages]
    order = sorted(range(len(turned)), key=lambda card: -turned[card][0].area)
    best: dict[int, _Lay] = {}
    for index, table in enumerate(tables):
        lay = table.laid([], [turned[card] for card in order], Rule.COLUMNS)
        if lay is not None:
            best[index] = lay
            yield lay.filling()
    if not best:
        return
    many = left = int(seconds * _CARDS)
    for trial in count():
        spent = time.monotonic() - begun
        if spent > seconds or left <= 0:
            return
        progress(max(1.0 - left / many, spent / seconds))
        index = min(best, key=lambda index: best[index].cost) if trial % 3 else int(
            rng.choice(list(best)))  # fmt: skip
        now = best[index]
        if trial % 6 == 5:
            sizes = np.array([shapes[0].area for shapes in turned])
            mixed = np.argsort(-sizes * rng.uniform(0.6, 1.4, len(sizes)), kind="stable")
            stay: list[_Spot] = []
            again, rule = [turned[card] for card in mixed], Rule(trial // 6 % 2)
        else:
            stay, again = now.parted(rng)
            rule = Rule(int(rng.integers(2)))
        lay, left = tables[index].laid(stay, again, rule), left - len(again)
        if lay is None or lay.cost[0] > now.cost[0]:
            continue
        if lay.cost <= now.cost or rng.random() < _SIDEWAYS:
            best[index] = lay
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
        pages = int(counted(np.bitwise_or.reduce(bits)[:, None])[0])
        return pages, -sum(load**2 for load in self._loads.values())

    @cached_property
    def _loads(self) -> dict[int, float]:
        """Return page to about how much card lies on it, mm2."""
        loads: dict[int, float] = {}
        for spot in self.spots:
            pages = numbers(spot.bits)
            for page in pages:
                loads[page] = loads.get(page, 0.0) + spot.shape.area / len(pages)
        return loads

    def parted(self, rng: np.random.Generator) -> tuple[list[_Spot], list[Turned]]:
        """Return what stays, and the cards to lay anew: those on two of the emptier pages."""
        loads = self._loads
        pages = sorted(loads, key=lambda page: loads[page] * float(rng.uniform(0.3, 1.7)))
        chosen = set(pages[: int(rng.integers(1, 4))])
        again = [spot for spot in self.spots if chosen & set(numbers(spot.bits))]
        stay = [spot for spot in self.spots if spot not in again]
        ranks = [spot.shape.area * float(rng.uniform(0.5, 1.5)) for spot in again]
        order = sorted(range(len(again)), key=lambda index: -ranks[index])
        return stay, [again[index].turned for index in order]

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
    _known: dict[tuple[bytes, int], tuple[Bits, NDArray[np.int64]]] = field(default_factory=dict)

    @cached_property
    def touching(self) -> Touching:
        """Tells which pages shapes take."""
        right, top = np.array(self.ground.raster.low) + self.ground.raster.room
        return Touching(self.grid, (float(right), float(top)))

    def laid(self, stay: Sequence[_Spot], cards: Sequence[Turned], rule: Rule) -> _Lay | None:
        """Return a lay with those cards added; None where one finds no place, or time is up."""
        raster = self.ground.raster
        field = self.ground.start.copy()
        for spot in stay:
            raster.take(field, spot.body)
        spots = list(stay)
        for turned in cards:
            found = self._placed(turned, spots, field, rule)
            if found is None:
                return None
            spots.append(found)
            raster.take(field, found.body)
        return _Lay(self.ground, tuple(spots))

    def _placed(
        self, turned: Turned, spots: Sequence[_Spot], field: Field, rule: Rule
    ) -> _Spot | None:
        """Return where a card touches the fewest more pages, and there as the rule says.

        None where it finds no place, or time is up.
        """
        used = self.touching.nothing
        for spot in spots:
            used |= spot.bits
        best: tuple[tuple[float, ...], Shape, Corner] | None = None
        bodies = [spot.body for spot in spots]
        shapes = [shape for shape in turned if shape.angle in self.ground.sheet.angles]
        searches = (partial(self._on_cells, field), partial(self._beside, bodies))
        for places_for, shape in product(searches, shapes):
            if time.monotonic() > self.until:
                return None
            if places_for is searches[1] and best is not None and best[0][0] < _TOUCHES:
                break  # no more page is needed, and fewer than none can't be
            places, bits, touched = places_for(shape)
            if not len(places):
                continue
            more = counted(bits & ~used[:, None])
            worth = more * _TOUCHES + touched
            least = np.flatnonzero(worth == worth.min())
            far = places[least] + np.array(shape.size)
            first, second = (0, 1) if rule is Rule.COLUMNS else (1, 0)
            at = int(np.lexsort((far[:, second], far[:, first]))[0])
            rank = (float(worth.min()), float(far[at, first]), float(far[at, second]))
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
        bits = self.touching.pages(shape, np.array([corner]))[0][:, 0]
        return _Spot(turned, shape, corner, shape.at(*corner), bits)

    def _on_cells(self, field: Field, shape: Shape) -> _Places:
        """Return on which cells a shape may lie."""
        raster = self.ground.raster
        free = raster.places(field, shape)
        if not len(free):
            return _NOWHERE
        some = free[(free % _STEP == 0).all(axis=1)]
        step = _STEP if len(some) else 1
        free = (some if len(some) else free) // step
        wide, tall = (-(-count // step) for count in raster.counts(shape))
        key = (shape.key, step)
        if key not in self._known:
            i, j = np.indices((wide, tall)).reshape(2, -1)
            every = np.array(raster.low) + np.column_stack([i, j]) * raster.cell * step
            if len(self._known) >= _KEPT:
                self._known.clear()
            self._known[key] = self.touching.pages(shape, every)
        cell = free[:, 0] * tall + free[:, 1]
        places = np.array(raster.low) + free * raster.cell * step
        bits, touched = self._known[key]
        return places, bits[:, cell], touched[cell]

    def _beside(self, bodies: Sequence[shapely.Polygon], shape: Shape) -> _Places:
        """Return where its bounds just clear others', or just keep to a page's edge."""
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
            scale = 1.0 / float(self.grid.sends[axis, axis])
            ends = edges - size[axis] - CLEAR
            before, beyond = (shared * scale for shared in self.grid.shared)
            begins = edges + CLEAR
            lines.append(np.unique([low[axis], *(around[:, axis + 2] + gap), *begins, *ends,
                                    *(begins - before), *(ends + beyond)]))  # fmt: skip
        x, y = (grid.ravel() for grid in np.meshgrid(*lines, indexing="ij"))
        corners = np.column_stack([x, y])
        corners = corners[((corners >= low) & (corners + size <= high + 1e-9)).all(axis=1)]
        clear = gap - 1e-9
        apart = (
            (corners[:, None] - around[None, :, 2:] >= clear)
            | (around[None, :, :2] - corners[:, None] - size >= clear)
        ).any(axis=2)
        good = corners[apart.all(axis=1)]
        return (good, *self.touching.pages(shape, good)) if len(good) else _NOWHERE
