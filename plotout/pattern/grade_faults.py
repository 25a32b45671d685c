"""Refuses growth that an outline can't take."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from shapely import is_valid_reason
from shapely.geometry import LinearRing, Polygon

from plotout.errors import Place, UserError
from plotout.geometry.polyline import length, ring_of, signed_area
from plotout.geometry.strokes import FloatArray
from plotout.pattern.grade_places import Located
from plotout.pattern.model import Edge

_FIX = "Check the sign and the size of its growth, and of its neighbours'."

Points = Sequence[tuple[Located, FloatArray]]
"""Grade points, and how each moves in the size, (2,), mm."""


def check_grown(
    before: Sequence[FloatArray],
    after: Sequence[FloatArray],
    owners: Sequence[int],
    edges: tuple[Sequence[Edge], Sequence[Edge]],
    points: Points,
    piece: str,
) -> None:
    """Raise UserError where growth turns the outline or an edge over, or makes it cross itself.

    Also where it leaves less of an edge than its allowance is wide. before, after: the stretches
    between grade points, (n, 2), mm, of the edges `owners`. edges: as drawn, and grown. The error's
    place is that of the grade point that is most likely wrong.
    """
    old_edges, new_edges = edges
    for owner, old, new in zip(owners, before, after, strict=True):
        if (old[-1] - old[0]) @ (new[-1] - new[0]) <= 0.0:
            name = old_edges[owner].name
            raise UserError(f"'{name}' is reversed", fix=_FIX, place=_at_edge(points, owner, piece))
    ring = ring_of(after)
    if not LinearRing(ring[:-1]).is_simple:
        found = re.search(r"\[(\S+) (\S+)\]", is_valid_reason(Polygon(ring)))
        at = (float(found[1]), float(found[2])) if found else None
        place = replace(_nearest(points, at, piece), at=at)
        raise UserError("its outline crosses itself", fix=_FIX, place=place)
    if signed_area(ring) <= 0.0:
        place = _nearest(points, None, piece)
        raise UserError("its outline turns inside out", fix=_FIX, place=place)
    for index, (was, now) in enumerate(zip(old_edges, new_edges, strict=True)):
        left, wide = length(now.points), max(now.allowance)
        if left < wide <= length(was.points):
            raise UserError(
                f"'{now.name}' is {left:.1f} mm long, less than its allowance of {wide:g} mm",
                fix=_FIX,
                place=_at_edge(points, index, piece),
            )


def _at_edge(points: Points, edge: int, piece: str) -> Place:
    """Return the place in the set file of the edge's grade point that moves furthest."""
    on = [pair for pair in points if any(index == edge for index, _ in pair[0].on)]
    return _nearest(on or points, None, piece)


def _nearest(points: Points, at: tuple[float, float] | None, piece: str) -> Place:
    """Return the place of the grade point that ends nearest to `at`, or moves furthest."""

    def rank(pair: tuple[Located, FloatArray]) -> float:
        point, move = pair
        return float(np.hypot(*(point.at + move - at))) if at else -float(np.hypot(*move))

    return replace(min(points, key=rank)[0].point.place, piece=piece)
