"""A trailing blade: its tip lies behind its pivot, so the pivot must lead.

The tip follows the pivot as a tractrix: it moves along the blade. While the tip follows a line, the
pivot lies `offset` ahead along the tangent; at a corner the pivot swings round the tip on an arc of
that radius, and the tip stays where it is.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from plotout.flow import Run, Sheet
from plotout.geometry.polyline import is_closed, length, part, unit
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work
from plotout.machine import Machine, Tool

WASTE = 4.0  # offsets: length of the stroke in waste that turns the blade at the beginning


@dataclass(slots=True)
class Blade:
    """A blade as it goes from stroke to stroke; `angle` (degrees) is where it points now."""

    tool: Tool
    step: float
    angle: float = field(default=0.0)

    def turned_in(
        self, points: FloatArray, stroke: Stroke, sheet: Sheet, machine: Machine
    ) -> Iterator[Run]:
        """A short stroke at the sheet's edge that turns the blade into its first direction."""
        heading = unit(points[1] - points[0])
        reach = WASTE * self.tool.offset
        left, bottom, _, _ = machine.bed.margins
        base = np.array([left + reach, bottom + reach])
        line = np.array([base - heading * reach, base + heading * self.tool.offset])
        line = np.clip(line, 0.0, [sheet.width, sheet.height])
        if length(line) < self.tool.offset:
            return
        waste = Stroke(line, Work.CUT, Mark.PAGE)
        self.angle = float(np.degrees(np.arctan2(heading[1], heading[0])))
        yield self._run(line, waste, gentle=True)

    def cut(self, points: FloatArray, stroke: Stroke) -> Iterator[Run]:
        """Runs that make the tip follow `points`, (n, 2), mm; each after the first follows on."""
        line = points
        if is_closed(points):
            line = np.vstack([points, part(points, 0.0, max(self.tool.overcut, self.step))[1:]])
        headings = np.diff(line, axis=0)
        headings /= np.hypot(*headings.T)[:, None]
        angles = np.degrees(np.arctan2(headings[:, 1], headings[:, 0]))
        first = self._swing(line[0], self.angle, float(angles[0]), stroke)
        started = first is not None
        if first is not None:
            yield first
        turns = np.abs(_turn(angles[:-1], angles[1:]))
        corners = np.flatnonzero(turns > self.tool.swivel_above) + 1
        begin = 0
        for end in [*corners.tolist(), len(line) - 1]:
            path = self._lead(line[begin : end + 1], headings[begin:end])
            yield self._run(path, stroke, follows=started)
            started = True
            if end < len(line) - 1:
                swing = self._swing(line[end], float(angles[end - 1]), float(angles[end]), stroke)
                if swing is not None:
                    yield replace(swing, follows=True)
            begin = end
        self.angle = float(angles[-1])

    def _lead(self, line: FloatArray, headings: FloatArray) -> FloatArray:
        """The pivot's path along a stretch without sharp corners: small arcs where it bends."""
        starts = line[:-1] + headings * self.tool.offset
        ends = line[1:] + headings * self.tool.offset
        path = np.empty((2 * len(starts), 2))
        path[0::2], path[1::2] = starts, ends
        moved = np.hypot(*np.diff(path, axis=0).T) > 1e-9
        return np.asarray(path[np.concatenate([[True], moved])])

    def _swing(self, tip: FloatArray, old: float, new: float, stroke: Stroke) -> Run | None:
        """The pivot goes round the tip from one heading to another, the short way."""
        turn = float(_turn(np.array(old), np.array(new)))
        if abs(turn) < 0.5:
            return None
        coarsest = 2 * np.degrees(np.arccos(1 - min(self.step / 2 / self.tool.offset, 0.3)))
        count = max(2, int(np.ceil(abs(turn) / coarsest)) + 1)
        angles = np.radians(old + np.linspace(0.0, turn, count))
        arc = tip + self.tool.offset * np.column_stack([np.cos(angles), np.sin(angles)])
        return self._run(arc, stroke, gentle=True)

    def _run(
        self, points: FloatArray, stroke: Stroke, *, gentle: bool = False, follows: bool = False
    ) -> Run:
        tool = self.tool
        light = tool.swivel_force if gentle and tool.swivel_force is not None else tool.force
        feed = tool.speed / 2 if gentle else tool.speed
        return Run(points, tool, stroke, feed, light, tool.power, tool.depth, follows)


def _turn(old: FloatArray, new: FloatArray) -> FloatArray:
    """Degrees from one heading to another, from -180 to 180."""
    return np.asarray((new - old + 180.0) % 360.0 - 180.0)
