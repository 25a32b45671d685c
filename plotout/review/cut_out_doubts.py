"""Finds cut-outs that are seldom meant: noted, never corrected.

A cut-out is a window in the card, within the piece: what is cut out of its edge belongs to its
outline (common practice, from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely import LineString, Point, Polygon

from plotout.finish.darts import darts
from plotout.finish.drills import placed
from plotout.pattern.model import Edge, InternalLine, Piece

SAME = 0.05  # mm: ends that near to each other are one; by less, two cut-outs don't overlap
_OVER = 0.1  # mm by which a cut-out may go over the stitching line


def cut_out_doubts(piece: Piece) -> Iterator[str]:
    """Yield the cut-outs that are open, lie in one another, or go over the stitching line."""
    yield from (*_open_cut_outs(piece), *_nested_cut_outs(piece), *_over_the_stitching(piece))


def _over_the_stitching(piece: Piece) -> Iterator[str]:
    """Yield the cut-outs that go over the stitching line, or lie beyond it, with where they go
    furthest into an allowance.

    A fold-over facing lies within the piece once it is folded, a fold within the whole piece, and
    a dart is no allowance.
    """
    lines, inside = _cut_outs(piece), Polygon(piece.outline).buffer(0.0)
    legs = [leg for dart in darts(piece) for leg in dart.legs] if lines else []
    free = {piece.fold, *(edge.name for edge in piece.edges if edge.facing or edge in legs)}
    for line in lines:
        window = Polygon(line.points).buffer(0.0)
        past = shapely.get_coordinates(window.difference(inside.buffer(_OVER)))
        by_edge = {tuple(at): _nearest(piece, at) for at in past.tolist()}
        deep = {
            at: inside.distance(Point(at))
            for at, edge in by_edge.items()
            if edge.name not in free and max(edge.allowance) > 0.0
        }
        if not deep:
            continue
        at = max(deep, key=lambda place: deep[place])
        lies = f"goes {deep[at]:.1f} mm over the stitching line"
        if not window.intersects(inside):
            lies = "lies in the allowance"
        yield (
            f"its cut-out '{line.name}' {lies} at '{by_edge[at].name}', {placed(at, piece)}: is "
            "its place right?"
        )


def _nearest(piece: Piece, at: Sequence[float]) -> Edge:
    return min(piece.edges, key=lambda edge: LineString(edge.points).distance(Point(at)))


def _open_cut_outs(piece: Piece) -> Iterator[str]:
    for line in _cut_outs(piece):
        ends = line.points[-1] - line.points[0]
        if np.hypot(*ends) > SAME:
            yield (
                f"its cut-out '{line.name}' is not closed: it is closed with a straight line; "
                "write its first point again as its last"
            )


def _nested_cut_outs(piece: Piece) -> Iterator[str]:
    """Yield the cut-outs of which another leaves nothing to cut out."""
    lines = _cut_outs(piece)
    shapes = np.array([Polygon(line.points).buffer(0.0) for line in lines], dtype=object)
    pairs = shapely.STRtree(shapes).query(shapes, "covered_by").T
    asked: set[int] = set()
    for number, index in pairs[pairs[:, 0] != pairs[:, 1]].tolist():
        twice = shapes[index].area - shapes[number].area < SAME * shapes[index].length
        if number not in asked and (number > index or not twice):
            asked.add(number)
            yield (
                f"its cut-out '{lines[number].name}' lies in the cut-out '{lines[index].name}': "
                "leave out one"
            )


def _cut_outs(piece: Piece) -> list[InternalLine]:
    return [line for line in piece.lines if line.kind == "cut-out" and len(line.points) > 2]
