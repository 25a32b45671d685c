"""A trailing blade: its tip lies behind its pivot, so the pivot must lead.

The tip follows the pivot as a tractrix: it only moves along the blade. While the tip follows a
straight line, the pivot lies `offset` ahead on it; where the line turns, the pivot swings round the
tip on an arc of that radius while the tip stays in place. A curve is many small turns.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from plotout.geometry.simplify import simplified
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work
from plotout.machine import Tool
from plotout.model import Run
from plotout.tool.tolerance import Tolerance


def led(
    line: FloatArray, offset: float, heading: float | None, tolerance: float
) -> tuple[FloatArray, FloatArray]:
    """Return the pivot's path that makes the tip follow `line`: (m, 2), mm.

    line: (n, 2), mm, at least two points, none repeated. offset: tip behind pivot, mm. heading:
    radians, the blade's direction as it is lowered on the line's first point; None: along the line.
    tolerance: mm by which an arc's chords may lie inside it.
    The second array, (m - 1,), holds for every stretch the radians of the corner that the pivot
    swings round, 0 where the tip moves. A turn by 180 degrees is made counter-clockwise.
    """
    steps = np.diff(line, axis=0)
    angles = np.arctan2(steps[:, 1], steps[:, 0])
    before = np.concatenate([angles[:1] if heading is None else [heading], angles[:-1]])
    turns = _wrapped(angles - before)
    widest = 2.0 * np.arccos(1.0 - min(tolerance / offset, 1.0))
    chords = np.ceil(np.abs(turns) / widest).astype(np.int64)
    chords[np.abs(turns) < 1e-9] = 0
    # for every segment: the points of the swing round its start, then its end point
    owner = np.repeat(np.arange(len(steps)), chords + 1)
    first = np.concatenate([[0], np.cumsum(chords + 1)[:-1]])
    index = np.arange(len(owner)) - first[owner] + 1
    at_end = index > chords[owner]
    share = index / np.maximum(chords[owner], 1)
    angle = np.where(at_end, angles[owner], before[owner] + turns[owner] * share)
    tips = line[owner + at_end]
    path = np.empty((len(owner) + 1, 2))
    path[0] = line[0] + offset * np.array([np.cos(before[0]), np.sin(before[0])])
    path[1:, 0] = tips[:, 0] + offset * np.cos(angle)
    path[1:, 1] = tips[:, 1] + offset * np.sin(angle)
    return path, np.where(at_end, 0.0, turns[owner])


@dataclass(slots=True)
class Blade:
    """A blade between strokes. heading: radians, None while unknown.

    A lifted blade keeps its direction (common practice: by the friction of its holder).
    """

    within: Tolerance
    heading: float | None = None

    def turned(self, tool: Tool, waste: FloatArray, depth: float | None) -> Run:
        """Return a run along `waste`, (2, 2), that leaves the blade pointing along it."""
        self.heading = _heading(waste)
        stroke = Stroke(waste, Work.CUT, Mark.PAGE)
        return Run(waste, tool, stroke, tool.speed, tool.force, tool.power, depth)

    def cut(
        self,
        tool: Tool,
        line: FloatArray,
        stroke: Stroke,
        force: float | None,
        depth: float | None,
    ) -> Iterator[Run]:
        """Give runs that make the tip follow `line`, (n, 2), mm; all but the first follow on.

        Corners sharper than the tool's `swivel_above` are separate runs, slower and lighter.
        force: grams-force and depth: mm, along the line.
        """
        path, turns = led(line, tool.offset, self.heading, self.within.swing)
        self.heading = _heading(line)
        sharp = np.abs(turns) > np.radians(tool.swivel_above)
        bounds = [0, *(np.flatnonzero(sharp[1:] != sharp[:-1]) + 1).tolist(), len(sharp)]
        for begin, end in pairwise(bounds):
            points, feed, pressed = path[begin : end + 1], tool.speed, force
            if sharp[begin]:
                feed = tool.speed / 2.0 if tool.swivel_speed is None else tool.swivel_speed
                pressed = force if tool.swivel_force is None else tool.swivel_force
            else:
                points = simplified(points, self.within.path)
            yield Run(points, tool, stroke, feed, pressed, tool.power, depth, begin > 0)


def _heading(line: FloatArray) -> float:
    """Return the direction of the line's last stretch, radians."""
    step = line[-1] - line[-2]
    return float(np.arctan2(step[1], step[0]))


def _wrapped(angle: FloatArray) -> FloatArray:
    """Return radians in (-pi, pi]."""
    return np.asarray(np.pi - (np.pi - angle) % (2.0 * np.pi))
