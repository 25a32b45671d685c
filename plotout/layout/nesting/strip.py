"""Lays a roll with the strip-packing engine, on all processors.

It lays all cards until it finds nothing more, then again from another seed. Where too little time
is left for that, the best lay so far is shaken: the engine can't go on from a lay, so it is given
it as one or two rigid blocks, with the cards of a stretch between them loose. In the end the best
lays are closed up.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import count
from typing import TypeAlias

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from plotout.geometry.grown import buffered
from plotout.layout.nesting.check import faults
from plotout.layout.nesting.compaction import closed_up
from plotout.layout.nesting.engine import Found, Task, lays
from plotout.layout.nesting.filling import Filling, Ground, Turned
from plotout.layout.nesting.shape import SIMPLE
from plotout.model import Placed
from plotout.parallel import processors

_ROUND = 1.02  # a round corner is made of straight lines, enlarged so that none is inside it
_LONG = 0.7  # share of what an engine took to find nothing more, in which another seed may do well
_SHAKEN = 8  # s for which loose cards are laid anew
_LOOSE = (0.25, 0.6)  # share of the length in which cards are loose
_NEARLY = 1.015  # times the best length: such a lay may close up to less than the best does
_CLEAR = 0.01  # mm between a block and the sides of the strip

Place: TypeAlias = tuple[float, float, float]
"""Degrees turned about 0, 0, then the shift in x and y, mm."""


def shorter(
    turned: Sequence[Turned],
    ground: Ground,
    seconds: float,
    seed: int,
    progress: Callable[[float], None],
) -> Iterator[Filling]:
    """Yield ever shorter lays of all cards on one length of roll.

    Nothing for stock that is not a plain rectangle, or a card that fills its whole width.
    """
    sheet, gap = ground.sheet, ground.gap
    half = _ROUND * gap / 2.0 + SIMPLE / 3.0 if gap else 0.0
    height = sheet.room[1] + gap
    tallest = max(min(size for shape in shapes for size in shape.size) for shapes in turned)
    if ground.held or sheet.outline is not None:
        return
    if tallest + 2.0 * (half + SIMPLE) >= height:
        return
    outlines = [_outline(shapes, half) for shapes in turned]
    search = _Search(outlines, sheet.angles, height, seed, time.monotonic() + seconds)
    for task, found in lays(search.tasks()):
        progress(min(1.0, 1.0 - search.left / seconds))
        if search.left <= search.closing:
            break
        if found is None or not search.keep(task, found):
            continue
        filling = _filling(search.ends[task.seed].places, turned, ground)
        if not faults(filling.placed, ground.free, gap):
            search.length, search.places = found.length, search.ends[task.seed].places
            yield filling
    for places in search.closed_up():
        filling = _filling(places, turned, ground)
        if not faults(filling.placed, ground.free, gap):
            yield filling


def _outline(turned: Turned, half: float) -> Polygon:
    """Return a card's outline with half the gap round it, as it is before it is turned."""
    upright = turned[0]
    grown: BaseGeometry = Polygon(upright.polygon.exterior)
    if half:  # without a gap shapes are exact: parts of one piece may fit together again
        grown = buffered(grown, half, quad_segs=4).simplify(SIMPLE / 4.0)
    there = affinity.translate(grown, *upright.low)
    return affinity.rotate(there, -upright.angle, origin=(0.0, 0.0))


@dataclass(frozen=True, slots=True)
class _Block:
    """Cards that keep their places to one another. shape: what they cover, and all beyond it."""

    cards: tuple[int, ...]
    shape: Polygon


@dataclass(frozen=True, slots=True)
class _End:
    """The last lay of an engine, the shortest that it found: its length, and the places."""

    length: float
    places: list[Place]


