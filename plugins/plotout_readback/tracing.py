"""Follows a machine as it obeys a file: its place, its tool, what it traced."""

from __future__ import annotations

import math
import re
from array import array
from collections import Counter, deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np

from plotout import FloatArray, Machine, Reading, Traced

PART = 1 << 19
"""Coordinates after which a part of a reading is handed over, to save memory."""
_FARTHEST = 1e9  # mm, or a drawing's unit


def bounded(numbers: FloatArray) -> FloatArray:
    """Return a drawing's numbers. Raises ValueError if one is not finite, or too large."""
    if not (np.abs(numbers) < _FARTHEST).all():
        raise ValueError("a number is too large")
    return numbers


class _Stretch(NamedTuple):
    """A stretch as it is kept until its part is handed over: on the machine; see `Traced`."""

    points: array[float]
    tool: int | None
    feed: float | None
    force: float | None
    power: float | None
    depth: float | None
    follows: bool
    angles: array[float] | None
    waits: float


@dataclass(slots=True)
class Trace:
    """A machine's state. `at`: x, y of the machine, in its units; `points`: x, y, x, y ...

    heading: degrees of a knife's turning axis, nan until set; `headings`: of the points.
    size: coordinates kept since the last part. waits: s at the first of `points`.
    """

    at: tuple[float, float] = (0.0, 0.0)
    down: bool = False
    tool: int | None = None
    feed: float | None = None
    force: float | None = None
    power: float | None = None
    depth: float | None = None
    heading: float = math.nan
    points: array[float] = field(default_factory=lambda: array("d"))
    headings: array[float] = field(default_factory=lambda: array("d"))
    travels: array[float] = field(default_factory=lambda: array("d"))
    done: deque[_Stretch] = field(default_factory=deque)
    size: int = 0
    waits: float = 0.0
    unknown: Counter[str] = field(default_factory=Counter)
    notes: Counter[str] = field(default_factory=Counter)
    unsafe: Counter[str] = field(default_factory=Counter)

    def go(self, flat: Sequence[float]) -> None:
        """Move through x, y, x, y ..., working if the tool is down; a knife turns evenly."""
        if len(flat) < 2:
            return
        (self.points if self.down else self.travels).extend(flat)
        self.size += len(flat)
        if self.down:
            many, turn = len(flat) // 2, self.heading - self.headings[-1]
            left = 0.0 if math.isnan(turn) else turn / many
            self.headings.extend(self.heading - left * after for after in range(many - 1, -1, -1))
        self.at = (flat[-2], flat[-1])

    def lower(self) -> None:
        """Lower the tool here."""
        if not self.down:
            self.down = True
            self.points = array("d", self.at)
            self.headings = array("d", (self.heading,))
            self.size += 2

    def lift(self) -> None:
        """Lift the tool, which ends a stretch."""
        if self.down:
            self._keep()
            self.down = False

    def wait(self, seconds: float) -> None:
        """Wait with the tool down; a stretch in progress continues as a new one."""
        self._divide()
        self.waits += seconds

    def change(self, **state: float | None) -> None:
        """Set tool, feed, force, power or depth; a stretch in progress continues as a new one."""
        for name, value in state.items():
            if getattr(self, name) != value:
                break
        else:
            return
        self._divide()
        for name, value in state.items():
            setattr(self, name, value)

    _started: bool = False

    def _divide(self) -> None:
        """End a stretch in progress here, and continue it as a new one."""
        if self.down and len(self.points) > 2:
            self._keep()
            self.points, self.headings = array("d", self.at), self.headings[-1:]
            self._started = True

    def _keep(self) -> None:
        angles = None if math.isnan(self.heading) else self.headings
        self.done.append(
            _Stretch(
                self.points, self.tool, self.feed, self.force, self.power, self.depth,
                self._started, angles, self.waits,
            )
        )  # fmt: skip
        self._started, self.waits = False, 0.0

    def part(self, to_sheet: FloatArray) -> Reading:
        """Return what was traced since the last part, mapped by (2, 3) from machine units to sheet
        mm. Stretches and travels are then forgotten.
        """
        self._divide()
        traced = tuple(self._mapped(to_sheet))
        travels = np.array(self.travels).reshape(-1, 2)
        self.travels, self.size = array("d"), 0
        return Reading(traced, False, travels=travels @ to_sheet[:, :2].T + to_sheet[:, 2])

    def reading(self, to_sheet: FloatArray, *, ends_safe: bool) -> Reading:
        """Return the last part; see `part`."""
        open_end = self.down
        self.lift()
        return replace(
            self.part(to_sheet),
            ends_safe=ends_safe and not open_end,
            unknown=_counted(self.unknown),
            notes=_counted(self.notes + self.unsafe),
            unsafe=_counted(self.unsafe),
        )

    def _mapped(self, to_sheet: FloatArray) -> Iterator[Traced]:
        """Yield what was traced on the sheet: mapped at once, and then divided again. It is then
        forgotten, bit by bit: there may be a million stretches.
        """
        if not self.done:
            return
        flat = array("d")
        for stretch in self.done:
            flat.extend(stretch.points)
        points = np.reshape(flat, (-1, 2)) @ to_sheet[:, :2].T + to_sheet[:, 2]
        end = 0
        while self.done:
            on_machine, tool, feed, force, power, depth, follows, headings, waits = (
                self.done.popleft()
            )
            begin, end = end, end + len(on_machine) // 2
            angles = None if headings is None else _on_sheet(np.array(headings), to_sheet)
            yield Traced(
                points[begin:end], tool, feed, force, power, depth, follows, angles, waits=waits
            )


