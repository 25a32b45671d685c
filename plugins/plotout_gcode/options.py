"""The options of a profile for G-code."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Annotated

from plotout import Drop, Machine, ToolKind, UserError
from plotout.kit import Choice, Given, Length, Number, Seconds, Speed, options_of, table

MM_PER_INCH = 25.4


@table
@dataclass(frozen=True, slots=True)
class Options:
    """A profile's `[options]` for G-code. Z 0 is the stock's surface."""

    units: Annotated[str, Choice("Unit of the file.", ("mm", "inch"))] = "mm"
    tool: Annotated[
        str,
        Choice(
            "How the tool is lowered: by Z; by an output, on and off; or as a beam.",
            ("z", "spindle", "laser"),
        ),
    ] = "z"
    up: Annotated[
        float,
        Length(
            "Height of Z above the stock's surface while travelling.",
            0.5,
            200.0,
            why="The tool must clear the stock within the axis's reach; the unit is mm.",
        ),
    ] = 5.0
    plunge: Annotated[float, Speed("Speed straight down.", most=5000.0, above=True)] = 10.0
    on: Annotated[
        str, Choice("Word that switches it on; by default M4 for a laser, else M3.", ("M3", "M4"))
    ] = ""
    full: Annotated[
        float, Number("The S word for full power.", most=1e6, above=True, example="1000")
    ] = 1000.0
    rotary: Annotated[str, Choice("The axis that turns a tangential knife.", ("A", "C"))] = ""
    start: Annotated[
        float,
        Seconds("Time for a spindle to reach its speed, or a beam its power.", most=600.0),
    ] = 0.0
    change: Annotated[
        str,
        Choice(
            "How tools are changed: M6, then M0; M6; or not at all.",
            ("by hand", "automatic", "none"),
        ),
    ] = "by hand"
    step: Annotated[float, Given("The machine's smallest move, mm.")] = 0.01
    turning: Annotated[float, Given("Degrees per second of a knife that turns alone.")] = 180.0

    @property
    def decimals(self) -> int:
        """The number of decimals that keep rounding under a tenth of a step."""
        return _decimals(self.step * self.scale)

    @property
    def switch(self) -> str:
        """The word that switches the output or the beam on."""
        return self.on or ("M4" if self.tool == "laser" else "M3")

    @property
    def scale(self) -> float:
        """File units per millimetre."""
        return 1.0 / MM_PER_INCH if self.units == "inch" else 1.0

    @property
    def place(self) -> str:
        """The form of a place's words, for its x and y, rounded, in file units."""
        return f"X%.{self.decimals}f Y%.{self.decimals}f"

    def number(self, value: float) -> str:
        """Return a coordinate, in file units, as written."""
        return f"{round(value, self.decimals) + 0.0:.{self.decimals}f}"

    def feed(self, speed: float) -> str:
        """Return mm/s as file units per minute."""
        return f"{speed * 60.0 * self.scale:.6g}"


@lru_cache(64)  # asked for every number
def _decimals(step: float) -> int:
    return min(6, max(3, math.ceil(-math.log10(step)) + 1))


def options(machine: Machine) -> Options:
    """Return the profile's settings. Raises UserError for bad ones."""
    return options_of(machine, Options, step=machine.step, turning=machine.motion.turning)


def as_driven(machine: Machine) -> Machine:
    """Return the machine as its files drive it: Z lowers the tool; a spindle has time to start.

    The start of a spindle adds to a change of tool; a lowered beam waits.
    """
    asked = options(machine)
    motion = machine.motion
    if asked.tool == "z":
        turned = any(tool.kind is ToolKind.ROUTER for tool in machine.tools)
        motion = replace(motion, change=motion.change + asked.start * turned)
        return replace(machine, motion=motion, drop=Drop(asked.up, asked.plunge))
    if asked.tool == "laser":  # nothing moves: the beam is on, or waited for
        return replace(machine, motion=replace(motion, lift=0.0, lower=asked.start))
    return machine


def check(machine: Machine) -> None:
    """Raise UserError for a tool without depth, power or a turning axis in the profile."""
    said = options(machine)
    for tool in machine.tools:
        wrong = fix = ""
        if said.tool == "z" and tool.depth is None and tool.kind is not ToolKind.PEN:
            wrong, fix = "no depth", "Write its depth below the stock's surface, in mm."
        elif said.tool == "laser" and tool.power is None:
            wrong, fix = "no power", "Write its power, in per cent."
        elif tool.kind is ToolKind.TANGENTIAL_KNIFE and not said.rotary:
            wrong, fix = "no axis to turn it", 'Add rotary = "A" or "C" to [options].'
        if wrong:
            raise UserError(f"machine '{machine.name}': tool '{tool.name}' has {wrong}", fix=fix)
