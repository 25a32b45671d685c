"""Turns a stroke into the lines that a tool's working point follows on the stock."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from shapely.geometry.base import BaseGeometry

from plotout.errors import Place, UserError
from plotout.geometry.dashes import dashed
from plotout.geometry.polyline import all_without_repeats, is_closed, length, signed_area
from plotout.geometry.simplify import all_simplified, simplified
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work
from plotout.machine import Tool, ToolKind
from plotout.tool.kerf import all_shortened, widened
from plotout.tool.overcut import legs, with_overcut
from plotout.tool.tabs import tabbed

_BLADES = (ToolKind.TRAILING_BLADE, ToolKind.TANGENTIAL_KNIFE)


def drawn(
    pairs: Sequence[tuple[Stroke, Tool]],
    within: Mapping[ToolKind, float],
    edges: Mapping[str, BaseGeometry],
) -> list[FloatArray]:
    """Return the strokes' points without repeats: all at once, since there are thousands.

    Where a tool takes no width away, they are thinned; where it does, an open cut ends sooner, as
    in `kerf.all_shortened`. within: mm by which tools of each kind may be off the drawing. edges:
    the cards' outlines.
    """
    points = all_without_repeats([stroke.points for stroke, _ in pairs])
    thin: dict[ToolKind, list[int]] = {}
    open_cuts: list[int] = []
    for index, (stroke, tool) in enumerate(pairs):
        if not _takes_width(stroke, tool):
            thin.setdefault(tool.kind, []).append(index)
        elif len(points[index]) > 1 and not is_closed(points[index]) and stroke.card in edges:
            open_cuts.append(index)
    for kind, some in thin.items():
        fewer = all_simplified([points[index] for index in some], within[kind])
        for index, line in zip(some, fewer, strict=True):
            points[index] = line
    sooner = all_shortened(
        [points[index] for index in open_cuts],
        [pairs[index][0].mark for index in open_cuts],
        [pairs[index][1].kerf for index in open_cuts],
        [edges[pairs[index][0].card] for index in open_cuts],
    )
    for index, line in zip(open_cuts, sooner, strict=True):
        points[index] = line
    return points


def as_drawn(stroke: Stroke, tool: Tool) -> bool:
    """Return whether `lines` gives the points themselves, whatever they are."""
    if stroke.work is Work.CUT or stroke.size > 0.0 or _takes_width(stroke, tool):
        return False
    return tool.kind is not ToolKind.PUNCH and tool.dashes is None and tool.overcut <= 0.0


def lines(
    stroke: Stroke,
    tool: Tool,
    points: FloatArray,
    within: float,
    marks: FloatArray,
    warnings: list[str],
) -> Iterator[FloatArray]:
    """Give the lines, (n, 2), mm, along which this tool works the stroke.

    points: of the stroke, as `drawn` gives them. within: mm by which the lines may be off the
    drawing. marks: (m, 2), places that tabs avoid. A hole that is not punched becomes a circle.
    Departures from the drawing are added to `warnings`.
    """
    for line in _as_wide_as_cut(stroke, tool, points, within, warnings):
        if len(line) < 2:
            yield line
        elif tool.dashes is not None:
            yield from dashed(line, tool.dashes)
        elif stroke.work is Work.CUT and stroke.mark is Mark.OUTLINE and tool.tabs > 0:
            yield from _held(stroke, line, tool, marks, warnings)
        elif stroke.work is Work.CUT and tool.corner_overcut > 0.0 and tool.kind in _BLADES:
            yield from _legs(stroke, line, tool)
        else:
            yield with_overcut(line, tool.overcut)


def circle(centre: FloatArray, diameter: float, tolerance: float) -> FloatArray:
    """Return a closed circle, (n, 2), counter-clockwise, within `tolerance` mm of the true one."""
    radius = diameter / 2.0
    sides = max(12, int(np.ceil(np.pi / np.arccos(1.0 - min(tolerance / radius, 0.5)))))
    angles = np.linspace(0.0, 2.0 * np.pi, sides + 1)
    points = centre + radius * np.column_stack([np.cos(angles), np.sin(angles)])
    points[-1] = points[0]
    return np.asarray(points)


def _takes_width(stroke: Stroke, tool: Tool) -> bool:
    return tool.kerf > 0.0 and stroke.work in (Work.CUT, Work.PUNCH)


def _as_wide_as_cut(
    stroke: Stroke,
    tool: Tool,
    line: FloatArray,
    within: float,
    warnings: list[str],
) -> Iterator[FloatArray]:
    if tool.kind is ToolKind.PUNCH:
        if stroke.size and tool.size and abs(stroke.size - tool.size) > 0.05:
            warnings.append(
                f"{_named(stroke)} is drawn {stroke.size:g} mm wide; "
                f"the punch makes it {tool.size:g} mm"
            )
        yield stroke.points[:1]
        return
    if stroke.size > 0.0:
        within /= 2.0
        line = circle(stroke.points[0], stroke.size, within)
        if tool.precut and stroke.size > 2.0 * tool.kerf:
            yield _across(stroke, tool)
    if not _takes_width(stroke, tool):
        yield simplified(line, within) if stroke.size > 0.0 else line
        return
    cut, fault = widened(line, stroke.mark, tool.kerf)
    if fault:
        warnings.append(f"{_named(stroke)}: {fault}")
    yield from (simplified(ring, within) for ring in cut)


def _across(stroke: Stroke, tool: Tool) -> FloatArray:
    """Return the cut in a hole's middle: a dot for a tool with width, else a line half across."""
    centre = stroke.points[0]
    if tool.kerf > 0.0:
        return stroke.points[:1]
    reach = np.array([stroke.size / 4.0, 0.0])
    return np.array([centre - reach, centre + reach])


