"""Darts: two edges of a piece that meet at a point within it, with no cloth between them.

How much their legs may differ, and how near to its point a dart's hole is drilled, are common
practice, from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import LineString, Point, Polygon

from plotout.finish.unfold import OTHER
from plotout.geometry.polyline import direction_at, length
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import Drill, Edge, Piece, Seam

_LEGS = 0.03  # share of their length by which both legs may differ
_OPEN = 75.0  # degrees: more is a neck
_HOLE = 30.0  # mm from a dart's point within which a hole marks it
_ON_LINE = 2.0  # mm from a leg's own line within which a notch shows it


@dataclass(frozen=True, slots=True, eq=False)
class Dart:
    """Its legs, in the order of the piece: the point is where the first ends."""

    legs: tuple[Edge, Edge]

    @property
    def point(self) -> FloatArray:
        """Where it ends within the piece, (2,), mm."""
        return np.asarray(self.legs[1].points[0])

    def beside(self, piece: Piece) -> tuple[Edge, Edge]:
        """Return the edges of the piece before and after it."""
        first, last = (piece.edges.index(leg) for leg in self.legs)
        return piece.edges[first - 1], piece.edges[(last + 1) % len(piece.edges)]

    def holds(self, drill: Drill) -> bool:
        """Return whether a hole is at its point, or between its legs."""
        ring = Polygon(np.vstack([leg.points for leg in self.legs])).buffer(0.0)
        at = Point(drill.at)
        return bool(Point(self.point).distance(at) <= drill.size or ring.covers(at))

    def is_drilled(self, piece: Piece) -> bool:
        """Return whether a hole of the piece marks its point."""
        return any(Point(self.point).distance(Point(drill.at)) <= _HOLE for drill in piece.drills)

    def is_notched(self, places: Sequence[FloatArray]) -> bool:
        """Return whether notches with their mouths at these places, (2,), show both legs."""
        return all(
            any(_on_line(leg, place, last=last) for place in places)
            for leg, last in zip(self.legs, (False, True), strict=True)
        )

    def is_sewn(self, piece: Piece, seams: Sequence[Seam]) -> bool:
        """Return whether a seam sews one leg to the other, from its mouth or from its point."""
        names = (piece.name, piece.parent or piece.name)
        legs = {leg.name.removesuffix(OTHER) for leg in self.legs}
        return any(
            len(seam.first.edges) == len(seam.second.edges) == 1
            and all(side.edges[0][0] in names for side in (seam.first, seam.second))
            and {seam.first.edges[0][1], seam.second.edges[0][1]} == legs
            for seam in seams
        )


def darts(piece: Piece) -> Iterator[Dart]:
    """Yield a piece's darts, by their shape alone."""
    for index, after in enumerate(piece.edges):
        before = piece.edges[index - 1]
        into = direction_at(before.points, length(before.points))
        out = direction_at(after.points, 0.0)
        shorter, longer = sorted((length(before.points), length(after.points)))
        inwards = into[0] * out[1] < into[1] * out[0]
        open_by = np.degrees(np.arccos(np.clip(-into @ out, -1.0, 1.0)))
        if inwards and open_by < _OPEN and longer - shorter < _LEGS * longer:
            yield Dart((before, after))


def _on_line(leg: Edge, place: FloatArray, *, last: bool) -> bool:
    """Return whether a place lies where a leg would go on past its mouth."""
    mouth = leg.points[-1 if last else 0]
    onward = direction_at(leg.points, length(leg.points) if last else 0.0) * (1.0 if last else -1.0)
    far = float((place - mouth) @ onward)
    reach = LineString([mouth, mouth + onward * max(far, 1e-6)])
    return bool(far <= length(leg.points) and reach.distance(Point(place)) <= _ON_LINE)
