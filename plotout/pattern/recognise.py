"""Recognises what lines in a drawing represent: outline, notch, drill hole, grain line.

For reader plugins whose drawings hold only lines. A named line is (name, points), with points
(n, 2), mm, y up; a closed one ends exactly where it begins.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TypeAlias

import numpy as np
import shapely

from plotout.errors import Place, UserError
from plotout.geometry.gathered import Gathered
from plotout.geometry.joining import BranchingError, joined
from plotout.geometry.polyline import is_closed
from plotout.geometry.strokes import FloatArray
from plotout.pattern.drawing import Role, Shape

NamedLine: TypeAlias = tuple[str, FloatArray]
_SAME = 0.1  # mm: marks with their centres nearer than this are one mark


def outline_shapes(lines: Sequence[NamedLine], place: Place) -> list[Shape]:
    """Return the outline formed by the lines: one closed shape, or open ones in order.

    Lines that all have different names stay separate, so that their names become the edges'.
    Raises UserError, at `place`, for no line, for two closed ones, and where more than two meet.
    """
    if not lines:
        raise UserError(
            "the outline is empty", fix="Does the drawing hold the line that is meant?", place=place
        )
    try:
        chains = joined([points for _, points in lines])
    except BranchingError as fault:
        raise UserError(
            "more than two lines of the outline meet",
            fix="Delete what doesn't belong to it, or pick only the outline.",
            place=replace(place, at=fault.at),
        ) from fault
    if not chains:
        raise UserError(
            "the outline is a mere point",
            fix="Does the drawing hold the line that is meant?",
            place=place,
        )
    closed = [chain for chain in chains if is_closed(chain)]
    if len(closed) > 1:
        x, y = closed[1][0]
        raise UserError(
            f"the outline consists of {len(closed)} closed shapes",
            fix="Pick one: the others are internal lines, or separate pieces.",
            place=replace(place, at=(float(x), float(y))),
        )
    names = {name for name, _ in lines}
    if 1 < len(lines) == len(names):
        return _end_to_end(lines)
    return _end_to_end([(lines[0][0], chain) for chain in chains])


def _end_to_end(lines: Sequence[NamedLine]) -> list[Shape]:
    """Put open lines in order, nearest end first; the first keeps its place and direction."""
    (name, points), *left = lines
    made = [Shape(points, Role.OUTLINE, name)]
    while left:
        gaps = np.array([np.hypot(*(line[[0, -1]] - points[-1]).T) for _, line in left])
        index, last = np.unravel_index(int(gaps.argmin()), gaps.shape)
        name, points = left.pop(int(index))
        points = points[::-1] if last else points
        made.append(Shape(points, Role.OUTLINE, name))
    return made


def middle_shapes(lines: Sequence[NamedLine], role: Role) -> list[Shape]:
    """Return the centres of drawn marks as one-point shapes (drill holes, turn points).

    A cross of two lines is one mark. The size is that of a closed line, 0 for open ones.
    """
    made: list[Shape] = []
    gathered = Gathered(_SAME)
    for name, points in lines:
        low, high = points.min(axis=0), points.max(axis=0)
        middle, size = (low + high) / 2.0, 0.0
        if is_closed(points):
            size = round(float((high - low).max()), 2)  # a circle is flattened to 0.01 mm
        at = float(middle[0]), float(middle[1])
        same = gathered.first_near(at)
        if same is None:
            gathered.add(at)
            made.append(Shape(middle[None], role, name, size=size))
        elif size > made[same].size:
            made[same] = Shape(middle[None], role, name, size=size)
    return made


def notch_shape(line: NamedLine, edge: FloatArray, kind: str = "") -> Shape:
    """Return a drawn notch: where it meets `edge` (n, 2), its depth and its direction.

    A straight line is a slit and two strokes are a V, unless `kind` says otherwise.
    """
    name, points = line
    if len(points) == 1:
        return Shape(points, Role.NOTCH, name, kind)
    off = shapely.distance(shapely.LineString(edge), shapely.points(points))
    outer = points[int(off.argmin())] if len(points) == 2 else (points[0] + points[-1]) / 2.0
    if kind == "check" and len(points) == 3:  # it is where its leg square to the edge is
        outer = points[[0, 2]][int(np.hypot(*(points[[0, 2]] - points[1]).T).argmin())]
    inner = points[int(np.hypot(*(points - outer).T).argmax())]
    if len(points) == 4:  # a castle: its floor's middle, not a corner of it
        inner = (points[1] + points[2]) / 2.0
    direction = inner - outer
    depth = float(np.hypot(*direction))
    angle = float(np.degrees(np.arctan2(direction[1], direction[0]))) if depth > 0.0 else None
    kind = kind or {2: "slit", 3: "V"}.get(len(points), "")
    return Shape(outer[None], Role.NOTCH, name, kind, depth, angle)


def grain_shape(lines: Sequence[NamedLine]) -> Shape:
    """Return the longest straight line as grain line, (2, 2): arrow heads are shorter."""
    straights = [
        (float(steps.max()), name, points[index : index + 2])
        for name, points in lines
        for steps in [np.hypot(*np.diff(points, axis=0).T)]
        for index in [int(steps.argmax())]
    ]
    _, name, points = max(straights, key=lambda found: found[0])
    return Shape(points, Role.GRAIN, name)
