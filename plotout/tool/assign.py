"""Assigns tools to strokes, with notes where no tool suits."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from plotout.geometry.strokes import Stroke, Work
from plotout.machine import Machine, Tool, ToolKind
from plotout.machine.choice import tool_of
from plotout.tool.shape import circle

_DONE = {Work.DRAW: "drawn", Work.SCORE: "scored", Work.PUNCH: "punched", Work.CUT: "cut"}


def assigned(
    strokes: Sequence[Stroke], machine: Machine
) -> tuple[list[tuple[Stroke, Tool]], list[str]]:
    """Return the strokes, in order, with their tools, and notes for the user.

    A hole is cut as a circle if the machine has no punch, or none of its size. Strokes that no tool
    can do are left out; a note says how many.
    """
    pairs: list[tuple[Stroke, Tool]] = []
    otherwise: Counter[tuple[Work, Work | None]] = Counter()
    for stroke in strokes:
        tool, work = tool_of(stroke, machine)
        if tool is not None:
            pairs.append((stroke, tool))
        if work is not stroke.work and (stroke.work, work) != (Work.PUNCH, Work.CUT):
            otherwise[stroke.work, work] += 1
    return pairs, [_note(machine, *key, count) for key, count in otherwise.items()]


def _note(machine: Machine, wanted: Work, done: Work | None, count: int) -> str:
    lines = "line" if count == 1 else "lines"
    if done is None:
        return (
            f"{machine.title} has no tool to {wanted} with: {count} {lines} left out; "
            f"add '{wanted}' to the does list of one of its tools"
        )
    return f"{machine.title} has no tool to {wanted} with: {count} {lines} {_DONE[done]} instead"


def as_line(stroke: Stroke, machine: Machine, at: Sequence[float]) -> Stroke:
    """Return the circle of a hole that is not punched and lies across one of `at` (mm, x).

    It can then be divided there. Any other stroke is returned unchanged.
    """
    reach = stroke.size / 2.0
    if not reach or not any(abs(stroke.points[0, 0] - x) < reach for x in at):
        return stroke
    ((_, tool),) = assigned([stroke], machine)[0] or ((stroke, None),)
    if tool is None or tool.kind is ToolKind.PUNCH:
        return stroke
    return replace(stroke, points=circle(stroke.points[0], stroke.size, machine.step), size=0.0)
