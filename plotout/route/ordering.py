"""Orders strokes for the least travel that precedence allows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from plotout.errors import Place, UserError
from plotout.geometry.polyline import tips
from plotout.geometry.strokes import FloatArray, Stroke, Work
from plotout.loops.compiled import first_time
from plotout.machine import Machine, Motion, Tool
from plotout.machine.choice import tool_of
from plotout.machine.motion import handling_seconds
from plotout.route import exact, group
from plotout.route.budget import Budget, Progress, quiet
from plotout.route.cost import costs
from plotout.route.line import RouteLine
from plotout.route.once import worked_once
from plotout.route.precedence import after
from plotout.route.trails import joined

ORDER = tuple(Work)


@dataclass(frozen=True, slots=True)
class Route:
    """Strokes in order. sources: for every stroke, the indices of its sources in the input.

    travel: mm with the tool up, from the start through all strokes; travel_as_read: the same for
    the input order. seconds: the machine's time for that travel, with lifting, lowering and changes
    of tool; None without a machine. stopped: the user stopped the search (Ctrl-C).
    """

    strokes: tuple[Stroke, ...]
    sources: tuple[tuple[int, ...], ...]
    travel: float
    travel_as_read: float
    seconds: float | None = None
    stopped: bool = False


def order(
    strokes: Sequence[Stroke],
    start: tuple[float, float] = (0.0, 0.0),
    *,
    machine: Machine | None = None,
    tolerance: float = 0.01,
    steps: int | None = None,
    seconds: float | None = None,
    seed: int = 1,
    progress: Progress = quiet,
) -> Route:
    """Return the strokes ordered, turned, joined and, if closed, begun where travel is least.

    Drawing comes first, then scoring, punching and cutting; cuts inside a contour come before the
    contour, and cuts on a card before its outline. Strokes of one work, mark and card whose ends
    meet become one; parts that coincide with another stroke of that work and mark are left out (in
    a file of cards, of that card).
    A closed stroke may begin between vertices.

    start: where the tool is, mm. machine: if given, travel is weighed by its time, not distance.
    tolerance: mm within which ends meet and lines coincide. steps: length of the search; the same
    steps and seed give the same result on any computer. seconds: stop by then; without steps,
    search that long. Ctrl-C ends the search with the best so far. progress: takes the share done.

    Raises UserError for a stroke whose coordinates are not numbers.
    """
    _check(strokes)
    lines = [RouteLine(stroke, (index,)) for index, stroke in enumerate(strokes)]
    lines = joined(_once(lines, machine, tolerance), tolerance)
    motion = machine.motion if machine else None
    at = np.array(start, dtype=np.float64)
    groups = _groups(lines, machine)
    if any(len(members) > exact.MOST for members in groups) and first_time():
        progress("preparing to order, once on this computer", 0.0)
    budget = Budget(steps, seconds, len(lines), progress)
    done: list[RouteLine] = []
    for index, members in enumerate(groups):
        ahead = _places(groups[index + 1]) if index + 1 < len(groups) else None
        done += group.ordered(members, after(members), at, ahead, motion, budget, seed)
        at = done[-1].points[-1]
    result = tuple(line.stroke for line in done)
    return Route(
        result,
        tuple(line.sources for line in done),
        travel_of(result, start),
        travel_of(strokes, start),
        seconds_of(result, start, machine) if machine else None,
        budget.stopped,
    )


def _check(strokes: Sequence[Stroke]) -> None:
    shaped = [
        s.points.ndim == 2 and s.points.shape[1:] == (2,) and len(s.points) > 0 for s in strokes
    ]  # fmt: skip
    if all(shaped):
        points = np.concatenate([np.empty((0, 2)), *(s.points for s in strokes)])
        if np.isfinite(points).all():
            return
    for index, stroke in enumerate(strokes):
        if not shaped[index] or not np.isfinite(stroke.points).all():
            raise UserError(
                f"stroke {index + 1} ({stroke.mark}) has no place: its coordinates are not numbers",
                fix="Look for a point without coordinates in its drawing.",
                place=Place(piece=stroke.card or None),
            )


def _once(lines: Sequence[RouteLine], machine: Machine | None, tolerance: float) -> list[RouteLine]:
    """Return the lines without what is worked already; in a file of cards, each card's for itself:
    whoever takes one card from it must have all its lines.
    """
    if machine is None or machine.kind != "file":
        return worked_once(lines, tolerance)
    by_card: dict[str, list[RouteLine]] = {}
    for line in lines:
        by_card.setdefault(line.stroke.card, []).append(line)
    return [line for own in by_card.values() for line in worked_once(own, tolerance)]


def _leaps(strokes: Sequence[Stroke], start: tuple[float, float]) -> tuple[FloatArray, FloatArray]:
    """Return the starts and the ends of the travels, both (n, 2)."""
    ends = tips([stroke.points for stroke in strokes])
    begins = np.vstack([np.reshape(start, (1, 2)), ends[:-1, 1]])
    return begins[: len(strokes)], ends[:, 0]


def travel_of(strokes: Sequence[Stroke], start: tuple[float, float]) -> float:
    """Return the mm from the start and from every stroke's end to the next one's start."""
    return float(costs(*_leaps(strokes, start), None).sum())


def seconds_of(strokes: Sequence[Stroke], start: tuple[float, float], machine: Machine) -> float:
    """Return the seconds of all travel with lifting, lowering and changes of tool."""
    motion: Motion = machine.motion
    whole = float(costs(*_leaps(strokes, start), motion).sum())
    tools = _tools(strokes, machine)
    depths = np.array([(tool.depth or 0.0) if tool else 0.0 for tool in tools])
    handling = sum(float(seconds.sum()) for seconds in handling_seconds(depths, machine))
    changes = bool(tools) + sum(a is not b for a, b in pairwise(tools))
    return whole + handling + changes * motion.change


def _groups(lines: Sequence[RouteLine], machine: Machine | None) -> list[list[RouteLine]]:
    """Return groups of lines that may be mixed, in the order of their work.

    Holes of one size come together, the largest first: a size belongs to one tool. Those that fit
    no punch are left to the tool that cuts, and come last, so that it is not changed twice.
    """
    lines = sorted(lines, key=lambda line: line.sources[0])
    tools = _tools([line.stroke for line in lines], machine) if machine else [None] * len(lines)
    cuts = machine.tool_for(Work.CUT) if machine else None
    groups: dict[tuple[int, bool, float], list[RouteLine]] = {}
    for line, tool in zip(lines, tools, strict=True):
        last = tool is not None and tool is cuts
        key = (ORDER.index(line.stroke.work), last, -line.stroke.size)
        groups.setdefault(key, []).append(line)
    return [groups[key] for key in sorted(groups)]


def _tools(strokes: Sequence[Stroke], machine: Machine) -> list[Tool | None]:
    """Return the tool of each stroke: a work and a size have one."""
    found: dict[tuple[Work, float], Tool | None] = {}
    for stroke in strokes:
        key = stroke.work, stroke.size
        if key not in found:
            found[key] = tool_of(stroke, machine)[0]
    return [found[stroke.work, stroke.size] for stroke in strokes]


def _places(lines: Sequence[RouteLine]) -> FloatArray:
    """Return where a group may be begun: ends of open lines, vertices of closed ones."""
    return np.concatenate(
        [line.points if line.stroke.closed else line.points[[0, -1]] for line in lines]
    )