@dataclass(eq=False)
class _Search:
    """The best lay so far, and what the engine is to try next. until: by the clock.

    ends: by the tasks' seeds. closing: seconds to leave for closing up.
    _made: of tasks given to engines, by their seeds, the loose cards and the blocks, and the
    places that these blocks were made of.
    """

    outlines: Sequence[Polygon]
    angles: Sequence[float]
    height: float
    seed: int
    until: float
    length: float = np.inf
    places: list[Place] = field(default_factory=list)
    ends: dict[int, _End] = field(default_factory=dict)
    closing: float = 0.0
    _made: dict[int, tuple[list[int], list[_Block], list[Place]]] = field(default_factory=dict)

    @property
    def left(self) -> float:
        """Seconds left."""
        return self.until - time.monotonic()

    def tasks(self) -> Iterator[Task]:
        """Yield tasks while there is time for one."""
        random = np.random.default_rng(self.seed)
        begun, took = self.left, 0.0
        for number in count():
            if self.left < 1.0:
                return
            if number == 1:
                took = begun - self.left
            seed = self.seed + 1_000 * number
            loose, blocks = list(range(len(self.outlines))), list[_Block]()
            seconds = self.left
            if self.places and self.left < _LONG * took:
                loose, blocks = self._shaken(random)
                seconds = min(self.left, _SHAKEN)
            self._made[seed] = loose, blocks, self.places
            shapes = [self.outlines[card] for card in loose] + [block.shape for block in blocks]
            polygons = [shapely.get_coordinates(shape)[:-1].tolist() for shape in shapes]
            angles = [list(self.angles)] * len(loose) + [[0.0]] * len(blocks)
            yield Task(self.height, polygons, angles, max(1, round(seconds)), seed, processors())

    def places_of(self, task: Task, found: Found) -> list[Place]:
        """Return the places of all cards in what was found for a task."""
        loose, blocks, before = self._made[task.seed]
        places: list[Place] = list(before) or [(0.0, 0.0, 0.0)] * len(loose)
        for number, angle, x, y in found.spots:
            if number < len(loose):
                places[loose[number]] = (angle, x, y)
                continue
            for card in blocks[number - len(loose)].cards:
                was = before[card]
                places[card] = (was[0], was[1] + x, was[2] + y)
        return places

    def keep(self, task: Task, found: Found) -> bool:
        """Keep what a task led to so far; return whether it is shorter than the best of all."""
        places = self.places_of(task, found)
        if not self.ends:  # the first lay closes up in more steps than later ones
            begun = time.monotonic()
            closed_up(self._laid(places), self.height)
            self.closing = time.monotonic() - begun
        self.ends[task.seed] = _End(found.length, places)
        return found.length < self.length - 1e-6

    def closed_up(self) -> Iterator[list[Place]]:
        """Yield the places of the lays that are nearly as short as the best, closed up; every one
        shorter than the last.
        """
        best = self.length
        for end in sorted(self.ends.values(), key=lambda end: end.length):
            if end.length > _NEARLY * self.length or (self.left <= 0.0 and best < self.length):
                return
            laid = self._laid(end.places)
            shifts = closed_up(laid, self.height)
            length = float((shapely.bounds(laid)[:, 2] + shifts[:, 0]).max())
            if length < best:
                best = length
                yield [
                    (angle, x + across, y + up)
                    for (angle, x, y), (across, up) in zip(end.places, shifts.tolist(), strict=True)
                ]

    def _laid(self, places: Sequence[Place]) -> list[Polygon]:
        """Return the cards' outlines at these places."""
        return [
            affinity.translate(affinity.rotate(outline, angle, origin=(0.0, 0.0)), x, y)
            for outline, (angle, x, y) in zip(self.outlines, places, strict=True)
        ]

    def _shaken(self, random: np.random.Generator) -> tuple[list[int], list[_Block]]:
        """Choose a stretch of the best lay in which cards are loose; return them and the blocks."""
        shapes = self._laid(self.places)
        long = random.uniform(*_LOOSE) * self.length
        begin = random.uniform(-0.3 * long, self.length - 0.7 * long)
        middle = shapely.bounds(shapes)[:, ::2].mean(axis=1)
        blocks = [
            block
            for cards, right in (
                (np.flatnonzero(middle < begin).tolist(), False),
                (np.flatnonzero(middle > begin + long).tolist(), True),
            )
            if (block := self._block(shapes, cards, right=right))
        ]
        held = {card for block in blocks for card in block.cards}
        return [card for card in range(len(shapes)) if card not in held], blocks

    def _block(
        self, shapes: Sequence[Polygon], cards: list[int], *, right: bool
    ) -> _Block | None:  # fmt: skip
        """Join cards at one end of the strip to a block, without those that touch no other.

        None without any, and where no card would be left loose.
        """
        while cards and len(cards) < len(shapes):
            others = shapely.bounds([s for index, s in enumerate(shapes) if index not in cards])
            end = (float(others[:, 2].max()), self.length) if right else (0.0, others[:, 0].min())
            beyond = shapely.box(end[0], 0.0, max(end), self.height)
            joined = shapely.union_all([*(shapes[card] for card in cards), beyond])
            whole = max(shapely.get_parts(joined), key=lambda part: part.area)
            hanging = [card for card in cards if shapely.intersects(whole, shapes[card])]
            if len(hanging) == len(cards):
                room = shapely.box(-1.0, _CLEAR, self.length + 1.0, self.height - _CLEAR)
                shape = shapely.intersection(Polygon(whole.exterior), room)
                return _Block(tuple(cards), shape) if isinstance(shape, Polygon) else None
            cards = hanging
        return None


def _filling(places: Sequence[Place], turned: Sequence[Turned], ground: Ground) -> Filling:
    left, bottom = ground.sheet.inner[:2]
    filling = Filling(ground)
    for shapes, (angle, x, y) in zip(turned, places, strict=True):
        shift = (x + left - ground.gap / 2.0, y + bottom - ground.gap / 2.0)
        placed = Placed(shapes[0].card, round(angle, 6) % 360.0, shift)
        filling.placed.append(placed)
        filling.right = max(filling.right, float(placed.outline[:, 0].max()))
    return filling
