"""What a machine would do with a file: how much, where, how long, and what looks wrong."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from plotout.geometry.polyline import bounds, length
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.machine import Machine, Tool
from plotout.model import Reading, Run, Traced
from plotout.proof.faults import faults
from plotout.proof.repeats import Repeats
from plotout.tool.timing import timed


@dataclass(frozen=True, slots=True)
class Summary:
    """A file in figures. work, by_tool: mm; bounds: left, bottom, right, top, mm, or None.

    faults: what would go wrong on this machine, in words. unsafe: those notes that can do harm.
    """

    strokes: int
    work: float
    bounds: tuple[float, float, float, float] | None
    seconds: float
    changes: int
    by_tool: dict[str, float]
    ends_safe: bool
    faults: tuple[str, ...]
    unknown: tuple[str, ...]
    notes: tuple[str, ...]
    unsafe: tuple[str, ...]


def summarise(reading: Reading, machine: Machine) -> Summary:
    """Return what the machine would do with a reading of a file."""
    traced = reading.traced
    tools = [one.tool for one in traced]
    by_tool: dict[str, float] = {}
    for one in traced:
        name = _tool_name(one, machine)
        by_tool[name] = by_tool.get(name, 0.0) + length(one.points)
    points = np.concatenate([run.points for run in traced]) if traced else None
    changes = sum(1 for one, other in pairwise(tools) if one != other)
    again = Repeats(machine)
    if reading.ordered:  # pages to print overlap
        again.add(reading)
    return Summary(
        strokes=sum(1 for run in traced if not run.follows),
        work=sum(by_tool.values()),
        bounds=bounds(points) if points is not None else None,
        seconds=_seconds(reading, machine),
        changes=changes,
        by_tool=by_tool,
        ends_safe=reading.ends_safe,
        faults=(*faults(reading, machine), *filter(None, (again.words(),))),
        unknown=reading.unknown,
        notes=reading.notes,
        unsafe=reading.unsafe,
    )


def as_data(summary: Summary) -> dict[str, Any]:
    """Return a summary as plain data, fit for JSON, to 0.01."""
    data = asdict(summary)
    data.pop("unsafe")  # which stands in the notes
    data["work_mm"] = round(data.pop("work"), 2)
    data["seconds"] = round(data["seconds"], 2)
    data["bounds_mm"] = [round(v, 2) for v in data.pop("bounds") or ()] or None
    data["by_tool_mm"] = {name: round(size, 2) for name, size in data.pop("by_tool").items()}
    return data


def _tool_name(traced: Traced, machine: Machine) -> str:
    tool = _tool(traced, machine)
    return tool.name if tool else "without a number" if traced.tool is None else str(traced.tool)


def _tool(traced: Traced, machine: Machine) -> Tool | None:
    """Return the tool of a stretch, or None. Of tools that share a number (a blade may also score)
    it is the one with force, depth, power and speed nearest to the file's; so it is of a beam's,
    which have no number in a file.
    """
    beam = traced.tool is None and traced.power is not None
    sharing = [tool for tool in machine.tools if beam or tool.number == traced.tool]
    return min(sharing, key=lambda tool: _unlike(traced, tool), default=None)


def _unlike(traced: Traced, tool: Tool) -> float:
    """Return by how much, as a share, a file's settings differ from a tool's."""
    own = {
        "force": [tool.force, tool.swivel_force],
        "depth": [tool.depth],
        "power": [tool.power],
        "feed": [tool.speed, tool.swivel_speed],
    }
    whole = 0.0
    for name, values in own.items():
        said = getattr(traced, name)
        known = [value for value in values if value is not None]
        if said is not None and known:
            whole += min(abs(said - value) / max(abs(said), abs(value), 1e-9) for value in known)
    return whole


def _seconds(reading: Reading, machine: Machine) -> float:
    """Return the time by the machine's motion, at the file's feeds."""
    if not machine.tools:
        return 0.0
    runs = []
    for traced in reading.traced:
        tool = _tool(traced, machine) or machine.tools[0]
        stroke = Stroke(traced.points, tool.does[0] if tool.does else Work.DRAW, Mark.OUTLINE)
        feed = traced.feed or tool.speed
        runs.append(
            Run(
                traced.points,
                tool,
                stroke,
                feed,
                depth=traced.depth,
                follows=traced.follows,
                angles=traced.angles,
            )
        )
    return timed(runs, machine)[0]
