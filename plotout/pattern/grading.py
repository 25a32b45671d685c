"""Grades a drawn piece to another size: its outline regrown, and everything in it moved along."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from shapely.geometry import LinearRing

from plotout.errors import Place, UserError, nearest
from plotout.geometry.polyline import length
from plotout.geometry.strokes import FloatArray
from plotout.pattern.drawing import Drawing, Role
from plotout.pattern.grade_spec import GradePoint, GradeRule, Sizes
from plotout.pattern.growth import Growth, increments, unknown_measure
from plotout.pattern.kinds import Ref
from plotout.pattern.model import Edge
from plotout.pattern.regrow import Grown, regrown, warp
from plotout.pattern.spec import PieceSpec

_SAME = 1e-6  # mm: a point this near to the end of an edge is that end


@dataclass(frozen=True, slots=True)
class SizeStep:
    """The size to make, among the `count` of the set. index, base: places in the range.

    measures: the measurements' increments at every size, mm.
    """

    size: str
    index: int
    base: int
    count: int
    measures: Mapping[str, tuple[float, ...]]
    rules: Mapping[str, GradeRule]

    def move(self, point: GradePoint) -> FloatArray:
        """Return the growth of a grade point, (2,): across its reference line, and along it."""
        rule: GradePoint | GradeRule = point
        if point.rule is not None:
            if point.rule.name not in self.rules:
                raise UserError(
                    f"there is no grade rule '{point.rule.name}'",
                    fix=nearest(point.rule.name, sorted(self.rules)),
                    place=point.rule.place,
                )
            rule = self.rules[point.rule.name]
        return np.array([self._growth(rule.x, rule.place), self._growth(rule.y, rule.place)])

    def _growth(self, growth: Growth | None, place: Place) -> float:
        if growth is None:
            return 0.0
        wrong = unknown_measure(growth, self.measures)
        if wrong is None and growth.listed and len(growth.listed) != self.count:
            wrong = UserError(
                f"a growth lists {len(growth.listed)} lengths for {self.count} sizes",
                fix="Give one per size, 0 for the base.",
            )
        if wrong is not None:
            raise UserError(wrong.problem, fix=wrong.fix, place=place)
        return growth.at(self.index, self.base, self.measures)


def size_step(
    size: str, drawn: str, sizes: Sizes | None, rules: Sequence[GradeRule]
) -> SizeStep | None:
    """Return the step to a size, "" for the drawn one; None where the set has no others.

    Raises UserError for a size that the set doesn't have.
    """
    known = [each for each in (sizes.range if sizes else (drawn,)) if each]
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


def graded(
    edges: Sequence[Edge],
    drawing: Drawing,
    spec: PieceSpec,
    grain: FloatArray | None,
    step: SizeStep,
) -> tuple[list[Edge], Drawing, PieceSpec]:
    """Return a piece's edges in another size, and its drawing and its spec.

    grain: the piece's grain line, (2, 2), along which growth is given; upright by default.
    Raises UserError for growth that the outline can't take.
    """
    moves = _moves(edges, spec, grain, step)  # checked in the base size, too
    if step.index == step.base or not spec.grades:
        return list(edges), drawing, spec
    stretches, owners = _stretches(edges, moves)
    lines = regrown(stretches)
    grown = [
        replace(
            edge, points=_joined([lines[k] for k, owner in enumerate(owners) if owner == index])
        )
        for index, edge in enumerate(edges)
    ]
    _check(edges, grown, spec, step)
    before = _joined([stretch.points for stretch in stretches])
    after = _joined(lines)

    def moved(points: FloatArray) -> FloatArray:
        return warp(before, after, np.atleast_2d(np.asarray(points, float)))

    return grown, _warped(drawing, moved), _spec_warped(spec, moved)


def _moves(
    edges: Sequence[Edge], spec: PieceSpec, grain: FloatArray | None, step: SizeStep
) -> dict[int, dict[float, FloatArray]]:
    """Return the moves of grade points, (2,) mm: by edge, then by the distance along it."""
    names = [edge.name for edge in edges]
    moves: dict[int, dict[float, FloatArray]] = {index: {} for index in range(len(edges))}
    for point in spec.grades:
        across, along = step.move(point)
        up = _reference(edges, names, point, grain)
        move = along * up + across * np.array([up[1], -up[0]])
        for index, place in _places(edges, names, point):
            if place in moves[index]:
                raise UserError(
                    "a point of the outline is graded twice",
                    fix="Keep one of the two.",
                    place=replace(point.place, piece=spec.name),
                )
            moves[index][place] = move
    return moves


def _places(
    edges: Sequence[Edge], names: Sequence[str], point: GradePoint
) -> Iterator[tuple[int, float]]:
    """Give a point's places: the number of its edge and mm along it; a corner is on two edges."""
    for ref in (*point.corner, *([point.edge] if point.edge else [])):
        _number(names, ref)
    if not point.corner:
        assert point.edge is not None  # ensured by GradePoint
        assert point.at is not None
        index = _number(names, point.edge)
        whole = length(edges[index].points)
        place = point.at.on(whole)
        if not _SAME < place < whole - _SAME:
            raise UserError(
                f"the grade point at {place:g} mm is not within '{names[index]}' ({whole:.1f} mm)",
                fix="For an end of the edge, name the corner: corner = [EDGE, EDGE].",
                place=point.place,
            )
        yield index, place
        return
    pair = [_number(names, ref) for ref in point.corner]
    for one, other in (pair, pair[::-1]):
        if (one + 1) % len(edges) == other:
            yield one, length(edges[one].points)
            yield other, 0.0
            return
    raise UserError(
        f"'{names[pair[0]]}' and '{names[pair[1]]}' don't meet in a corner",
        fix="Name two adjacent edges.",
        place=point.place,
    )


