"""Finds what can't be cut of a card: holes, cut-outs and notches that run into one another.

A blade or a beam would come into an opening that is there already, and the card would break there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import LinearRing, LineString, Point, Polygon

from plotout.errors import UserError, counted
from plotout.finish.bare_card import BareCard
from plotout.finish.drills import named, on_fold, placed
from plotout.finish.notch_check import notch_shapes
from plotout.geometry.polyline import rotated
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work
from plotout.pattern.model import Drill, InternalLine, Piece

_SAME = 0.05  # mm: holes that near to each other are one; by less, two don't overlap
_TOUCH = 0.2  # mm of card between a notch and a hole, with less of which they are one opening
_MOVE = "Move it, make it smaller, or leave it out."

Found = tuple[Sequence[float], str, str]
"""A place, what is wrong there, and what to do."""


def uncuttable(
    piece: Piece, cutting: FloatArray, notched: FloatArray, cuts: Sequence[Stroke]
) -> tuple[UserError, ...]:
    """Return what of a ready piece's card can't be cut, with its place in the drawing.

    cutting: the cutting line before it was notched, closed, (n, 2), mm; notched: after. cuts: the
    strokes of the notches beside it.
    """
    found = (
        *_through_the_edge(piece, cutting),
        *_in_cut_outs(piece),
        *_holes_that_overlap(piece),
        *_cut_outs_that_cross(piece),
        *_notches_in_openings(piece, cutting, notched, cuts),
    )
    return tuple(_fault(piece, *one) for one in found)


def holes_on_joins(
    piece: Piece, whole: BareCard, parts: Sequence[BareCard]
) -> tuple[UserError, ...]:
    """Return the drill holes of a ready piece that are cut through the edge of a part of its card.

    whole: its card before it was divided.
    """
    edges = [LinearRing(part.outline) for part in parts]
    punched = [s for s in whole.strokes if s.work is Work.PUNCH and s.mark is Mark.DRILL]
    found = []
    for stroke in punched if len(parts) > 1 else ():
        hole = Point(stroke.points[0])
        if min(edge.distance(hole) for edge in edges) < stroke.size / 2.0 - _SAME:
            problem = (
                f"a part of it ends within the drill hole at {placed(stroke.points[0], piece)}"
            )
            fix = (
                "Move the hole or the split line, clear of its underlap too; or write cross = true."
            )
            found.append(_fault(piece, stroke.points[0], problem, fix))
    return tuple(found)


def _fault(piece: Piece, at: Sequence[float], problem: str, fix: str) -> UserError:
    x, y = rotated(np.array(at), -piece.turn).tolist()
    return UserError(problem, fix=fix, place=replace(piece.where, at=(x, y)))


def _through_the_edge(piece: Piece, cutting: FloatArray) -> Iterator[Found]:
    """Yield the holes that go over the card's edge. On the fold, half a hole in each is meant."""
    ring, card = LinearRing(cutting), Polygon(cutting)
    for drill in _drilled(piece):
        at = Point(drill.at)
        over = drill.size / 2.0 - ring.distance(at)
        if over > 0.0 and card.covers(at) and not on_fold(drill, piece):
            problem = f"{named(drill, piece)} breaks the card's edge: it goes {over:.1f} mm over it"
            yield drill.at, problem, _MOVE


def _in_cut_outs(piece: Piece) -> Iterator[Found]:
    """Yield the holes in the piece's cut-outs, and those that run into one."""
    for line in _cut_outs(piece):
        inside, ring = Polygon(line.points).buffer(0.0), LinearRing(line.points)
        for drill in piece.drills:
            at, what = Point(drill.at), f"{named(drill, piece)}"
            if inside.covers(at):
                problem = (
                    f"{what} lies in the cut-out '{line.name}': nothing is left there to drill"
                )
                yield drill.at, problem, _MOVE
            elif not drill.cross and ring.distance(at) < drill.size / 2.0:
                yield drill.at, f"{what} runs into the cut-out '{line.name}'", _MOVE


def _holes_that_overlap(piece: Piece) -> Iterator[Found]:
    """Yield the first two holes that overlap, with the number of such pairs. In one place: one."""
    drills = _drilled(piece)
    if len(drills) < 2:
        return
    reach = np.array([drill.size / 2.0 for drill in drills])
    at = shapely.points([drill.at for drill in drills])
    pairs = shapely.STRtree(at).query(at, "dwithin", reach + reach.max()).T
    one, other = pairs[pairs[:, 0] < pairs[:, 1]].T
    apart = shapely.distance(at[one], at[other])
    over = reach[one] + reach[other] - apart
    met = np.flatnonzero((over > _SAME) & (apart >= _SAME)).tolist()
    if met:
        k = min(met, key=lambda index: (one[index], other[index]))
        first, second = drills[one[k]], drills[other[k]]
        more = f", and so do {counted(len(met) - 1, 'more pair')} of holes" if len(met) > 1 else ""
        problem = (
            f"{named(first, piece)} and that at {placed(second.at, piece)} overlap by "
            f"{over[k]:.1f} mm{more}"
        )
        yield second.at, problem, "Move one, make it smaller, leave it out, or write cross = true."


def _cut_outs_that_cross(piece: Piece) -> Iterator[Found]:
    """Yield the cut-outs that share part of their room with one before them."""
    lines = _cut_outs(piece)
    shapes = [Polygon(line.points).buffer(0.0) for line in lines]
    rings = np.array([LinearRing(line.points) for line in lines], dtype=object)
    pairs = shapely.STRtree(rings).query(rings, "intersects").T
    for number, index in pairs[pairs[:, 0] > pairs[:, 1]].tolist():
        shape, other = shapes[number], shapes[index]
        shared, slip = shape.intersection(other).area, _SAME * shape.length
        if slip < shared < min(shape.area, other.area) - slip:
            names = f"'{lines[number].name}' runs into the cut-out '{lines[index].name}'"
            fix = "Move one, or draw both as one cut-out."
            yield lines[number].points[0], f"the cut-out {names}", fix


def _notches_in_openings(
    piece: Piece, cutting: FloatArray, notched: FloatArray, cuts: Sequence[Stroke]
) -> Iterator[Found]:
    """Yield the notches that run into a hole or a cut-out."""
    openings = [Point(drill.at).buffer(drill.size / 2.0) for drill in _drilled(piece)]
    openings += [LineString(line.points) for line in _cut_outs(piece)]
    slits, taken = notch_shapes(cutting, notched, cuts) if openings else ([], [])
    for shape in (*slits, *taken):
        if (shapely.distance(shape, openings) < _TOUCH).any():
            at = (shape.centroid.x, shape.centroid.y)
            problem = f"the notch at {placed(at, piece)} runs into a hole or a cut-out"
            yield at, problem, "Move the notch or the opening, or make one smaller."


def _drilled(piece: Piece) -> list[Drill]:
    return [drill for drill in piece.drills if not drill.cross]


def _cut_outs(piece: Piece) -> list[InternalLine]:
    return [line for line in piece.lines if line.kind == "cut-out" and len(line.points) > 2]