def _on_sheet(angles: FloatArray, to_sheet: FloatArray) -> FloatArray:
    """Return headings on the machine as headings on the sheet, degrees."""
    (a, b), (c, d) = to_sheet[:, :2].tolist()
    turn = math.degrees(math.atan2(c + 0.0, a))  # + 0.0: half a turn is 180 degrees, not -180
    return np.asarray(turn + math.copysign(1.0, a * d - b * c) * angles)


def _counted(words: Counter[str]) -> tuple[str, ...]:
    return tuple(word if n == 1 else f"{word} ({n} times)" for word, n in words.items())


_CORNER = {"left": 0.0, "lower": 0.0, "right": 1.0, "upper": 1.0}


def sheet_map(machine: Machine, step: float) -> FloatArray:
    """Return the (2, 3) map from the machine's units (`step` mm) to sheet mm.

    The sheet is as large as the machine's bed. The machine's zero lies at `machine.origin`;
    its X runs along the first of `machine.axes`, its Y along the second.
    """
    if machine.origin == "centre":
        zero = np.array([machine.bed.length, machine.bed.width]) / 2.0
    else:
        upper, right = (_CORNER[word] for word in machine.origin.split())
        zero = np.array([right * machine.bed.length, upper * machine.bed.width])
    ways = []
    for axis in re.findall(r"-?[xy]", machine.axes):
        size = -1.0 if axis[0] == "-" else 1.0
        ways.append([size, 0.0] if axis[-1] == "x" else [0.0, size])
    return np.column_stack([np.array(ways).T * step, zero])


def arc(
    start: tuple[float, float], centre: tuple[float, float], sweep: float, tolerance: float
) -> list[float]:
    """Return points along an arc, x, y ..., without its start; `sweep` in radians, ccw positive."""
    x, y = start[0] - centre[0], start[1] - centre[1]
    radius = float(np.hypot(x, y))
    bend = 2.0 * np.arccos(max(1.0 - tolerance / radius, 0.0)) if radius > tolerance else np.pi
    count = max(int(np.ceil(abs(sweep) / max(bend, 1e-3))), 1)
    turn = sweep * np.arange(1, count + 1) / count
    cos, sin = np.cos(turn), np.sin(turn)
    xy = np.column_stack([centre[0] + x * cos - y * sin, centre[1] + x * sin + y * cos])
    flat: list[float] = xy.ravel().tolist()
    return flat
