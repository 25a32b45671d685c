"""What a profile says of its machine's G-code."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from plotout import Machine, ToolKind, UserError, nearest

MM_PER_INCH = 25.4


@dataclass(frozen=True, slots=True)
class Options:
    """The settings of a profile, checked; see the package for what they mean. step: mm."""

    units: str
    tool: str
    up: float
    plunge: float
    on: str
    full: float
    rotary: str
    turning: float
    change: str
    decimals: int
    step: float

    @property
    def scale(self) -> float:
        """File units in a millimetre."""
        return 1.0 / MM_PER_INCH if self.units == "inch" else 1.0

    def number(self, value: float) -> str:
        """Return a coordinate, in file units, as it is written."""
        return f"{round(value, self.decimals) + 0.0:.{self.decimals}f}"

    def feed(self, speed: float) -> str:
        """Return mm/s as file units a minute."""
        return f"{speed * 60.0 * self.scale:.6g}"


def options(machine: Machine) -> Options:
    """Return the profile's settings. Raises UserError for one that is not understood."""
    tool = _choice(machine, "tool", ("z", "spindle", "laser"))
    units = _choice(machine, "units", ("mm", "inch"))
    rotary = _choice(machine, "rotary", ("", "A", "C"))
    _check_tools(machine, tool, rotary)
    return Options(
        units=units,
        tool=tool,
        up=_number(machine, "up", 5.0),
        plunge=_number(machine, "plunge", 10.0),
        on=_choice(machine, "on", ("M4", "M3") if tool == "laser" else ("M3", "M4")),
        full=_number(machine, "full", 1000.0),
        rotary=rotary,
        turning=_number(machine, "turning", 180.0),
        change=_choice(machine, "change", ("by hand", "automatic", "none")),
        decimals=_decimals(machine.step, units),
        step=machine.step,
    )


def _check_tools(machine: Machine, tool: str, rotary: str) -> None:
    """Refuse a tool whose depth, power or turning the profile leaves open. Raises UserError."""
    for each in machine.tools:
        wrong = fix = ""
        if tool == "z" and each.depth is None and each.kind is not ToolKind.PEN:
            wrong, fix = "no depth", "Say how deep it goes below the stock's face, in mm."
        elif tool == "laser" and each.power is None:
            wrong, fix = "no power", "Say how much power it works with, in per cent."
        elif each.kind is ToolKind.TANGENTIAL_KNIFE and not rotary:
            wrong, fix = "no axis to turn it", 'Add rotary = "A" or "C" to [options].'
        if wrong:
            raise UserError(f"machine '{machine.name}': tool '{each.name}' has {wrong}", fix=fix)


def _choice(machine: Machine, key: str, choices: Sequence[str]) -> str:
    """Return an option's word; the first choice is the default."""
    value = machine.options.get(key, choices[0])
    if value not in choices:
        known = [choice for choice in choices if choice]
        raise UserError(
            f"machine '{machine.name}': option {key} can't be {value!r}",
            fix=nearest(str(value), known),
        )
    return str(value)


def _number(machine: Machine, key: str, default: float) -> float:
    value = machine.options.get(key, default)
    wrong = isinstance(value, bool) or not isinstance(value, int | float)
    if wrong or not 0.0 < value < math.inf:
        raise UserError(
            f"machine '{machine.name}': option {key} can't be {value!r}",
            fix="Give a number above 0.",
        )
    return float(value)


def _decimals(step: float, units: str) -> int:
    """Return how many decimals keep rounding under a tenth of a step."""
    smallest = step / (MM_PER_INCH if units == "inch" else 1.0)
    return min(6, max(3, math.ceil(-math.log10(smallest)) + 1))
