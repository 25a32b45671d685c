"""What would go wrong with a file on a machine, gathered from a reading in parts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from plotout.errors import counted
from plotout.machine import Machine, ToolKind
from plotout.model import Reading, Traced
from plotout.proof.lingering import Lingering

_LIMITED = {"feed": "speed", "force": "force", "power": "power", "depth": "depth"}
"""What a file sets, and what of a tool limits it."""
_TURNS = 0.1  # % of a spindle's greatest speed: with less, none turns (from memory)


@dataclass(slots=True)
class Faults:
    """What was found so far. off: points off the bed; first: x, y of the first one, mm.

    works: it does something. tools: the numbers of tools that it uses, in order; most: the
    greatest feed, force, power and depth that it sets. no_speed: some of its work has none.
    still: a cutter that turns does some of it while it does not; turning: a tool that does not
    turn does some while a router's spindle does.
    """

    machine: Machine
    works: bool = False
    ends_safe: bool = False
    off: int = 0
    first: tuple[float, float] = (0.0, 0.0)
    tools: dict[int | None, None] = field(default_factory=dict)
    most: dict[str, float] = field(default_factory=dict)
    no_speed: bool = False
    still: bool = False
    turning: bool = False
    lingering: Lingering = field(default_factory=Lingering)

    def add(self, part: Reading) -> None:
        """Take in the next part of a reading; the last one says how the file ends."""
        self.works = self.works or bool(part.traced)
        self.ends_safe = part.ends_safe
        self._look_off(part)
        self.no_speed = self.no_speed or any(
            traced.feed is None and len(traced.points) > 1 for traced in part.traced
        )
        self.still = self.still or any(map(self._is_still, part.traced))
        self.turning = self.turning or any(map(self._is_turning, part.traced))
        if "laser" in (self.machine.kind, self.machine.options.get("tool")):
            self.lingering.add(part.traced)
        self.tools |= dict.fromkeys(traced.tool for traced in part.traced)
        for name in _LIMITED:
            said = {getattr(traced, name) for traced in part.traced} - {None}
            if said:
                self.most[name] = max(*said, self.most.get(name, -np.inf))

    def _is_still(self, traced: Traced) -> bool:
        """Return whether a router's cutter is in the stock with its spindle off. Where the file
        names no tool, it is what goes that deep.
        """
        deep = traced.depth or 0.0
        if deep <= 0.0 or (traced.power or 0.0) >= _TURNS:
            return False
        may = [
            tool.kind is ToolKind.ROUTER
            for tool in self.machine.tools
            if traced.tool == tool.number or (traced.tool is None and (tool.depth or 0.0) > 0.0)
        ]
        return bool(may) and all(may)

    def _is_turning(self, traced: Traced) -> bool:
        """Return whether a blade or a pen of a machine with a router works while that turns."""
        kinds = {tool.number: tool.kind for tool in self.machine.tools}
        kind = kinds.get(traced.tool) if traced.tool is not None else None
        turns = traced.depth is not None and (traced.power or 0.0) > 0.0
        may = ToolKind.ROUTER in kinds.values() and kind not in (None, ToolKind.ROUTER)
        return turns and may

    def _look_off(self, part: Reading) -> None:
        places = [traced.points for traced in part.traced]
        if part.travels is not None:
            places.append(part.travels)
        points = np.vstack(places) if places else np.empty((0, 2))
        bed, step = self.machine.bed, self.machine.step
        limits = np.array([bed.length, bed.width]) + step
        off = np.flatnonzero(((points < -step) | (points > limits)).any(axis=1))
        if len(off) and not self.off:
            self.first = tuple(points[off[0]])
        self.off += len(off)

    def words(self) -> Iterator[str]:
        """Yield what was found, in words."""
        if not self.works:
            yield "it does nothing"
        if not self.ends_safe:
            yield "it does not end with the tool up and off"
        if self.off:
            x, y = self.first
            count = counted(self.off, "point")
            yield f"it goes off the bed at x {x:.2f}, y {y:.2f} mm ({count} in all)"
        numbers = {tool.number for tool in self.machine.tools}
        for number in self.tools:
            if number is not None and number not in numbers:
                yield f"it uses tool {number}, which the machine does not have"
        for name, attribute in _LIMITED.items():
            allowed = [getattr(tool, attribute) for tool in self.machine.tools]
            limit = max((value for value in allowed if value is not None), default=None)
            most = self.most.get(name)
            if most is not None and limit is not None and most > limit * 1.01 + 0.01:
                yield f"it sets {name} to {most:g}, more than the profile's {limit:g}"
        if burns := self.lingering.words():
            yield burns


def faults(reading: Reading, machine: Machine) -> tuple[str, ...]:
    """Return what would go wrong with a file on a machine, in words."""
    found = Faults(machine)
    found.add(reading)
    return tuple(found.words())
