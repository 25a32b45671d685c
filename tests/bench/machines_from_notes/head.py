"""The part that moves: where the tool truly is, and what it has left on the stock."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

Point = tuple[float, ...]


@dataclass(frozen=True)
class Block:
    """One straight move. to: where it ends, as the machine counts; seconds: how long it takes."""

    to: Point
    seconds: float
    working: bool
    number: int = 0


@dataclass
class Head:
    """A head that is driven by a queue of blocks.

    place: as the machine counts, any unit; slip: the true place less that, after a lost reference.
    in_stock says of a true place whether the tool touches the stock there. marks: true stretches
    (x, y, x, y) worked, in order.
    """

    place: list[float]
    in_stock: Callable[[Head, bool], bool]
    slip: list[float] = field(default_factory=list)
    queue: list[Block] = field(default_factory=list)
    marks: list[tuple[float, float, float, float]] = field(default_factory=list)
    done: float = 0.0
    slowing: float = 0.0
    _slow_for: float = 0.0

    def __post_init__(self) -> None:
        self.slip = self.slip or [0.0] * len(self.place)

    def true_place(self) -> list[float]:
        """Return where the tool truly is."""
        return self._true(self.place)

    def slow_down(self, seconds: float) -> None:
        """Begin to come to rest within so many seconds."""
        self.slowing = self._slow_for = seconds

    def run(self, seconds: float) -> None:
        """Let time pass at full speed."""
        while seconds > 0.0 and self.queue:
            block = self.queue[0]
            left = block.seconds - self.done
            step = min(left, seconds)
            share = 1.0 if step >= left else step / left
            self._move(
                [a + share * (b - a) for a, b in zip(self.place, block.to, strict=True)], block
            )
            seconds -= step
            self.done += step
            if share == 1.0:
                self.queue.pop(0)
                self.done = 0.0

    def run_slowing(self, seconds: float) -> bool:
        """Let time pass while coming to rest; return whether the head is at rest."""
        if not self.slowing:
            return True
        step = min(self.slowing, seconds)
        speed = (self.slowing - step / 2.0) / self._slow_for
        self.run(step * speed)
        self.slowing = max(0.0, self.slowing - step)
        return self.slowing <= 1e-9

    def drop(self) -> None:
        """Forget what was planned."""
        self.queue.clear()
        self.done = self.slowing = 0.0

    def lose_place(self, counts_from: Point) -> None:
        """Let the machine believe that it is at counts_from, wherever it truly is."""
        true = self.true_place()
        self.place = list(counts_from)
        self.slip = [a - b for a, b in zip(true, self.place, strict=True)]

    def _move(self, to: list[float], block: Block) -> None:
        begin, touched = self.place, self.in_stock(self, block.working)
        self.place = to
        touches = self.in_stock(self, block.working)
        ends = [begin, to]
        if touched != touches:  # on a ramp: find where it passes the surface
            ends[touched] = self._surface(begin, to, block.working, touched)
            self.place = to
        one, other = (self._true(end) for end in ends)
        if (touched or touches) and math.dist(one[:2], other[:2]) > 0.0:
            self.marks.append((one[0], one[1], other[0], other[1]))

    def _surface(
        self, begin: list[float], to: list[float], working: bool, touched: bool
    ) -> list[float]:
        low, high = 0.0, 1.0
        for _ in range(30):
            middle = (low + high) / 2.0
            self.place = [a + middle * (b - a) for a, b in zip(begin, to, strict=True)]
            if self.in_stock(self, working) == touched:
                low = middle
            else:
                high = middle
        return self.place

    def _true(self, place: list[float]) -> list[float]:
        return [a + b for a, b in zip(place, self.slip, strict=True)]
