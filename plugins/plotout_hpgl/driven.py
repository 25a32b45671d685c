"""A machine as HP-GL drives it: in whole cm/s, and in units of its own.

VS takes whole cm/s on simple machines, which read no fraction; the plotter unit is 0.025 mm.
Source: HP 7550A Interfacing and Programming Manual (Hewlett-Packard, 1984-86): VS, 1 to 80 cm/s.
"""

from __future__ import annotations

from dataclasses import replace

from plotout import Machine, Tool

UNIT = 0.025  # mm


def spoken(speed: float) -> int:
    """Return mm/s as whole cm/s, never faster than was asked, but for what is under 1."""
    return max(1, int(speed / 10.0 + 1e-9))


def as_driven(machine: Machine) -> Machine:
    """Return the machine with the speeds that its files say.

    Its notes tell what is changed, and what readers that know only the manual's unit would miss.
    """
    notes: list[str] = []
    if abs(machine.step - UNIT) > 1e-9:
        notes.append(
            f"coordinates count {machine.step:g} mm each, the profile's step, where HP-GL by its "
            f"manual counts {UNIT:g}: measure the first thing that it makes"
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
            f"{tool.name}: the file says a {what} of {said:g} mm/s for {speed:g}, since HP-GL "
            "knows whole cm/s only"
        )
    return said
