"""What boards that are fed G-code have in common: a small receive buffer, power, a port, a home."""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from typing import Any

from machines_from_notes.head import Head

RECEIVE = 128  # bytes


class Board(ABC):
    """Fed bytes, told of time; speaks through `out`. surface: the height of the stock."""

    habits: Any
    surface = 0.0

    def __init__(self) -> None:
        self.head = Head([0.0, 0.0, 0.0], self._in_stock)
        self.out = self.received = b""
        self.overflows = self.resets = self.lines = self.burns = 0
        self.log: list[str] = []
        self.now = self._awake_at = 0.0

    @property
    def awake(self) -> bool:
        """Whether it is on and has started."""
        return self.now >= self._awake_at

    @property
    def room(self) -> int:
        """Return how many bytes may come before some are lost."""
        return RECEIVE - len(self.received)

    def lose_power(self) -> None:
        """Switch off and on again: it forgets where it is, and boots."""
        self.head.drop()
        self.head.lose_place((0.0, 0.0, 0.0))
        self._power_up(self.habits.boot)

    def opened(self) -> None:
        """Its port was opened."""
        if self.habits.boots_on_open:  # and finds its home by itself
            self.home()
            self._power_up(self.habits.boot)

    @abstractmethod
    def home(self) -> None:
        """Its user homes it at its own panel: its count is true again, and the tool is high."""

    @abstractmethod
    def _in_stock(self, head: Head, working: bool) -> bool: ...

    @abstractmethod
    def _power_up(self, boot: float) -> None: ...


def arc(
    start: list[float], end: list[float], values: dict[str, float], clockwise: bool
) -> list[tuple[float, ...]]:
    """Return points along an arc; none where its two radii differ by over 0.005 mm and 0.1 %."""
    cx, cy = start[0] + values.get("I", 0.0), start[1] + values.get("J", 0.0)
    radius, other = math.hypot(start[0] - cx, start[1] - cy), math.hypot(end[0] - cx, end[1] - cy)
    if abs(radius - other) > max(0.005, 0.001 * radius) or radius == 0.0:
        return []
    first, last = math.atan2(start[1] - cy, start[0] - cx), math.atan2(end[1] - cy, end[0] - cx)
    turn = (last - first) % (2.0 * math.pi) or 2.0 * math.pi
    if clockwise:
        turn = (turn - 2.0 * math.pi) or -2.0 * math.pi
        if turn == 0.0:
            turn = -2.0 * math.pi
    count = max(2, math.ceil(abs(turn) * math.sqrt(radius / 0.008)))
    points = []
    for k in range(1, count + 1):
        angle, share = first + turn * k / count, k / count
        points.append(
            (
                cx + radius * math.cos(angle),
                cy + radius * math.sin(angle),
                start[2] + share * (end[2] - start[2]),
            )
        )
    points[-1] = tuple(end)
    return points
