"""Unfolds a half piece about its fold."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import Polygon

from plotout.errors import Place, UserError
from plotout.geometry.polyline import length, mirrored
from plotout.geometry.region import outer, polygons
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import Area, Edge, Graded, Notch, Piece

OTHER = " (other side)"


def unfolded(piece: Piece) -> Piece:
    """Return the whole of a piece that is given as half on its fold.

    The two edges that end on the fold continue across it as one; every other edge, notch, drill
    hole, line and area has a mirrored twin. Raises UserError where the fold is not straight.
    """
    if piece.fold is None:
        return piece
    index = next(i for i, edge in enumerate(piece.edges) if edge.name == piece.fold)
    fold = piece.edges[index].points
    start, end = fold[0], fold[-1]
    along = (end - start) / np.hypot(*(end - start))
    off = np.abs((fold - start) @ np.array([-along[1], along[0]])).max()
    if off > 0.5:
        raise UserError(
            f"its fold '{piece.fold}' is not straight: it bows {off:.1f} mm",
            fix="Name a straight edge as the fold.",
            place=Place(piece=piece.name, at=(float(start[0]), float(start[1]))),
        )

    def mirror(points: FloatArray) -> FloatArray:
        return mirrored(points, start, end)

    half = piece.edges[index + 1 :] + piece.edges[:index]  # from the fold's end to its start
    edges, notches = _whole_edges(piece, half, mirror)
    drills = tuple(
        one
        for drill in piece.drills
        for one in (drill, replace(drill, at=_pair(mirror(np.array([drill.at]))[0])))
        if one is drill or np.hypot(*np.subtract(one.at, drill.at)) > 0.01
    )
    lines = tuple(
        one for line in piece.lines for one in (line, replace(line, points=mirror(line.points)))
    )
    areas = tuple(one for area in piece.areas for one in _whole_area(area, mirror))
    return replace(
        piece,
        edges=edges,
        fold=None,
        whole=False,
        notches=notches,
        drills=drills,
        lines=lines,
        areas=areas,
        graded=_whole_graded(piece, mirror),
        cuts=tuple(replace(cut, on_fold=False) for cut in piece.cuts),
    )


def _pair(point: FloatArray) -> tuple[float, float]:
    return float(point[0]), float(point[1])


def _whole_graded(piece: Piece, mirror: Mirror) -> tuple[Graded, ...]:
    """Return the grade points with their twins, which grow the other way; not twice on the fold."""
    turn = mirror(np.eye(2)) - mirror(np.zeros((2, 2)))  # of directions, as rows
    twins = [
        replace(point, at=mirror(point.at[None])[0], growth=point.growth @ turn)
        for point in piece.graded
    ]
    pairs = zip(piece.graded, twins, strict=True)
    return (
        *piece.graded,
        *(twin for point, twin in pairs if np.hypot(*(twin.at - point.at)) > 0.01),
    )


def _whole_area(area: Area, mirror: Mirror) -> list[Area]:
    """Return an area and its twin, or one area where they meet on the fold."""
    both = [Polygon(area.points), Polygon(mirror(area.points))]
    joined = shapely.union_all([half.buffer(1e-6, join_style="mitre") for half in both])
    return [Area(area.name, outer(polygon)) for polygon in polygons(joined)]


Mirror = Callable[[FloatArray], FloatArray]


def _whole_edges(
    piece: Piece, half: tuple[Edge, ...], mirror: Mirror
) -> tuple[tuple[Edge, ...], tuple[Notch, ...]]:
    """Return the whole's edges: `half`, from the fold's end round to its start, and its twin.

    An edge on the fold whose allowance changes is not joined with its twin.
    """
    first, last = half[0], half[-1]
    twins = [_twin(edge, mirror) for edge in half]
    ring = [*half, *twins[::-1]]
    if _even(last):
        ring[len(half) - 1 : len(half) + 1] = [_run_on(last, twins[-1], last.name)]
    if _even(first) and len(ring) > 1:
        ring = [_run_on(twins[0], ring[0], first.name), *ring[1:-1]]
    notches: list[Notch] = []
    for notch in piece.notches:
        if notch.edge == piece.fold:
            continue
        edge = piece.edge(notch.edge)
        size = length(edge.points)
        if edge is last and _even(edge):
            places = [(notch.edge, notch.along), (notch.edge, 2.0 * size - notch.along)]
        elif edge is first and _even(edge):
            places = [(notch.edge, size + notch.along), (notch.edge, size - notch.along)]
        else:
            places = [(notch.edge, notch.along), (notch.edge + OTHER, size - notch.along)]
        if places[0][0] == places[1][0] and abs(places[0][1] - places[1][1]) < 0.1:
            places = places[:1]  # on the fold itself
        notches += [
            replace(notch, edge=name, along=along, measured_from="") for name, along in places
        ]
    return tuple(ring), tuple(notches)


def _even(edge: Edge) -> bool:
    return abs(edge.allowance[0] - edge.allowance[1]) < 1e-9


def _twin(edge: Edge, mirror: Mirror) -> Edge:
    points = np.ascontiguousarray(mirror(edge.points)[::-1])
    return replace(
        edge,
        name=edge.name + OTHER,
        points=points,
        allowance=edge.allowance[::-1],
        against=("", 0.0),
        headings_to=edge.headings_to[::-1],
        twin_of=edge.name,
    )


def _run_on(first: Edge, second: Edge, name: str) -> Edge:
    points = np.vstack([first.points, second.points[1:]])
    return replace(
        first, name=name, points=points, allowance=(first.allowance[0], second.allowance[1])
    )
