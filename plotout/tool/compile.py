"""Compiles ordered strokes to a program: tools, paths of their pivots, speeds and forces."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely

from plotout.geometry.strokes import FloatArray, Mark, Stroke
from plotout.machine import Machine, Tool, ToolKind
from plotout.machine.axes import axis_turn
from plotout.model import Program, Run, Sheet
from plotout.tool.assign import assigned
from plotout.tool.blade import Blade
from plotout.tool.bounds import check_bed
from plotout.tool.knife import Knife
from plotout.tool.merging import run_together
from plotout.tool.shape import as_drawn, drawn, lines
from plotout.tool.timing import timed
from plotout.tool.tolerance import Tolerance, tolerance
from plotout.tool.waste import turning_place


def compile_sheet(
    sheet: Sheet, strokes: Sequence[Stroke], machine: Machine, *, arcs: bool = False
) -> Program:
    """Return the program that works `strokes`, in order, on this machine.

    strokes: in sheet coordinates, mm. arcs: the driver finds arcs, so it gets most of the tolerance
    (see `plotout.tool.tolerance`). Raises UserError, naming the card and the excess in mm, when any
    of the motion would leave the bed. Departures from the drawing are listed in its warnings.
    """
    pairs, warnings = assigned(strokes, machine)
    return compile_pairs(sheet, pairs, machine, warnings, arcs=arcs)


def compile_pairs(
    sheet: Sheet,
    pairs: Sequence[tuple[Stroke, Tool]],
    machine: Machine,
    warnings: Sequence[str] = (),
    *,
    arcs: bool = False,
) -> Program:
    """Return the program that works every stroke with its tool; see `compile_sheet`."""
    edges = {placed.card.id: shapely.LineString(placed.outline) for placed in sheet.placed}
    within = {tool.kind: tolerance(tool, machine.step, arcs=arcs).line for _, tool in pairs}
    lines = drawn(pairs, within, edges)
    work = _Work(sheet, machine, arcs, [*warnings, *run_together(pairs, lines)])
    runs = tuple(
        run
        for (stroke, tool), points in zip(pairs, lines, strict=True)
        for run in work.runs(stroke, tool, points)
    )
    check_bed(runs, sheet, machine)
    seconds, by_tool = timed(runs, machine)
    return Program(
        name=sheet.name,
        machine=machine,
        width=sheet.width,
        height=sheet.height,
        runs=runs,
        seconds=seconds,
        seconds_by_tool=by_tool,
        warnings=tuple(dict.fromkeys(work.warnings)),
    )


@dataclass(slots=True)
class _Work:
    """A sheet being worked: the state from one stroke to the next."""

    sheet: Sheet
    machine: Machine
    arcs: bool
    warnings: list[str]
    blades: dict[int, Blade] = field(default_factory=dict)
    knives: dict[int, Knife] = field(default_factory=dict)
    marks: dict[str, FloatArray] = field(default_factory=dict)

    def runs(self, stroke: Stroke, tool: Tool, points: FloatArray) -> Iterator[Run]:
        """Give the motion for one stroke, pass by pass. points: as `drawn` gives them."""
        if as_drawn(stroke, tool):  # as are most: letters
            worked = [points]
        else:
            near = self._marks(stroke.card) if tool.tabs else np.empty((0, 2))
            within = self._within(tool).line
            worked = list(lines(stroke, tool, points, within, near, self.warnings))
        for index in range(tool.passes):
            depth = None if tool.depth is None else tool.depth * (index + 1) / tool.passes
            force = None if tool.force is None else tool.force + index * tool.pass_force
            for line in worked:
                yield from self._motion(stroke, tool, line, depth, force)

    def _motion(
        self, stroke: Stroke, tool: Tool, line: FloatArray, depth: float | None, force: float | None
    ) -> Iterator[Run]:
        if len(line) > 1 and tool.kind is ToolKind.TRAILING_BLADE and tool.offset > 0.0:
            if tool.number not in self.blades:
                yield from self._turned(tool, depth)
            yield from self.blades[tool.number].cut(tool, line, stroke, force, depth)
        elif len(line) > 1 and tool.kind is ToolKind.TANGENTIAL_KNIFE:
            knife = self.knives.setdefault(
                tool.number, Knife(tool.turn_limit, axis_turn(self.machine))
            )
            yield from knife.cut(tool, line, stroke, force, depth)
        else:
            yield Run(line, tool, stroke, tool.speed, force, tool.power, depth)

    def _turned(self, tool: Tool, depth: float | None) -> Iterator[Run]:
        """Turn a blade in the waste, since its direction is unknown when it is taken up."""
        blade = self.blades[tool.number] = Blade(self._within(tool))
        waste = turning_place(self.sheet, self.machine, tool.offset)
        if waste is not None:
            yield blade.turned(tool, waste, depth)
            return
        self.warnings.append(
            f"the waste has no room to turn the {tool.name}: its first cut may begin up to "
            f"{tool.offset:g} mm off; leave a wider gap, or turn it along that cut by hand"
        )

    def _within(self, tool: Tool) -> Tolerance:
        return tolerance(tool, self.machine.step, arcs=self.arcs)

    def _marks(self, card: str) -> FloatArray:
        """Return places on the card's edge that tabs should avoid: its notches."""
        if card not in self.marks:
            placed = [one for one in self.sheet.placed if one.card.id == card]
            ends = [
                stroke.points
                for one in placed
                for stroke in one.strokes
                if stroke.mark in (Mark.NOTCH, Mark.HOLE)
            ]
            self.marks[card] = np.vstack(ends) if ends else np.empty((0, 2))
        return self.marks[card]
