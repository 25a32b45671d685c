"""Places gathered one by one: is there one already where another comes?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import floor, hypot

Place = tuple[float, float]


@dataclass(slots=True)
class Gathered:
    """Places, mm, numbered from 0 as they come. reach: mm within which two are one."""

    reach: float
    _places: list[Place] = field(default_factory=list)
    _cells: dict[tuple[int, int], list[int]] = field(default_factory=dict)

    def add(self, at: Place) -> None:
        """Gather a place."""
        self._cells.setdefault(self._cell(at), []).append(len(self._places))
        self._places.append(at)

    def first_near(self, at: Place) -> int | None:
        """Return the number of the first place that lies nearer than `reach`."""
        near = (
            number
            for number in self._around(at)
            if hypot(at[0] - self._places[number][0], at[1] - self._places[number][1]) < self.reach
        )
        return min(near, default=None)

    def _cell(self, at: Place) -> tuple[int, int]:
        return floor(at[0] / self.reach), floor(at[1] / self.reach)

    def _around(self, at: Place) -> Iterator[int]:
        column, row = self._cell(at)
        for x in range(column - 1, column + 2):
            for y in range(row - 1, row + 2):
                yield from self._cells.get((x, y), ())
