"""A machine as HP-GL drives it: in whole cm/s, and in its own units.

VS takes whole cm/s on simple machines, which don't read fractions; the plotter unit is 0.025 mm.
Source: HP 7550A Interfacing and Programming Manual (Hewlett-Packard, 1984-86): VS, 1 to 80 cm/s.
"""

from __future__ import annotations

from dataclasses import replace

from plotout import Machine, Tool

UNIT = 0.025  # mm


def spoken(speed: float) -> int:
    """Return mm/s as whole cm/s, never faster than asked, except below 1."""
    return max(1, int(speed / 10.0 + 1e-9))


def as_driven(machine: Machine) -> Machine:
    """Return the machine with the speeds in its files.

    Its notes list the changes, and what readers that know only the manual's unit would miss.
    """
    notes: list[str] = []
    if abs(machine.step - UNIT) > 1e-9:
        notes.append(
            f"a coordinate unit is {machine.step:g} mm, the profile's step, not {UNIT:g} mm "
            "as in HP-GL's manual: measure the first thing that it makes"
        )
    tools = tuple(_driven(tool, notes) for tool in machine.tools)
    return replace(machine, tools=tools, notes=machine.notes + tuple(dict.fromkeys(notes)))


def _driven(tool: Tool, notes: list[str]) -> Tool:
    speed = _said(tool, "speed", tool.speed, notes)
    swivel = tool.swivel_speed
    if swivel is not None:
        swivel = _said(tool, "swivel speed", swivel, notes)
    return replace(tool, speed=speed, swivel_speed=swivel)


def _said(tool: Tool, what: str, speed: float, notes: list[str]) -> float:
    said = 10.0 * spoken(speed)
    if abs(said - speed) > 1e-6:
        notes.append(
            f"{tool.name}: the file sets a {what} of {said:g} mm/s, not {speed:g}, since HP-GL "
            "has only whole cm/s"
        )
    return said
