"""Closes up a lay on a strip: all cards move at once, as far as they let one another.

Two cards are kept apart by the direction in which two convex parts of theirs are furthest apart.
That is linear in their shifts, so a linear program finds the shortest strip within small shifts,
and again from there, until nothing is gained. A lay in which no card can move alone still closes
up so. Source: Z. Li, V. Milenkovic, "Compaction and separation algorithms for non-convex polygons
and their applications", European Journal of Operational Research 84 (1995).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import MultiPoint, Polygon

from plotout.geometry.strokes import FloatArray

_REACH = 0.02  # share of the strip's width that a card may move in a step
_STEPS = 20
_GAINED = 2e-5  # share of the length below which a step is the last
_CLEAR = 1e-6  # mm kept between cards, since a solution holds to 1e-7
_MOST_PARTS = 5_000  # a step would take seconds
_CONVEX = 1e-9  # share of its area that a convex part may lack of its hull


@dataclass(frozen=True, slots=True)
class _Part:
    """A convex part of a card: its corners (n, 2), and the directions (n, 2) out of its sides."""

    card: int
    corners: FloatArray
    outwards: FloatArray

    def furthest(self, other: _Part, moved: FloatArray) -> tuple[float, FloatArray]:
        """Return how far in mm another part lies beyond this one, and the direction in which that
        is most; negative where they overlap. moved: how far the other has moved more, mm.
        """
        directions = np.concatenate([self.outwards, -other.outwards])
        beyond = ((other.corners + moved) @ directions.T).min(axis=0)
        distances = beyond - (self.corners @ directions.T).max(axis=0)
        best = distances.argmax()
        return float(distances[best]), directions[best]


def closed_up(cards: Sequence[Polygon], height: float) -> FloatArray:
    """Return shifts (n, 2) in mm after which the cards need less of the strip, or as much.

    The strip begins at x = 0 and is height mm wide, from y = 0. Cards keep their turns. Those that
    overlap may stay so.
    """
    parts = [part for number, card in enumerate(cards) for part in _parts(number, card)]
    shifts = np.zeros((len(cards), 2))
    if len(parts) > _MOST_PARTS:
        return shifts
    boxes = shapely.bounds(np.array(cards, dtype=object))
    length = boxes[:, 2].max()
    reach = _REACH * height
    for _ in range(_STEPS):
        moved = _shorter(parts, shifts, boxes, height, reach)
        if moved is None:
            break
        shifts = shifts + moved
        before, length = length, (boxes[:, 2] + shifts[:, 0]).max()
        if before - length < _GAINED * before:
            break
    return shifts


def _parts(number: int, card: Polygon) -> Iterator[_Part]:
    """Yield convex parts of a card: triangles, joined where that leaves them convex.

    Source: S. Hertel, K. Mehlhorn, "Fast triangulation of simple polygons" (1983): they are at most
    four times as many as need be.
    """
    triangles = shapely.orient_polygons(shapely.constrained_delaunay_triangles(card)).geoms
    whole: list[Polygon] = list(triangles)
    part_of = list(range(len(whole)))
    beside: dict[tuple[float, ...], int] = {}
    for triangle, corners in enumerate(shapely.get_coordinates(whole).reshape(-1, 4, 2).tolist()):
        for begin, end in pairwise(corners):
            if (*end, *begin) not in beside:
                beside[*begin, *end] = triangle
                continue
            one, other = (_root(part_of, of) for of in (triangle, beside[*end, *begin]))
            hull = MultiPoint(shapely.get_coordinates([whole[one], whole[other]])).convex_hull
            if hull.area - whole[one].area - whole[other].area < _CONVEX * hull.area:
                whole[one], part_of[other] = hull, one
    for index, polygon in enumerate(whole):
        if part_of[index] == index:
            ring = shapely.get_coordinates(shapely.orient_polygons(polygon))
            sides = np.diff(ring, axis=0)
            square = np.column_stack([sides[:, 1], -sides[:, 0]])
            yield _Part(number, ring[:-1], square / np.linalg.norm(square, axis=1, keepdims=True))


def _root(part_of: Sequence[int], index: int) -> int:
    """Return the part that a triangle belongs to by now."""
    while part_of[index] != index:
        index = part_of[index]
    return index


def _shorter(
    parts: Sequence[_Part], shifts: FloatArray, boxes: FloatArray, height: float, reach: float
) -> FloatArray | None:
    """Return further shifts (n, 2), of at most reach, that need the least length; None without any.

    shifts: (n, 2) so far. boxes: (n, 4) of the cards before any.
    """
    from scipy import sparse  # both take longer to load than most sets to lay
    from scipy.optimize import linprog

    pairs = _near(parts, shifts, reach)
    found = [
        parts[one].furthest(parts[other], shifts[parts[other].card] - shifts[parts[one].card])
        for one, other in pairs
    ]
    distances = np.array([distance for distance, _ in found])
    directions = np.array([direction for _, direction in found]).reshape(-1, 2)
    rows, count = np.arange(len(pairs)), len(boxes)
    first, second = (
        sparse.csr_array(
            (np.ones(len(pairs)), (rows, [parts[pair[side]].card for pair in pairs])),
            shape=(len(pairs), count),
        )
        for side in (0, 1)
    )
    nearer = [sparse.diags_array(share) @ (first - second) for share in directions.T]
    each = sparse.eye_array(count)
    shortened = -np.ones((count, 1))  # the last of what is sought is the length
    now = boxes + np.tile(shifts, 2)
    least = np.minimum(np.maximum(-reach, -now[:, :2]), 0.0)
    most = np.full((count, 2), reach)
    most[:, 1] = np.clip(height - now[:, 3], 0.0, reach)
    solved = linprog(
        np.append(np.zeros(2 * count), 1.0),
        A_ub=sparse.block_array([[*nearer, None], [each, None, shortened]]),
        b_ub=np.append(np.maximum(distances - _CLEAR, 0.0), -now[:, 2]),
        bounds=[*zip(least.T.ravel(), most.T.ravel(), strict=True), (0.0, None)],
        method="highs",
    )
    return solved.x[:-1].reshape(2, count).T if solved.status == 0 else None


def _near(parts: Sequence[_Part], shifts: FloatArray, reach: float) -> list[tuple[int, int]]:
    """Return the pairs of parts of different cards that can meet if each moves by the reach."""
    placed = [part.corners + shifts[part.card] for part in parts]
    low = np.array([corners.min(axis=0) for corners in placed]) - reach
    high = np.array([corners.max(axis=0) for corners in placed]) + reach
    boxes = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
    first, second = shapely.STRtree(boxes).query(boxes, predicate="intersects")
    return [
        (one, other)
        for one, other in zip(first.tolist(), second.tolist(), strict=True)
        if parts[one].card < parts[other].card
    ]
