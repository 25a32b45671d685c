"""Holes that no punch makes, as the lines that are worked instead."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from plotout.geometry.strokes import Stroke
from plotout.machine import Machine, ToolKind
from plotout.tool.assign import assigned
from plotout.tool.shape import circle


def as_line(stroke: Stroke, machine: Machine, at: Sequence[float]) -> Stroke:
    """Return a hole that is not punched and lies across one of `at` (mm, x) as its circle.

    So that it can be divided there. Any other stroke is returned as it is.
    """
    reach = stroke.size / 2.0
    if not reach or not any(abs(stroke.points[0, 0] - x) < reach for x in at):
        return stroke
    ((_, tool),) = assigned([stroke], machine)[0] or ((stroke, None),)
    if tool is None or tool.kind is ToolKind.PUNCH:
        return stroke
    return replace(stroke, points=circle(stroke.points[0], stroke.size, machine.step), size=0.0)
