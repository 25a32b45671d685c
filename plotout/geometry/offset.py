"""From stitching line to cutting line and back: parallels, joined at the corners.

Outlines run counter-clockwise, so the outside lies to the right of each side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from shapely import union_all
from shapely.geometry import LineString, Point, Polygon

from plotout.geometry.corners import crossing
from plotout.geometry.end_heading import end_heading, onward
from plotout.geometry.folded_onto import Outlined, folded_onto
from plotout.geometry.polyline import distances, length, signed_area, without_repeats
from plotout.geometry.region import (
    covered,
    filled_at,
    outer,
    up_to,
    without_spikes,
    without_straight,
)
from plotout.geometry.sides import Bordered, corner_at, joined
from plotout.geometry.stretch import SMOOTH
from plotout.geometry.strokes import FloatArray

_ROUNDS = 8  # of fitting a changing allowance; each reduces the error to about a tenth


def cutting_line(sides: Sequence[Bordered], mitre_limit: float = 2.5) -> FloatArray:
    """Return the line `allowance` outside the sides, closed, counter-clockwise, (n, 2), mm.

    Each side begins where the one before it ends. A mitre longer than `mitre_limit` times the
    wider allowance is blunted there; where the narrower would take more than a third of the other's
    edge, they end in a step. Where an inner curve is tighter, or a side shorter, than its
    allowance, the parallels are cut off where they meet: no loops. All end at a fold, where those
    of a V neck or a slit meet their mirror image. Raises ValueError if nothing is left.
    """
    outline = _outline(sides)
    if signed_area(outline) <= 0.0:
        raise ValueError("the outline is turned inside out")
    if len(sides) == 1:
        sides = _halved(sides[0])
    lines = [parallel(side.points, *side.allowance, mitre_limit) for side in sides]
    fans = [fan for side, line in zip(sides, lines, strict=True) for fan in _fans(side, line)]
    corners = [corner_at(sides, lines, index) for index in range(len(sides))]
    under = folded_onto(Outlined(sides, tuple(lines), corners, mitre_limit))
    joints: list[FloatArray] = []
    for index, side in enumerate(sides):
        ends = replace(corners[index], before=lines[index - 1], after=lines[index])
        if side.corner == "turned back":
            ends = replace(ends, under=under[(index if side.folds else index - 1) % len(sides)])
        lines[index - 1], joint, lines[index] = joined(ends, side, mitre_limit)
        joints.append(joint)
    ring = np.vstack([part for pair in zip(joints, lines, strict=True) for part in pair])
    if not _anything_left(sides):
        raise ValueError("it is narrower than it is drawn in")
    border = covered(ring)
    border = outer(union_all([Polygon(border), *fans])) if fans else border
    for side in sides:
        if side.on_fold:
            border = up_to(side.points, border, outline)
            border = filled_at(side.points, border, outline)
    return without_spikes(border)


def _outline(sides: Sequence[Bordered]) -> FloatArray:
    """Return the points of all sides, (n, 2), each once."""
    return np.vstack([side.points[:-1] for side in sides])


def _fans(side: Bordered, line: FloatArray) -> list[Polygon]:
    """Return what lies between a side's tightly bent ends and its parallel, which runs back there.

    The loops of such a parallel are no part of what the ring encloses, but of the allowance.
    """
    points = without_repeats(side.points)
    found: list[Polygon] = []
    for one, other in ((points, line), (points[::-1], line[::-1])):
        size = min(len(one), len(other))
        onward = np.einsum("ij,ij->i", np.diff(one[:size], axis=0), np.diff(other[:size], axis=0))
        back = int(np.argmax(onward > 0.0)) if (onward > 0.0).any() else size - 1
        found += [
            Polygon([one[at], other[at], other[at + 1], one[at + 1]]).buffer(0.0)
            for at in range(min(back + 1, size - 1) if back else 0)
        ]
    return found


def _anything_left(sides: Sequence[Bordered]) -> bool:
    """Return False if sides with negative allowances leave nothing between them.

    The parallels alone don't show it: a triangle drawn in too far comes out reversed.
    """
    drawn_in = [side for side in sides if max(side.allowance) < 0.0]
    if not drawn_in:
        return True
    gone = [LineString(side.points).buffer(-max(side.allowance)) for side in drawn_in]
    whole = Polygon(_outline(sides)).buffer(0.0)
    return not bool(whole.difference(union_all(gone)).is_empty)


def stitching_from_cutting(sides: Sequence[Bordered]) -> tuple[FloatArray, ...]:
    """Return the sides of the stitching line within a cutting line, each (n, 2), mm.

    sides: the edges of the cutting line, counter-clockwise, each beginning where the one before
    ends, with their allowances (`corner` is not used: corners are where the inset sides meet).
    The result has as many sides, joined the same way; its `cutting_line` is the cutting line
    again wherever the corners were mitred. Raises ValueError if a side vanishes.
    """
    if len(sides) == 1:
        line = _inset(sides[0].points, sides[0].allowance)
        middle = (line[0] + line[-1]) / 2.0
        return (np.vstack([middle, line[1:-1], middle]),)
    widths = [side.allowance for side in sides]
    changing = any(abs(start - end) > 1e-9 for start, end in widths)
    for _ in range(_ROUNDS if changing else 1):
        lines = _corners_met(sides, widths)
        widths = [_seen_from_cut(side, line) for side, line in zip(sides, lines, strict=True)]
    for side, line in zip(sides, lines, strict=True):
        if (line[-1] - line[0]) @ (side.points[-1] - side.points[0]) < 0.0:
            raise ValueError("an edge is too short for the allowances beside it")
    return tuple(lines)


def _corners_met(
    sides: Sequence[Bordered], widths: Sequence[tuple[float, float]]
) -> list[FloatArray]:
    lines = [_inset(side.points, wide) for side, wide in zip(sides, widths, strict=True)]
    for index in range(len(sides)):
        most = max(*widths[index - 1], *widths[index])
        ahead = onward(sides[index - 1].points, _negative(widths[index - 1]), last=True)
        behind = -onward(sides[index].points, _negative(widths[index]), last=False)
        lines[index - 1], lines[index] = _met(
            (lines[index - 1], ahead), (lines[index], behind), 10.0 * most + 1.0
        )
    return lines


def _seen_from_cut(side: Bordered, line: FloatArray) -> tuple[float, float]:
    """Return a changing allowance measured square to the cutting line, at that line's ends.

    It is given square to the stitching line, at its ends. line: the stitching line so far.
    """
    start, end = side.allowance
    if abs(start - end) < 1e-9:
        return start, end
    cut = LineString(side.points)
    first, last = cut.project(Point(line[0])), cut.project(Point(line[-1]))
    lean = 1.0 / np.hypot(1.0, (end - start) / length(line))
    slope = (end - start) * lean / max(last - first, 1e-6)
    return float(start * lean - slope * first), float(end * lean + slope * (cut.length - last))


def _inset(points: FloatArray, allowance: tuple[float, float]) -> FloatArray:
    start, end = allowance
    line = parallel(points, -start, -end)
    if LineString(line).is_simple or (points[0] == points[-1]).all():
        return line
    if abs(start - end) > 1e-9:
        raise ValueError("an edge bends more tightly than its changing allowance is wide")
    curve = LineString(points).offset_curve(start, join_style="mitre")
    if curve.is_empty or curve.geom_type != "LineString":
        raise ValueError("an edge bends more tightly than its allowance is wide")
    return np.asarray(curve.coords)


def _negative(widths: tuple[float, float]) -> tuple[float, float]:
    return -widths[0], -widths[1]


def _met(
    one: tuple[FloatArray, FloatArray], other: tuple[FloatArray, FloatArray], reach: float
) -> tuple[FloatArray, FloatArray]:
    """Cut off or lengthen two lines so that one ends where the other begins.

    one, other: each with the direction in which it goes on past the corner, for `reach` mm.
    """
    (before, onward), (after, backward) = one, other
    if np.hypot(*(before[-1] - after[0])) < 1e-9:
        return before, np.vstack([before[-1], after[1:]])
    back = np.vstack([before, before[-1] + onward * reach])[::-1]
    ahead = np.vstack([after[0] + backward * reach, after])
    found = crossing(back, ahead)
    if found is None:  # nearly straight on, with another allowance: a step
        return before, np.vstack([before[-1], after])
    on_back, on_ahead, at = found
    first = np.vstack([back[on_back + 1 :][::-1], at])
    second = np.vstack([at, ahead[on_ahead + 1 :]])
    if length(first) < 1e-6 or length(second) < 1e-6:
        raise ValueError("an edge is too short for the allowances beside it")
    return without_straight(first), without_straight(second)


def _halved(side: Bordered) -> tuple[Bordered, Bordered]:
    """Divide one closed side, so that its ends lie on two lines."""
    middle = len(side.points) // 2
    reached = distances(side.points)
    start, end = side.allowance
    between = start + (end - start) * float(reached[middle] / reached[-1])
    return (
        Bordered(side.points[: middle + 1], (start, between), side.corner),
        Bordered(side.points[middle:], (between, end)),
    )


def parallel(points: FloatArray, start: float, end: float, limit: float = 2.0) -> FloatArray:
    """Return the line to the right of `points`, `start` to `end` mm away, (m, 2).

    Negative distances lie to the left. Bends are mitred, sharp outer ones up to `limit` times the
    distance. The line may cross itself where a bend is tighter than the distance.
    """
    points = without_repeats(points)
    reached = distances(points)
    away = start + (end - start) * reached / reached[-1]
    steps = np.diff(points, axis=0)
    steps /= np.hypot(*steps.T)[:, None]
    normal = np.column_stack([steps[:, 1], -steps[:, 0]])
    first, last = (
        points[-1 if last else 0] + _right_of(points, last=last) * away[-1 if last else 0]
        for last in (False, True)
    )
    before, after = normal[:-1], normal[1:]
    cos = np.einsum("ij,ij->i", before, after)
    middle = points[1:-1] + (before + after) * (away[1:-1] / np.maximum(1.0 + cos, 1e-9))[:, None]
    sharp = np.flatnonzero(cos < SMOOTH)
    if not len(sharp):
        return np.vstack([first, middle, last])
    parts, at = [first[None]], 0
    for index in sharp.tolist():
        parts += [
            middle[at:index],
            _bend(points[index + 1], before[index], after[index], away[index + 1], limit),
        ]
        at = index + 1
    return np.vstack([*parts, middle[at:], last])


def _right_of(points: FloatArray, *, last: bool) -> FloatArray:
    x, y = end_heading(points, last=last).direction
    return np.array([y, -x])


def _bend(
    at: FloatArray, before: FloatArray, after: FloatArray, away: float, limit: float
) -> FloatArray:
    """Return the parallel's points at a sharp bend within a side."""
    ends = np.vstack([at + before * away, at + after * away])
    outer = (before[0] * after[1] - before[1] * after[0]) * away > 0
    cos = float(before @ after)
    if not outer:
        return ends
    if cos > 2.0 / limit**2 - 1.0 - 1e-9:  # the mitre is no longer
        return np.asarray(at + (before + after) * away / (1.0 + cos))[None]
    tip = before + after
    size = np.hypot(*tip)
    along = np.array([-before[1], before[0]])
    if size < 1e-9:
        return np.vstack([ends[0] + along * away, ends[1] + along * away])
    reach = (limit - np.sqrt((1.0 + cos) / 2.0)) / np.sqrt((1.0 - cos) / 2.0) * abs(away)
    back = np.array([-after[1], after[0]])
    return np.vstack([ends[0] + along * reach, ends[1] - back * reach])
