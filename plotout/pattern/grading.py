"""Grades a drawn piece to another size: its outline regrown, and everything in it moved along."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from shapely import is_valid_reason
from shapely.geometry import LinearRing, Polygon

from plotout.errors import UserError, nearest
from plotout.geometry.polyline import distances, length, signed_area, unit
from plotout.geometry.strokes import FloatArray
from plotout.pattern.drawing import Drawing, Role, Shape
from plotout.pattern.fairness import unfair
from plotout.pattern.grade_places import SAME, Located, located, number
from plotout.pattern.grade_spec import GradePoint, GradeRule, Sizes
from plotout.pattern.growth import increments
from plotout.pattern.kinds import Along
from plotout.pattern.model import Drill, Edge, Graded, Unfair
from plotout.pattern.part_spec import EdgeNotchSpec
from plotout.pattern.regrow import Grown, regrown, warp
from plotout.pattern.spec import PieceSpec


@dataclass(frozen=True, slots=True)
class SizeStep:
    """The size that is made, one of `count`. index, base: places in the range.

    measures: the measurements' increments at every size, mm.
    """

    size: str
    index: int
    base: int
    count: int
    measures: Mapping[str, tuple[float, ...]]
    rules: Mapping[str, GradeRule]

    def growth(self, point: GradePoint) -> FloatArray:
        """Return a grade point's growth in every size, (sizes, 2): across its reference line, and
        along it.
        """
        rule = point if point.rule is None else self.rules[point.rule.name]
        return np.array(
            [
                [
                    growth.at(k, self.base, self.measures) if growth else 0.0
                    for growth in (rule.x, rule.y)
                ]
                for k in range(self.count)
            ]
        )


def size_step(
    size: str, drawn: str, sizes: Sizes | None, rules: Sequence[GradeRule]
) -> SizeStep | None:
    """Return the step to a size, "" for the drawn one; None where the set has no others.

    Raises UserError for a size that the set doesn't have.
    """
    known = [name for name in (sizes.range if sizes else (drawn,)) if name]
    if size and size not in known:
        told = f"{nearest(size, known)} Sizes of this set: {', '.join(known)}."
        raise UserError(
            f"there is no size '{size}'", fix=told if known else "The set has no sizes."
        )
    if sizes is None:
        return None
    size = size or sizes.base
    base = sizes.range.index(sizes.base)
    grows = {one.name: one.grows for one in sizes.measure}
    return SizeStep(
        size,
        sizes.range.index(size),
        base,
        len(sizes.range),
        increments(grows, len(sizes.range), base),
        {rule.name: rule for rule in rules},
    )


@dataclass(frozen=True, slots=True, eq=False)
class InSize:
    """A piece in a size: its edges, its drawing, and what the set file gives of it in mm.

    graded, unfair: as a `Piece` has them.
    """

    edges: list[Edge]
    drawing: Drawing
    spec: PieceSpec
    graded: tuple[Graded, ...] = ()
    unfair: tuple[Unfair, ...] = ()


def graded(
    edges: Sequence[Edge],
    drawing: Drawing,
    spec: PieceSpec,
    grain: FloatArray | None,
    step: SizeStep,
) -> InSize:
    """Return a drawn piece in another size.

    grain: the piece's grain line, (2, 2), along which growth is given; upright by default.
    Raises UserError for growth that the outline can't take.
    """
    points = located(edges, drawing, spec)  # looked at in the base size, too
    growths = [_growth(edges, spot.point, grain, step) for spot in points]
    if step.index == step.base or not points:
        marks = [
            Graded(spot.at, growth, within=not spot.point.corner)
            for spot, growth in zip(points, growths, strict=True)
            if spot.on
        ]
        return InSize(list(edges), drawing, spec, tuple(marks))
    moves = [growth[step.index] for growth in growths]
    stretches, owners = _stretches(edges, points, moves)
    lines = regrown(stretches)
    grown = [
        replace(
            edge, points=_joined([lines[k] for k, owner in enumerate(owners) if owner == index])
        )
        for index, edge in enumerate(edges)
    ]
    names = [edges[owner].name for owner in owners]
    olds = [stretch.points for stretch in stretches]
    _check(names, olds, lines, spec)
    _check_lengths(edges, grown, spec)
    before, after = _joined(olds), _joined(lines)

    def moved(at: FloatArray) -> FloatArray:
        return warp(before, after, np.atleast_2d(np.asarray(at, float)))

    drills = {
        spot.point.drill.name: spot.at + move
        for spot, move in zip(points, moves, strict=True)
        if spot.point.drill is not None
    }
    notches = {
        spot.point.notch.name: _along(spot.on[0], edges, stretches, lines, owners)
        for spot in points
        if spot.point.notch is not None
    }
    taken = _spec_warped(spec, moved, drills, notches)
    told = unfair(names, olds, lines)
    return InSize(grown, _warped(drawing, moved, drills), taken, unfair=tuple(told))


def _growth(
    edges: Sequence[Edge], point: GradePoint, grain: FloatArray | None, step: SizeStep
) -> FloatArray:
    """Return how a point moves in every size, (sizes, 2), mm, in the drawing's own axes."""
    up = _reference(edges, point, grain)
    return np.asarray(step.growth(point) @ np.array([[up[1], -up[0]], up]))


