"""Divides the tolerance of motion, half a machine step in all, between the stages."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from plotout.machine import Tool, ToolKind


@dataclass(frozen=True, slots=True)
class Tolerance:
    """The stages' tolerances, mm. arc: for a driver that finds arcs.

    line: for fewer points on the line. swing: for chords of a trailing blade's swing. path: for
    fewer points on its pivot's path.
    """

    line: float
    swing: float
    path: float
    arc: float


def tolerance(tool: Tool, step: float, *, arcs: bool) -> Tolerance:
    """Return a tool's tolerances on a machine of this step, mm; they add up to half a step.

    arcs: the driver finds arcs.
    """
    return _tolerance(tool.kind, step, arcs)


@lru_cache(64)  # asked for every stroke
def _tolerance(kind: ToolKind, step: float, arcs: bool) -> Tolerance:
    if kind is ToolKind.TRAILING_BLADE:
        shares = (2, 2, 1, 3) if arcs else (4, 2, 2, 0)
    elif arcs:
        shares = (1, 0, 0, 7)
    else:
        shares = (8, 0, 0, 0)
    line, swing, path, arc = (share * step / 16.0 for share in shares)
    return Tolerance(line, swing, path, arc)


def arc_tolerance(tool: Tool, step: float) -> float:
    """Return how far, in mm, a driver's arcs may lie from the runs of this tool."""
    return tolerance(tool, step, arcs=True).arc
