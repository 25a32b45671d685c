"""Which of a machine's tools works a stroke."""

from __future__ import annotations

from plotout.geometry.strokes import Stroke, Work
from plotout.machine.model import Machine
from plotout.machine.tools import Tool, ToolKind

# Work for which a machine has no tool is done as the first of these for which it has one.
_INSTEAD = {
    Work.DRAW: (),
    Work.SCORE: (Work.DRAW,),
    Work.PUNCH: (Work.CUT, Work.DRAW),
    Work.CUT: (Work.DRAW,),
}


def tool_of(stroke: Stroke, machine: Machine) -> tuple[Tool | None, Work | None]:
    """Return the tool that works a stroke, and what it does; None and None if none can.

    A hole for which the machine has no punch, or none of its size, is cut.
    """
    for work in (stroke.work, *_INSTEAD[stroke.work]):
        for tool in machine.tools:
            if work in tool.does and not _wrong_size(stroke, tool, machine):
                return tool, work
    return None, None


def _wrong_size(stroke: Stroke, tool: Tool, machine: Machine) -> bool:
    """Return whether a punch's size differs from the hole's, and the hole can be cut instead."""
    if tool.kind is not ToolKind.PUNCH or not stroke.size or not tool.size:
        return False
    other = abs(stroke.size - tool.size) > 0.05
    return other and machine.tool_for(Work.CUT) is not None