def _held(
    stroke: Stroke, line: FloatArray, tool: Tool, marks: FloatArray, warnings: list[str]
) -> list[FloatArray]:
    """Return an outline in stretches between its tabs; the proof counts those of one in parts."""
    stretches, count = tabbed(line, tool.tabs, tool.tab_width, tool.tab_spacing, marks)
    if is_closed(line) and count < tool.tabs:
        raise UserError(
            f"its outline, {length(line):.0f} mm long, has room for {count} of the {tool.tabs} "
            f"tabs that hold a card while '{tool.name}' cuts it free, away from corners and "
            "notches",
            fix=_fewer(count, tool),
            place=Place(piece=stroke.card or None),
        )
    wide = max((length(stretch) for stretch in stretches), default=0.0)
    if is_closed(line) and 0.0 < tool.tab_spacing < wide:
        warnings.append(f"{_named(stroke)}: two of its tabs are {wide:.0f} mm apart")
    return stretches


def _fewer(count: int, tool: Tool) -> str:
    """Return what to do about a card with room for fewer tabs than the profile asks for."""
    other = "or make this card on a machine that needs no tabs."
    if not count:
        return f"Write a smaller tab-width (now {tool.tab_width:g} mm) in the profile, {other}"
    return (
        f"If {count} hold a card as small as this, make it by itself (--card) with a copy of the "
        f"profile that says tabs = {count}; else write a smaller tab-width (now "
        f"{tool.tab_width:g} mm), {other}"
    )


def _legs(stroke: Stroke, line: FloatArray, tool: Tool) -> Iterator[FloatArray]:
    """Overcut corners with waste beyond them, and the starts of closed cuts."""
    if not is_closed(line):
        yield line
        return
    inner = -1.0 if stroke.mark is Mark.OUTLINE else 1.0
    waste = -inner if signed_area(line) > 0.0 else inner
    for leg in legs(line, tool.corner_overcut, tool.swivel_above, waste):
        yield with_overcut(leg, tool.overcut)


def _named(stroke: Stroke) -> str:
    at = stroke.points[0]
    owner = f"card '{stroke.card}', " if stroke.card else ""
    return f"{owner}{stroke.mark} at x {at[0]:.1f} mm, y {at[1]:.1f} mm"
