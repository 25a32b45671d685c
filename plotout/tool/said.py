"""Which settings of a tool reach its machine, read off a file: formats round or omit them.

HP-GL has whole cm/s and no power, HP-GL/2 no force, a printed page nothing at all.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from plotout import plugins
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.machine import Machine, Tool, ToolKind
from plotout.model import Program, Run, Sheet, Traced

IN_FILE = {"force": "force", "power": "power", "speed": "feed", "depth": "depth"}
"""Settings that a file may hold, and their names in a reading."""
HELD = ("force", "power", "depth")
"""Settings that cut through, or don't, if the machine is left as it was."""
DRAWN = ("offset", "overcut")
"""Settings that are in the motion itself."""


def sayable(machine: Machine, tool: Tool, key: str, values: Sequence[float]) -> list[float] | None:
    """Return the distinct values, rising, that reach the machine for these; None if none do.

    key: of IN_FILE or DRAWN. If no plugin reads the machine's files, all are taken to reach it.
    """
    if key in DRAWN:
        steps = np.unique(np.maximum(np.rint(np.array(values) / machine.step), 0.0))
        return [float(f"{step * machine.step:.6g}") for step in steps]
    read = _read_back(machine, tool, key, values)
    if read is None:
        return sorted(set(values))
    said = [getattr(item, IN_FILE[key]) for item in read]
    if any(setting is None for setting in said):
        return None
    return sorted({float(f"{setting:.4g}") for setting in said})


def unsaid(program: Program) -> Iterator[str]:
    """Give in words which settings of the tools of a program no file for its machine holds."""
    machine = program.machine
    for tool in dict.fromkeys(run.tool for run in program.runs):
        given = [(key, value) for key in HELD if (value := getattr(tool, key))]
        left = [key for key, value in given if sayable(machine, tool, key, [value]) is None]
        if left:
            yield (
                f"files for '{machine.name}' don't set the {' and the '.join(left)} of tool "
                f"'{tool.name}': set that on the machine"
            )


def _read_back(
    machine: Machine, tool: Tool, key: str, values: Sequence[float]
) -> tuple[Traced, ...] | None:
    """Work a short line with every value; return what a file of them holds."""
    driver, interpreter = plugins.driver(machine.driver), plugins.interpreter_for(machine.driver)
    if interpreter is None:
        return None
    length, width = machine.bed.length, machine.bed.width
    line = np.array([[0.4 * length, 0.5 * width], [0.6 * length, 0.5 * width]])
    stroke = Stroke(line, Work.CUT, Mark.INTERNAL)
    heading = np.zeros(2) if tool.kind is ToolKind.TANGENTIAL_KNIFE else None
    tools = [replace(tool, **{key: value}) for value in values]  # type: ignore[arg-type]
    runs = tuple(
        Run(line, tool, stroke, tool.speed, tool.force, tool.power, tool.depth, angles=heading)
        for tool in tools
    )
    program = Program("settings", machine, length, width, runs)
    data = driver.emit(program, Sheet("settings", 1, length, width, ()))
    return interpreter.read(data, machine).traced
