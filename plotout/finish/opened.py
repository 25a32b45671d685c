"""The card of a half piece as it is cut out of folded cloth: with its other half."""

from __future__ import annotations

from typing import TypeAlias, TypeVar

import numpy as np
import shapely
from shapely.geometry import LinearRing, LineString, MultiLineString, Polygon
from shapely.geometry.base import BaseGeometry

from plotout.geometry.polyline import mirrored, unit
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import Piece

_ON = 1e-6  # mm: a point nearer to the fold lies on it

Line: TypeAlias = LinearRing | LineString | MultiLineString
Shape = TypeVar("Shape", bound=BaseGeometry)


def shown_edge(piece: Piece, cutting: FloatArray) -> Line:
    """Return what of a card's cutting line, closed, (n, 2), mm, is cut in cloth: all but a fold."""
    if piece.fold is None:
        return LinearRing(cutting)
    start, end = piece.edge(piece.fold).points[[0, -1]]
    along = unit(end - start)
    on = np.abs((cutting - start) @ np.array([-along[1], along[0]])) < _ON
    steps = np.stack([cutting[:-1], cutting[1:]], axis=1)[~(on[:-1] & on[1:])]
    merged: Line = shapely.line_merge(MultiLineString(list(steps)))
    return merged


def opened_edge(piece: Piece, cutting: FloatArray) -> Line:
    """Return the same of a card with its other half."""
    own = shown_edge(piece, cutting)
    if piece.fold is None:
        return own
    both: Line = shapely.union_all([own, _over(own, piece)])
    return both


def opened_card(piece: Piece, cutting: FloatArray) -> Polygon | shapely.MultiPolygon:
    """Return the area of a card with its other half."""
    card = Polygon(cutting)
    if piece.fold is None:
        return card
    halves = [card, _over(card, piece)]
    return shapely.union_all([half.buffer(_ON, join_style="mitre") for half in halves])


def _over(shape: Shape, piece: Piece) -> Shape:
    """Return a shape on the other side of a piece's fold."""
    start, end = piece.edge(piece.fold or "").points[[0, -1]]
    over: Shape = shapely.transform(shape, lambda points: mirrored(points, start, end))
    return over
