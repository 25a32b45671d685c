"""From ordered strokes to a program: which tool, where its pivot goes, how fast and how hard."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from plotout.errors import Place, UserError
from plotout.flow import Program, Run, Sheet
from plotout.geometry.polyline import without_repeats
from plotout.geometry.simplify import simplified
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work
from plotout.machine import Machine, Tool, ToolKind
from plotout.tool.blade import Blade
from plotout.tool.kerf import widened
from plotout.tool.knife import knife_runs
from plotout.tool.timing import timed

CIRCLE_STEP = 0.005  # mm that a flattened circle may lie off
INSTEAD = {  # who does a work that no tool of the machine is for
    Work.DRAW: (Work.SCORE,),
    Work.SCORE: (Work.DRAW,),
    Work.PUNCH: (Work.CUT, Work.DRAW),
    Work.CUT: (Work.DRAW,),
}


@dataclass(frozen=True, slots=True)
class Task:
    """A stroke with the tool that will work it, and the line to be worked."""

    stroke: Stroke
    tool: Tool
    points: FloatArray


def compile_sheet(sheet: Sheet, strokes: Sequence[Stroke], machine: Machine) -> Program:
    """Return the program that works `strokes`, in their order, on this machine.

    strokes: in sheet coordinates, mm. Raises UserError when any of the motion would leave the
    bed, naming the card and the excess in mm.
    """
    warnings: list[str] = []
    tasks = list(_tasks(strokes, machine, warnings))
    runs = tuple(_runs(tasks, machine, sheet))
    _check_bed(runs, sheet, machine)
    seconds, by_tool = timed(runs, machine.motion)
    figures = {
        "vertices_in": float(sum(len(stroke.points) for stroke in strokes)),
        "vertices_out": float(sum(len(run.points) for run in runs)),
    }
    return Program(
        name=sheet.name,
        machine=machine,
        width=sheet.width,
        height=sheet.height,
        runs=runs,
        seconds=seconds,
        seconds_by_tool=by_tool,
        figures=figures,
        warnings=tuple(dict.fromkeys(warnings)),
    )


def _tasks(strokes: Sequence[Stroke], machine: Machine, warnings: list[str]) -> Iterator[Task]:
    for stroke in strokes:
        tool = _tool_for(stroke.work, machine)
        if tool is None:
            warnings.append(
                f"{machine.title} has no tool to {stroke.work}: '{stroke.mark}' is left out"
            )
            continue
        points = _line(stroke, tool, machine)
        if tool.kerf and stroke.work is Work.CUT:
            points = widened(points, stroke, tool, warnings)
        if len(points):
            yield Task(stroke, tool, points)


def _tool_for(work: Work, machine: Machine) -> Tool | None:
    for wanted in (work, *INSTEAD[work]):
        tool = machine.tool_for(wanted)
        if tool is not None:
            return tool
    return None


def _line(stroke: Stroke, tool: Tool, machine: Machine) -> FloatArray:
    """The line that the tool's working point is to follow, with no more points than it needs."""
    if stroke.size and tool.kind is not ToolKind.PUNCH:
        return circle(stroke.points[0], stroke.size)
    return simplified(without_repeats(stroke.points), machine.step / 2)


def circle(centre: FloatArray, diameter: float) -> FloatArray:
    """Return a closed circle, (n, 2), counter-clockwise, within CIRCLE_STEP mm of the true one."""
    radius = diameter / 2
    sides = max(12, int(np.ceil(np.pi / np.arccos(1 - min(CIRCLE_STEP / radius, 0.5)))))
    angles = np.linspace(0.0, 2 * np.pi, sides + 1)
    points = centre + radius * np.column_stack([np.cos(angles), np.sin(angles)])
    points[-1] = points[0]
    return np.asarray(points)


def _runs(tasks: Sequence[Task], machine: Machine, sheet: Sheet) -> Iterator[Run]:
    blades: dict[str, Blade] = {}
    for task in tasks:
        tool = task.tool
        for nth in range(max(1, tool.passes)):
            if tool.kind is ToolKind.TRAILING_BLADE and tool.offset and len(task.points) > 1:
                if tool.name not in blades:
                    blades[tool.name] = Blade(tool, machine.step)
                    yield from blades[tool.name].turned_in(task.points, task.stroke, sheet, machine)
                yield from blades[tool.name].cut(task.points, task.stroke)
            elif tool.kind is ToolKind.TANGENTIAL_KNIFE and len(task.points) > 1:
                yield from _at_pass(knife_runs(task.points, task.stroke, tool), nth)
            else:
                points = with_overcut(task.points, tool.overcut)
                yield from _at_pass([plain(points, tool, task.stroke)], nth)


def plain(points: FloatArray, tool: Tool, stroke: Stroke, *, follows: bool = False) -> Run:
    """Return a run with the tool's own feed, force, power and depth."""
    return Run(
        points=points,
        tool=tool,
        stroke=stroke,
        feed=tool.speed,
        force=tool.force,
        power=tool.power,
        depth=tool.depth,
        follows=follows,
    )


def with_overcut(points: FloatArray, overcut: float) -> FloatArray:
    """Return a closed line that runs `overcut` mm past its start; an open one as it is."""
    from plotout.geometry.polyline import is_closed, length, part

    if not (overcut and is_closed(points)):
        return points
    return np.vstack([points, part(points, 0.0, min(overcut, length(points)))[1:]])


def _at_pass(runs: Sequence[Run], nth: int) -> Iterator[Run]:
    """The depth grows evenly over a tool's passes."""
    for run in runs:
        if run.depth is None or run.tool.passes <= 1:
            yield run
        else:
            yield replace(run, depth=run.depth * (nth + 1) / run.tool.passes)


def _check_bed(runs: Sequence[Run], sheet: Sheet, machine: Machine) -> None:
    """Nothing outside the bed, ever."""
    for run in runs:
        low, high = run.points.min(axis=0), run.points.max(axis=0)
        excess = max(-low[0], -low[1], high[0] - sheet.width, high[1] - sheet.height)
        over = max(sheet.width - machine.bed.length, sheet.height - machine.bed.width)
        if excess > machine.step / 2 or over > machine.step / 2:
            name = run.stroke.card or "the sheet's own marks"
            raise UserError(
                f"the {run.stroke.mark} leaves the bed of '{machine.name}' by "
                f"{max(excess, over):.2f} mm",
                fix="Lay it on larger stock, or let the piece be split.",
                place=Place(piece=name, at=(float(high[0]), float(high[1]))),
            )


def is_outline(stroke: Stroke) -> bool:
    """True for the line that sets a card free."""
    return stroke.work is Work.CUT and stroke.mark is Mark.OUTLINE
