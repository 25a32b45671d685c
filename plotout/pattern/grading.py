"""Grades a drawn piece to another size: its outline regrown, and everything in it moved along."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from plotout.errors import UserError, nearest
from plotout.geometry.polyline import distances, length, unit
from plotout.geometry.strokes import FloatArray
from plotout.pattern.drawing import Drawing
from plotout.pattern.fairness import unfair
from plotout.pattern.findings import Unfair
from plotout.pattern.grade_faults import check_grown
from plotout.pattern.grade_follow import drawing_moved, spec_moved
from plotout.pattern.grade_places import SAME, Located, Walked, located, number
from plotout.pattern.grade_spec import GradePoint, GradeRule, Sizes
from plotout.pattern.growth import increments
from plotout.pattern.model import Edge, Graded
from plotout.pattern.regrow import Grown, regrown, warp
from plotout.pattern.spec import PieceSpec

_ROUNDED = 1e-9  # mm


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
        hint = nearest(size, known, "The set has no sizes.")
        if hint.startswith("Did"):
            hint += f" Sizes of this set: {', '.join(known)}."
        raise UserError(f"there is no size '{size}'", fix=hint)
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

    graded, unfair: as a `Piece` has them. walked: how far along an edge, mm, the seam notches lie
    that are grade points, by their name and their edge's.
    """

    edges: list[Edge]
    drawing: Drawing
    spec: PieceSpec
    graded: tuple[Graded, ...] = ()
    unfair: tuple[Unfair, ...] = ()
    walked: Walked = field(default_factory=dict)


def graded(
    edges: Sequence[Edge],
    drawing: Drawing,
    spec: PieceSpec,
    grain: FloatArray | None,
    step: SizeStep,
    walked: Walked,
) -> InSize:
    """Return a drawn piece in another size.

    grain: the piece's grain line, (2, 2), along which growth is given; upright by default.
    walked: where the seams' notches that have a name lie on it, as drawn.
    Raises UserError for growth that the outline can't take.
    """
    points = located(edges, drawing, spec, walked)  # looked at in the base size, too
    growths = [_growth(edges, spot.point, grain, step) for spot in points]
    moves = [growth[step.index] for growth in growths]
    if not any(move.any() for move in moves):  # as drawn, to the last bit
        marks = [
            Graded(spot.at, growth, within=not spot.point.corner)
            for spot, growth in zip(points, growths, strict=True)
            if spot.on
        ]
        own = {
            (spot.point.notch.name, edges[spot.on[0][0]].name)
            for spot in points
            if spot.point.notch is not None
        }
        return InSize(
            list(edges),
            drawing,
            spec,
            tuple(marks) if step.index == step.base else (),
            walked={key: along for key, along in walked.items() if key in own},
        )
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
    check_grown(
        olds, lines, owners, (edges, grown), list(zip(points, moves, strict=True)), spec.name
    )
    before, after = _joined(olds), _joined(lines)

    def moved(at: FloatArray) -> FloatArray:
        return warp(before, after, np.atleast_2d(np.asarray(at, float)))

    drills = {
        spot.point.drill.name: spot.at + move
        for spot, move in zip(points, moves, strict=True)
        if spot.point.drill is not None
    }
    notches = {
        (spot.point.notch.name, edges[spot.on[0][0]].name): _along(
            spot.on[0], edges, stretches, lines, owners
        )
        for spot in points
        if spot.point.notch is not None
    }
    taken = spec_moved(spec, before, moved, drills, notches)
    return InSize(
        grown,
        drawing_moved(drawing, moved, drills),
        taken,
        unfair=tuple(unfair(names, olds, lines)),
        walked={key: along for key, along in notches.items() if key in walked},
    )


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
    direction = unit(line[1] - line[0])
    upwards = direction[1] > 1e-9 or (abs(direction[1]) <= 1e-9 and direction[0] > 0.0)
    return np.asarray(direction if upwards else -direction)


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
    whole = along[-1] - _ROUNDED  # a length summed in another order differs in its last bits
    if low <= 0.0 and high >= whole:
        return points
    inner = (along > low + SAME) & (along < high - SAME)
    first, last = (
        np.column_stack([np.interp(at, along, axis) for axis in points.T]) for at in (low, high)
    )
    return np.vstack([first, points[inner], points[-1:] if high >= whole else last])


def _joined(lines: Sequence[FloatArray]) -> FloatArray:
    return np.vstack([*(line[:-1] for line in lines), lines[-1][-1:]])
