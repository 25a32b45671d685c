"""Turns a drawing's shapes into a closed outline of named edges, counter-clockwise."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LinearRing, LineString, Polygon

from plotout.errors import UserError
from plotout.geometry.polyline import distances, length, point_at, ring_of, signed_area, turns
from plotout.geometry.strokes import FloatArray
from plotout.geometry.sureness import Known
from plotout.pattern.accuracy import Accuracy
from plotout.pattern.drawing import Drawing, Role, Shape
from plotout.pattern.part_spec import DivideSpec
from plotout.pattern.sides import edge_hint
from plotout.pattern.spec import PieceSpec

Named: TypeAlias = tuple[str, FloatArray]
IntArray: TypeAlias = NDArray[np.intp]
TURN_ANGLE = 20.0
MOST_POINTS = 1_000_000
MOST_EDGES = 400
MOST_SIZE = 50_000.0  # mm
_ONE = 1e-6  # mm: points nearer than this are one, given twice
_JOIN = 0.02  # mm: two flattenings of 0.01 mm may differ by this much
_NONE, _LEAST = 1e-6, 1.0  # mm2: a line; a piece so small is drawn in another unit


def edges_of(
    drawing: Drawing, spec: PieceSpec, tolerance: float
) -> tuple[list[Named], list[Accuracy], list[str]]:
    """Return the outline's edges with their names, counter-clockwise, and notes for the user.

    An edge is (n, 2), mm, and begins exactly where the previous one ends; with it comes the
    accuracy. Raises UserError, with the place in mm, for an outline that is
    empty, open, crosses itself or repeats a point.
    """
    shapes = [shape for shape in drawing.shapes if shape.role is Role.OUTLINE]
    if not shapes:
        raise _wrong(spec, "its drawing has no outline", "Name its shape in 'from'.")
    for shape in shapes:
        _check_points(shape.points, spec)
    shapes = [replace(shape, points=_without_repeats(shape.points, spec)) for shape in shapes]
    notes: list[str] = []
    if len(shapes) == 1:
        ring = _closed(shapes[0].points, spec, tolerance, notes)
        ring = ring if signed_area(ring) > 0.0 else ring[::-1]
        _check_ring(ring, spec)
        edges = _between_turns(ring, drawing, spec, notes)
        known = [replace(_accuracy(shapes[0]), likely=None, if_so=())] * len(edges)
    else:
        edges, known = _from_runs(shapes, spec, tolerance, notes)
        _check_ring(ring_of([points for _, points in edges]), spec)
    return _named(edges, spec), known, notes


def _wrong(spec: PieceSpec, problem: str, fix: str = "", at: FloatArray | None = None) -> UserError:
    where = None if at is None else (float(at[0]), float(at[1]))
    place = replace(spec.drawing_place or spec.place, piece=spec.name, at=where)
    return UserError(problem, fix=fix, place=place)


def _check_points(points: FloatArray, spec: PieceSpec) -> None:
    if len(points) < 2:
        raise _wrong(spec, "its outline is empty", "Name its shape in 'from'.")
    if len(points) > MOST_POINTS:
        raise _wrong(spec, f"its outline has {len(points)} points, more than {MOST_POINTS}")
    if not np.isfinite(points).all():
        index = int(np.flatnonzero(~np.isfinite(points).all(axis=1))[0])
        raise _wrong(spec, f"point {index + 1} of its outline is not a number", "Mend the drawing.")
    size = float(np.ptp(points, axis=0).max())
    if size > MOST_SIZE:
        raise _wrong(spec, f"its outline is {size / 1000:.0f} m long", "Check the drawing's unit.")


def _without_repeats(points: FloatArray, spec: PieceSpec) -> FloatArray:
    """Return a line without repeated points; its ends stay where they are."""
    apart = np.hypot(*np.diff(points, axis=0).T) > _ONE
    kept = points[np.concatenate([[True], apart])]
    if len(kept) < 2:
        if spec.points:
            raise _wrong(
                spec, "this point is given twice in a row", "Take one of the two out.", points[0]
            )
        raise _wrong(spec, "its outline has no length", "Name its shape in 'from'.", points[0])
    kept[-1] = points[-1]
    return np.asarray(kept)


def _closed(points: FloatArray, spec: PieceSpec, tolerance: float, notes: list[str]) -> FloatArray:
    gap = float(np.hypot(*(points[-1] - points[0])))
    if gap == 0.0:
        return points
    if gap > tolerance:
        raise _wrong(
            spec,
            f"its outline doesn't close: it ends {gap:.2f} mm from where it begins",
            f"Close it; it begins at x {points[0][0]:.2f} mm, y {points[0][1]:.2f} mm.",
            points[-1],
        )
    if gap > _JOIN:
        notes.append(f"outline closed over a gap of {gap:.2f} mm")
        return np.vstack([points, points[:1]])
    return np.vstack([points[:-1], points[:1]])


def _check_ring(ring: FloatArray, spec: PieceSpec) -> None:
    area = shapely.MultiPoint(ring).convex_hull.area
    if len(ring) < 4 or area < _NONE:
        raise _wrong(spec, "its outline has no area", "It needs at least three corners.", ring[0])
    if area < _LEAST:
        wide, tall = np.ptp(ring, axis=0)
        size = f"its outline is only {wide:.3g} x {tall:.3g} mm"
        raise _wrong(spec, size, "Check the unit that it is drawn in.", ring[0])
    if LinearRing(ring).is_simple:
        return
    places, counts = np.unique(ring[:-1], axis=0, return_counts=True)
    if (counts > 1).any():
        at = places[np.flatnonzero(counts > 1)[0]]
        raise _wrong(spec, "its outline visits a point twice", "Draw it round once.", at)
    reason = shapely.is_valid_reason(Polygon(ring))
    found = re.search(r"\[(\S+) (\S+)\]", reason)
    at = np.array([float(found[1]), float(found[2])]) if found else ring[0]
    raise _wrong(spec, "its outline crosses itself", "Untangle it there.", at)


def _from_runs(
    shapes: Sequence[Shape], spec: PieceSpec, tolerance: float, notes: list[str]
) -> tuple[list[Named], list[Accuracy]]:
    """Join open runs, each ending where the next begins; shared points become one."""
    lines = [shape.points.copy() for shape in shapes]
    names = [shape.name for shape in shapes]
    for index, line in enumerate(lines):
        before = lines[index - 1]
        gap = float(np.hypot(*(line[0] - before[-1])))
        if gap > tolerance:
            raise _wrong(
                spec,
                f"its outline doesn't close: '{names[index - 1]}' ends {gap:.2f} mm from where "
                f"'{names[index]}' begins",
                "Order the runs round the piece, each ending where the next begins.",
                before[-1],
            )
        if gap > _JOIN:
            notes.append(f"'{names[index - 1]}' and '{names[index]}' joined over {gap:.2f} mm")
        lines[index - 1][-1] = line[0] = (before[-1] + line[0]) / 2.0
    edges = list(zip(names, lines, strict=True))
    known = [_accuracy(shape) for shape in shapes]
    if signed_area(ring_of(lines)) < 0.0:
        edges = [(name, line[::-1]) for name, line in reversed(edges)]
        known = [accuracy.turned() for accuracy in reversed(known)]
    if spec.start is not None:
        starts = np.array([line[0] for _, line in edges])
        first = int(np.argmin(np.hypot(*(starts - spec.start).T)))
        edges, known = edges[first:] + edges[:first], known[first:] + known[:first]
    return edges, known


def _accuracy(shape: Shape) -> Accuracy:
    known = Known(shape.known_to, shape.unproved)
    return Accuracy(known, shape.likely, shape.otherwise, shape.if_so)


def _between_turns(
    ring: FloatArray, drawing: Drawing, spec: PieceSpec, notes: list[str]
) -> list[Named]:
    given = [shape.points[0] for shape in drawing.shapes if shape.role is Role.TURN]
    if given and spec.turn_angle is None:
        ring, turns = _given_turns(ring, given, notes)
    else:
        turns = _sharp_turns(ring, spec.turn_angle or TURN_ANGLE)
    if len(turns) > MOST_EDGES:
        raise _wrong(
            spec,
            f"its outline has {len(turns)} sharp turns; a piece has at most {MOST_EDGES} edges",
            "Check its shape, or raise 'turn-angle' to find fewer turn points.",
            ring[turns[0]],
        )
    corners = ring[turns] if len(turns) else ring[:-1]
    first = _first(corners, spec)
    if not len(turns):
        ring = np.vstack([ring[first:-1], ring[: first + 1]])
        return [("", ring)]
    turns = np.concatenate([turns[first:], turns[:first]])
    edges = []
    for start, end in zip(turns, np.roll(turns, -1), strict=True):
        if start < end:
            edges.append(("", ring[start : end + 1]))
        else:  # across the ring's end
            edges.append(("", np.vstack([ring[start:-1], ring[: end + 1]])))
    return edges


def _given_turns(
    ring: FloatArray, given: list[FloatArray], notes: list[str]
) -> tuple[FloatArray, IntArray]:
    """Return the ring with all given turn points among its vertices, and their indices."""
    line = LineString(ring)
    for point in given:
        off = line.distance(shapely.Point(point))
        if off > 1.0:
            notes.append(f"turn point at {_xy(point)} lies {off:.1f} mm off the outline; left out")
            continue
        along = line.project(shapely.Point(point))
        reached = distances(ring)
        if np.abs(reached - along).min() > _JOIN:
            at = np.asarray(line.interpolate(along).coords[0])
            ring = np.insert(ring, int(np.searchsorted(reached, along)), at, axis=0)
            line = LineString(ring)
    near = [int(np.argmin(np.hypot(*(ring[:-1] - point).T))) for point in given
            if line.distance(shapely.Point(point)) <= 1.0]  # fmt: skip
    return ring, np.unique(np.array(near, dtype=np.intp)).astype(np.intp)


def _sharp_turns(ring: FloatArray, angle: float) -> IntArray:
    return np.flatnonzero(turns(ring) > angle)


def _first(corners: FloatArray, spec: PieceSpec) -> int:
    """Return the corner that begins the first edge: nearest to `start`, or lowest, leftmost."""
    if spec.start is not None:
        return int(np.argmin(np.hypot(*(corners - spec.start).T)))
    return int(np.lexsort((corners[:, 0], np.round(corners[:, 1], 2)))[0])


def _named(edges: list[Named], spec: PieceSpec) -> list[Named]:
    """Give the edges the names of the set file, or numbers where none are given."""
    if spec.edges and len(spec.edges) != len(edges):
        lines = [
            f"  {index}: {length(points):.1f} mm, from {_xy(points[0])} to {_xy(points[-1])}"
            for index, (_, points) in enumerate(edges[:40], 1)
        ]
        raise UserError(
            f"{len(spec.edges)} edges are named, but the outline has {len(edges)}",
            fix="\n".join(["Counter-clockwise they are:", *lines,
                           "  Name all of them, or change 'turn-angle'."]),
            place=replace(spec.edges_place or spec.place, piece=spec.name),
        )  # fmt: skip
    if spec.edges:
        names = [ref.name for ref in spec.edges]
    else:
        names = [name or f"{index}" for index, (name, _) in enumerate(edges, 1)]
    twice = next((name for index, name in enumerate(names) if name in names[:index]), None)
    if twice is not None:
        raise _wrong(spec, f"two of its edges are called '{twice}'", "Name its edges in 'edges'.")
    return [(name, points) for name, (_, points) in zip(names, edges, strict=True)]


def divided_edges(
    edges: Sequence[Named], known: Sequence[Accuracy], asked: Sequence[DivideSpec]
) -> tuple[list[Named], list[Accuracy]]:
    """Return the edges with those to be divided as two. UserError for a place beyond an edge.

    known: the edges' accuracy; their parts' lengths are known no worse.
    """
    now, sure = list(edges), list(known)
    parts = parts_of(asked)
    for division in asked:
        names = [name for name, _ in now]
        if division.edge.name not in names:
            raise UserError(
                f"there is no edge '{division.edge.name}'",
                fix=edge_hint(division.edge.name, {name: parts.get(name, ()) for name in names}),
                place=division.edge.place,
            )
        index = names.index(division.edge.name)
        points = now[index][1]
        whole = length(points)
        along = division.at.on(whole)
        along = whole - along if division.from_ == "end" else along
        if not 1.0 <= along <= whole - 1.0:
            raise UserError(
                f"edge '{division.edge.name}' ({whole:.1f} mm) can't be divided at {along:.1f} mm",
                fix="Give a place on it.",
                place=division.place,
            )
        first, second = division.into
        for ref in division.into:
            if ref.name in names[:index] + names[index + 1 :] or first.name == second.name:
                raise UserError(
                    f"two edges would be called '{ref.name}'",
                    fix="Give one of them another name.",
                    place=ref.place,
                )
        middle = point_at(points, along)
        reached = distances(points)
        before, after = points[reached < along - 1e-9], points[reached > along + 1e-9]
        now[index : index + 1] = [
            (first.name, np.vstack([before, middle])),
            (second.name, np.vstack([middle, after])),
        ]
        sure[index : index + 1] = sure[index].divided(along / whole)
    return now, sure


def parts_of(divisions: Sequence[DivideSpec]) -> dict[str, tuple[str, ...]]:
    """Return by its name of which edges a part was divided off, the last one first."""
    found: dict[str, tuple[str, ...]] = {}
    for division in divisions:
        whole = (division.edge.name, *found.get(division.edge.name, ()))
        found |= {ref.name: whole for ref in division.into}
    return found


def _xy(point: FloatArray) -> str:
    return f"x {point[0]:.1f}, y {point[1]:.1f}"