def _number(names: Sequence[str], ref: Ref) -> int:
    if ref.name not in names:
        raise UserError(
            f"there is no edge '{ref.name}'", fix=nearest(ref.name, names), place=ref.place
        )
    return names.index(ref.name)


def _reference(
    edges: Sequence[Edge], names: Sequence[str], point: GradePoint, grain: FloatArray | None
) -> FloatArray:
    """Return the direction, (2,), along which y is counted: upwards on the card."""
    if point.along is not None:
        line = edges[_number(names, point.along)].points[[0, -1]]
    elif grain is not None:
        line = grain
    else:
        return np.array([0.0, 1.0])
    direction = (line[1] - line[0]) / np.hypot(*(line[1] - line[0]))
    upwards = direction[1] > 1e-9 or (abs(direction[1]) <= 1e-9 and direction[0] > 0.0)
    return np.asarray(direction if upwards else -direction)


def _stretches(
    edges: Sequence[Edge], moves: Mapping[int, Mapping[float, FloatArray]]
) -> tuple[list[Grown], list[int]]:
    """Return the stretches of the outline between grade points, and their edges."""
    stretches, owners = [], []
    for index, edge in enumerate(edges):
        whole = length(edge.points)
        places = sorted({0.0, whole, *moves[index]})
        still = np.zeros(2)
        for low, high in pairwise(places):
            points = _between(edge.points, low, high)
            stretches.append(
                Grown(points, moves[index].get(low, still), moves[index].get(high, still))
            )
            owners.append(index)
    return stretches, owners


def _between(points: FloatArray, low: float, high: float) -> FloatArray:
    """Return a line from `low` to `high` mm along it; a whole line unchanged."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    if low <= 0.0 and high >= along[-1]:
        return points
    inner = (along > low + _SAME) & (along < high - _SAME)
    ends = [
        np.column_stack([np.interp(at, along, axis) for axis in points.T]) for at in (low, high)
    ]
    return np.vstack([ends[0], points[inner], ends[1]])


def _joined(lines: Sequence[FloatArray]) -> FloatArray:
    return np.vstack([*(line[:-1] for line in lines), lines[-1][-1:]])


def _check(before: Sequence[Edge], after: Sequence[Edge], spec: PieceSpec, step: SizeStep) -> None:
    """Raise UserError where growth reverses an edge, makes it too short, or crosses the outline."""
    place = replace(spec.grades[0].place, piece=spec.name)
    fix = "Check the sign and the size of the growth at its ends."
    for old, new in zip(before, after, strict=True):
        chords = old.points[-1] - old.points[0], new.points[-1] - new.points[0]
        if chords[0] @ chords[1] <= 0.0:
            raise UserError(f"in size {step.size} '{new.name}' is reversed", fix=fix, place=place)
        left, wide = length(new.points), max(new.allowance)
        if left < wide < length(old.points):
            raise UserError(
                f"in size {step.size} '{new.name}' is {left:.1f} mm long, less than its allowance "
                f"of {wide:g} mm",
                fix=fix,
                place=place,
            )
    if not LinearRing(_joined([edge.points for edge in after])[:-1]).is_simple:
        raise UserError(f"in size {step.size} its outline crosses itself", fix=fix, place=place)


def _warped(drawing: Drawing, moved: Callable[[FloatArray], FloatArray]) -> Drawing:
    """Return the drawing with its inner shapes moved with the outline. A grain line only shifts."""
    return replace(
        drawing,
        shapes=tuple(
            shape
            if shape.role is Role.OUTLINE
            else replace(shape, points=_shifted(shape.points, moved))
            if shape.role is Role.GRAIN
            else replace(shape, points=moved(shape.points))
            for shape in drawing.shapes
        ),
    )


def _shifted(points: FloatArray, moved: Callable[[FloatArray], FloatArray]) -> FloatArray:
    middle = points.mean(axis=0)
    return np.asarray(points + (moved(middle)[0] - middle))


def _spec_warped(spec: PieceSpec, moved: Callable[[FloatArray], FloatArray]) -> PieceSpec:
    """Return the piece's spec with its places in mm moved with the outline."""

    def at(point: tuple[float, float]) -> tuple[float, float]:
        x, y = moved(np.array([point]))[0]
        return float(x), float(y)

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
        drills=tuple(replace(drill, at=at(drill.at)) for drill in spec.drills),
        splits=tuple(
            replace(split, line=(at(split.line[0]), at(split.line[1]))) if split.line else split
            for split in spec.splits
        ),
    )