def _reference(edges: Sequence[Edge], point: GradePoint, grain: FloatArray | None) -> FloatArray:
    """Return the direction, (2,), along which y is counted: upwards on the card."""
    if point.along is not None:
        line = edges[number(edges, point.along)].points[[0, -1]]
        if not np.hypot(*(line[1] - line[0])) > 1.0:
            raise UserError(
                f"edge '{point.along.name}' has no direction to grow along",
                fix="Name an edge that ends somewhere else than it begins.",
                place=point.along.place,
            )
    elif grain is not None:
        line = grain
    else:
        return np.array([0.0, 1.0])
    way = unit(line[1] - line[0])
    upwards = way[1] > 1e-9 or (abs(way[1]) <= 1e-9 and way[0] > 0.0)
    return np.asarray(way if upwards else -way)


def _stretches(
    edges: Sequence[Edge], points: Sequence[Located], moves: Sequence[FloatArray]
) -> tuple[list[Grown], list[int]]:
    """Return the outline between grade points, and which edge each stretch is of."""
    at: list[dict[float, FloatArray]] = [{} for _ in edges]
    for point, move in zip(points, moves, strict=True):
        for index, place in point.on:
            at[index][place] = move
    stretches, owners = [], []
    still = np.zeros(2)
    for index, edge in enumerate(edges):
        places = sorted({0.0, length(edge.points), *at[index]})
        for low, high in pairwise(places):
            ends = at[index].get(low, still), at[index].get(high, still)
            stretches.append(Grown(_between(edge.points, low, high), *ends))
            owners.append(index)
    return stretches, owners


def _along(
    on: tuple[int, float],
    edges: Sequence[Edge],
    stretches: Sequence[Grown],
    lines: Sequence[FloatArray],
    owners: Sequence[int],
) -> float:
    """Return how far along its grown edge, in mm, a grade point within it has come to lie."""
    index, place = on
    old = new = 0.0
    for stretch, line, owner in zip(stretches, lines, owners, strict=True):
        if owner == index and old < place - SAME:
            old += length(stretch.points)
            new += length(line)
    return new


def _between(points: FloatArray, low: float, high: float) -> FloatArray:
    """Return a line from `low` to `high` mm along it; a whole line unchanged."""
    along = distances(points)
    if low <= 0.0 and high >= along[-1]:
        return points
    inner = (along > low + SAME) & (along < high - SAME)
    ends = [
        np.column_stack([np.interp(at, along, axis) for axis in points.T]) for at in (low, high)
    ]
    return np.vstack([ends[0], points[inner], ends[1]])


def _joined(lines: Sequence[FloatArray]) -> FloatArray:
    return np.vstack([*(line[:-1] for line in lines), lines[-1][-1:]])


_FIX = "Check the sign and the size of the growth at its ends."


def _check(
    names: Sequence[str], before: Sequence[FloatArray], after: Sequence[FloatArray], spec: PieceSpec
) -> None:
    """Raise UserError where growth turns a stretch over, or makes the outline cross itself."""
    place = replace(spec.grades[0].place, piece=spec.name)
    for name, old, new in zip(names, before, after, strict=True):
        if (old[-1] - old[0]) @ (new[-1] - new[0]) <= 0.0:
            raise UserError(f"'{name}' is reversed", fix=_FIX, place=place)
    ring = _joined(after)
    if not LinearRing(ring[:-1]).is_simple:
        found = re.search(r"\[(\S+) (\S+)\]", is_valid_reason(Polygon(ring)))
        at = (float(found[1]), float(found[2])) if found else None
        raise UserError("its outline crosses itself", fix=_FIX, place=replace(place, at=at))
    if signed_area(ring) <= 0.0:
        raise UserError("its outline turns inside out", fix=_FIX, place=place)


def _check_lengths(before: Sequence[Edge], after: Sequence[Edge], spec: PieceSpec) -> None:
    """Raise UserError where growth leaves less of an edge than its allowance is wide."""
    for old, new in zip(before, after, strict=True):
        left, wide = length(new.points), max(new.allowance)
        if left < wide <= length(old.points):
            raise UserError(
                f"'{new.name}' is {left:.1f} mm long, less than its allowance of {wide:g} mm",
                fix=_FIX,
                place=replace(spec.grades[0].place, piece=spec.name),
            )


def _warped(
    drawing: Drawing, moved: Callable[[FloatArray], FloatArray], drills: Mapping[str, FloatArray]
) -> Drawing:
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


def _shifted(points: FloatArray, moved: Callable[[FloatArray], FloatArray]) -> FloatArray:
    middle = points.mean(axis=0)
    return np.asarray(points + (moved(middle)[0] - middle))


def _spec_warped(
    spec: PieceSpec,
    moved: Callable[[FloatArray], FloatArray],
    drills: Mapping[str, FloatArray],
    notches: Mapping[str, float],
) -> PieceSpec:
    """Return what the set file says of a piece, with its places in mm gone with the outline.

    drills: where those lie that are grade points; notches: how far along their edges.
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
        if notch.name not in notches:
            return notch
        return replace(notch, at=Along(mm=notches[notch.name]), from_="start")

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
            replace(split, line=(at(split.line[0]), at(split.line[1]))) if split.line else split
            for split in spec.splits
        ),
    )
