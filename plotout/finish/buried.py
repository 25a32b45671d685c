"""Edges that don't show on the cutting line, because allowances on both sides of a gap meet."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from shapely.geometry import LineString

from plotout.geometry.offset import parallel
from plotout.geometry.polyline import distances
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import Edge, Piece

_ON = 0.05  # mm: a parallel nearer to the cutting line is part of it
_DEEP = 2.0  # allowances: cloth beyond a stitching line that is wider is more than a rounded corner


def buried_edges(piece: Piece, cutting: FloatArray) -> Iterator[str]:
    """Yield a fault, in words, for the edges that lie wholly inside the cutting line, (n, 2).

    A tight inner curve or a short jog may be cut off by the parallels beside it; but where the
    cutting line is far from the edge, a slit or a gap is filled, and the card doesn't show it.
    """
    line = LineString(cutting)
    shapely.prepare(line)
    lost = [edge.name for edge in piece.edges if _buried(edge, line)]
    if lost:
        names = " and ".join(f"'{name}'" for name in lost)
        yield (
            f"the allowances beside {names} meet and fill the gap: the card does not show it; "
            "make them narrower there, or the gap wider"
        )


def _buried(edge: Edge, cutting: LineString) -> bool:
    wide = max(edge.allowance)
    if wide <= 0.0:
        return False
    away = shapely.distance(cutting, shapely.points(_samples(edge.points)))
    shown = shapely.points(_samples(parallel(edge.points, *edge.allowance)))
    return bool(away.max() > _DEEP * wide and shapely.distance(cutting, shown).min() > _ON)


def _samples(points: FloatArray) -> FloatArray:
    along = distances(points)
    at = np.linspace(0.0, 1.0, 33)[1:-1] * along[-1]
    return np.column_stack([np.interp(at, along, axis) for axis in points.T])
