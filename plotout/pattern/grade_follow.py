"""Moves what lies in a piece together with its outline, as that grows to another size."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
from shapely.geometry import LineString, Polygon

from plotout.geometry.polyline import unit
from plotout.geometry.strokes import FloatArray
from plotout.pattern.drawing import Drawing, Role, Shape
from plotout.pattern.kinds import Along
from plotout.pattern.model import Drill
from plotout.pattern.part_spec import EdgeNotchSpec
from plotout.pattern.spec import PieceSpec

Moved = Callable[[FloatArray], FloatArray]
"""Moves points, (n, 2), as the outline around them."""


def drawing_moved(drawing: Drawing, moved: Moved, drills: Mapping[str, FloatArray]) -> Drawing:
    """Return a drawing whose inner shapes have gone with the outline. A grain line only shifts.

    drills: where those go that are grade points themselves.
    """

    def gone(shape: Shape) -> Shape:
        if shape.role is Role.OUTLINE:
            return shape
        if shape.role is Role.GRAIN:
            return replace(shape, points=_shifted(shape.points, moved))
        if shape.role is Role.DRILL and shape.name in drills:
            middle = shape.points.mean(axis=0)
            return replace(shape, points=shape.points + (drills[shape.name] - middle))
        return replace(shape, points=moved(shape.points))

    return replace(drawing, shapes=tuple(map(gone, drawing.shapes)))


def _shifted(points: FloatArray, moved: Moved) -> FloatArray:
    middle = points.mean(axis=0)
    return np.asarray(points + (moved(middle)[0] - middle))


def _split_moved(
    line: tuple[tuple[float, float], tuple[float, float]],
    outline: FloatArray,
    moved: Moved,
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return a split's line gone with the middle of where it divides the outline, (n, 2), mm.

    It keeps its direction: a split square to the grain is so in every size.
    """
    ends = np.array(line)
    reach = np.ptp(np.vstack([outline, ends]), axis=0).sum() * unit(ends[1] - ends[0])
    across = Polygon(outline).intersection(LineString([ends[0] - reach, ends[1] + reach]))
    middle = ends.mean(axis=0) if across.is_empty else np.array(across.centroid.coords[0])
    (x1, y1), (x2, y2) = (ends + (moved(middle)[0] - middle)).tolist()
    return (x1, y1), (x2, y2)


def spec_moved(
    spec: PieceSpec,
    outline: FloatArray,
    moved: Moved,
    drills: Mapping[str, FloatArray],
    notches: Mapping[tuple[str, str], float],
) -> PieceSpec:
    """Return what the set file says of a piece, with its places in mm gone with the outline.

    outline: closed, (n, 2), as drawn. drills: where those lie that are grade points; notches: how
    far along, by their name and their edge's.
    """

    def at(point: tuple[float, float]) -> tuple[float, float]:
        x, y = moved(np.array([point]))[0]
        return float(x), float(y)

    def drilled(drill: Drill) -> Drill:
        if drill.name in drills:
            x, y = drills[drill.name].tolist()
            return replace(drill, at=(x, y))
        return replace(drill, at=at(drill.at))

    def notched(notch: EdgeNotchSpec) -> EdgeNotchSpec:
        along = notches.get((notch.name, notch.edge.name))
        return notch if along is None else replace(notch, at=Along(mm=along), from_="start")

    grain = spec.grain
    if grain is not None and grain.tail is not None and grain.head is not None:
        tail, head = _shifted(np.array([grain.tail, grain.head]), moved).tolist()
        grain = replace(grain, tail=tuple(tail), head=tuple(head))
    line = spec.line
    if not isinstance(line, str):
        line = tuple(replace(one, points=moved(one.points)) for one in line)
    return replace(
        spec,
        grain=grain,
        line=line,
        drills=tuple(map(drilled, spec.drills)),
        notches=tuple(map(notched, spec.notches)),
        splits=tuple(
            replace(split, line=_split_moved(split.line, outline, moved)) if split.line else split
            for split in spec.splits
        ),
    )
