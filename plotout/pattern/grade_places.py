"""Positions of a piece's grade points on its edges."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import LineString, Point

from plotout.errors import UserError, nearest
from plotout.geometry.polyline import length, point_at
from plotout.geometry.strokes import FloatArray
from plotout.pattern.drawing import Drawing, Role, Shape
from plotout.pattern.grade_spec import GradePoint, NamedPoint
from plotout.pattern.kinds import Ref
from plotout.pattern.model import Edge
from plotout.pattern.part_spec import EdgeNotchSpec
from plotout.pattern.spec import PieceSpec

SAME = 1e-3  # mm: closer grade points are the same; one this close to an edge's end is that end

OnEdges = tuple[tuple[int, float], ...]
"""Places on the outline: the number of an edge, and mm along it."""
Walked = Mapping[tuple[str, str], float]
"""The seams' notches on a piece, by their name and their edge's: mm along that edge."""


@dataclass(frozen=True, slots=True, eq=False)
class Located:
    """A grade point with its position. at: (2,), mm.

    on: its places on the outline; a corner is on two edges, a drill hole on none.
    """

    point: GradePoint
    on: OnEdges
    at: FloatArray


def located(
    edges: Sequence[Edge], drawing: Drawing, spec: PieceSpec, walked: Walked
) -> list[Located]:
    """Return where every grade point of a piece lies.

    Raises UserError for an unknown edge, notch, point or drill hole, for a place outside its edge,
    and for a place that is graded twice.
    """
    found: list[Located] = []
    taken: dict[int, list[float]] = {}
    holes: set[str] = set()
    for point in spec.grades:
        spot = _located(edges, drawing, spec, point, walked)
        hole = point.drill.name if point.drill else ""
        twice = hole in holes or any(
            abs(place - other) < SAME for index, place in spot.on for other in taken.get(index, ())
        )
        if twice:
            raise UserError(
                "a point of the piece is graded twice",
                fix="Keep one of the two.",
                place=replace(point.place, piece=spec.name),
            )
        holes |= {hole} - {""}
        for index, place in spot.on:
            taken.setdefault(index, []).append(place)
        found.append(spot)
    return found


def _located(
    edges: Sequence[Edge],
    drawing: Drawing,
    spec: PieceSpec,
    point: GradePoint,
    walked: Walked,
) -> Located:
    if point.drill is not None:
        return Located(point, (), _drill(drawing, spec, point.drill))
    if point.corner:
        on: OnEdges = _corner(edges, point)
    elif point.notch is not None:
        on = (_notch(edges, drawing, spec, point, walked),)
    elif point.point is not None:
        named = {named_point.name: named_point for named_point in spec.named_points}
        if point.point.name not in named:
            raise _none("named point", point.point, named)
        on = (_within(edges, named[point.point.name]),)
    else:
        assert point.edge is not None  # checked by GradePoint
        assert point.at is not None
        index = number(edges, point.edge)
        on = ((index, point.at.on(length(edges[index].points))),)
    index, place = on[0]
    whole = length(edges[index].points)
    if not point.corner and not SAME < place < whole - SAME:
        raise UserError(
            f"the grade point at {place:g} mm is not within '{edges[index].name}' ({whole:.1f} mm)",
            fix="For an end of the edge, name the corner: corner = [EDGE, EDGE].",
            place=point.place,
        )
    return Located(point, on, point_at(edges[index].points, place))


def _corner(edges: Sequence[Edge], point: GradePoint) -> OnEdges:
    pair = [number(edges, ref) for ref in point.corner]
    for one, other in (pair, pair[::-1]):
        if (one + 1) % len(edges) == other:
            return ((one, length(edges[one].points)), (other, 0.0))
    first, second = point.corner
    raise UserError(
        f"'{first.name}' and '{second.name}' don't meet at a corner",
        fix="Name two adjacent edges.",
        place=point.place,
    )


def _within(edges: Sequence[Edge], at: NamedPoint | EdgeNotchSpec) -> tuple[int, float]:
    index = number(edges, at.edge)
    whole = length(edges[index].points)
    along = at.at.on(whole)
    return index, whole - along if at.from_ == "end" else along


def _notch(
    edges: Sequence[Edge], drawing: Drawing, spec: PieceSpec, point: GradePoint, walked: Walked
) -> tuple[int, float]:
    """Return the place of a notch by its name: the set file's, the drawing's or a seam's."""
    ref = point.notch
    assert ref is not None
    drawn = [shape for shape in _shapes(drawing, Role.NOTCH) if shape.name]
    known = [(notch.name, _within(edges, notch)) for notch in spec.notches if notch.name]
    known += [(shape.name, _nearest(edges, shape)) for shape in drawn]
    known += [(name, (_number(edges, edge), at)) for (name, edge), at in walked.items()]
    only = None if point.edge is None else number(edges, point.edge)
    found = [on for name, on in known if name == ref.name and only in (None, on[0])]
    if not found:
        raise _none("notch", ref, [name for name, _ in known])
    if len(found) > 1:
        on_edges = {edges[index].name for index, _ in found}
        raise UserError(
            f"{len(found)} notches of the piece are called '{ref.name}'",
            fix="Give them different names."
            if len(on_edges) < len(found)
            else f"Add the edge of the one that is meant: edge = '{edges[found[0][0]].name}'.",
            place=ref.place,
        )
    return found[0]


def _nearest(edges: Sequence[Edge], shape: Shape) -> tuple[int, float]:
    at = Point(shape.points[0])
    lines = [LineString(edge.points) for edge in edges]
    index = int(np.argmin([line.distance(at) for line in lines]))
    return index, float(lines[index].project(at))


def _drill(drawing: Drawing, spec: PieceSpec, ref: Ref) -> FloatArray:
    given = [np.array(hole.at) for hole in spec.drills if hole.name == ref.name]
    drawn = _shapes(drawing, Role.DRILL)
    found = [*given, *(shape.points.mean(axis=0) for shape in drawn if shape.name == ref.name)]
    if not found:
        known = [hole.name for hole in spec.drills] + [shape.name for shape in drawn]
        raise _none("drill hole", ref, known)
    if len(found) > 1:
        raise UserError(
            f"{len(found)} drill holes of the piece are called '{ref.name}'",
            fix="Give them different names.",
            place=ref.place,
        )
    return np.asarray(found[0])


def _shapes(drawing: Drawing, role: Role) -> list[Shape]:
    return [shape for shape in drawing.shapes if shape.role is role]


def number(edges: Sequence[Edge], ref: Ref) -> int:
    """Return the number of the edge with a name. Raises UserError if none has it."""
    names = [edge.name for edge in edges]
    if ref.name not in names:
        raise _none("edge", ref, names)
    return _number(edges, ref.name)


def _number(edges: Sequence[Edge], name: str) -> int:
    return [edge.name for edge in edges].index(name)


def _none(what: str, ref: Ref, known: Sequence[str] | dict[str, NamedPoint]) -> UserError:
    fix = nearest(ref.name, known, f"No {what} of the piece has a name.")
    return UserError(f"there is no {what} '{ref.name}'", fix=fix, place=ref.place)
