"""A picture of a piece on its stitching line, with its edges named."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from plotout.finish.edge_words import cut_words
from plotout.geometry.lettering import text_width
from plotout.geometry.polyline import bounds, direction_at, length, point_at
from plotout.geometry.region import line_or_point
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import Edge, Piece
from plotout.proof.scene import Scene, SceneLine, framed, scene, words
from plotout.tongue import PLAIN, Tongue

_SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9)  # of an edge's length: places of its name
_HEIGHTS = (0.8, 0.6)  # of an edge's name, in units of the scene
_FLAT = 1.6  # how many times as wide as high pieces side by side are, at least
_APART = 0.35  # units between a name and any line


def piece_picture(piece: Piece, say: Tongue = PLAIN) -> Scene:
    """Draw a piece as read, or as derived, on its stitching line, with its edges named.

    An edge whose name has no room beside it is numbered, and named above the picture.
    """
    lines = [
        SceneLine(edge.points, "fold" if edge.name == piece.fold else "stitching line")
        for edge in piece.edges
    ]
    lines += [SceneLine(line.points, "internal line") for line in piece.lines]
    lines += [SceneLine(area.points, "internal line") for area in piece.areas]
    if piece.grain is not None:
        lines.append(SceneLine(piece.grain, "grain line"))
    lines += [SceneLine(np.array([drill.at]), "notch", drill.size) for drill in piece.drills]
    lines += [
        SceneLine(_notch(piece.edge(notch.edge).points, notch.along, notch.style.depth), "notch")
        for notch in piece.notches
    ]
    names, numbered = _edge_names(piece, lines, scene(piece.name, lines).unit)
    if piece.parent is None:
        title = say("{piece}, as read", piece=piece.name)
    else:
        title = say("{piece}, from {parent}", piece=piece.name, parent=piece.parent)
    details = (
        say.listed(*(cut_words(cut, say) for cut in piece.cuts), by="; "),
        say.listed(*numbered),
    )
    return framed(scene(title, lines + names, tuple(filter(None, details))), say)


def _edge_names(
    piece: Piece, lines: Sequence[SceneLine], unit: float
) -> tuple[list[SceneLine], list[str]]:
    """Return names beside the middles of edges, and in words those that are only numbered."""
    shape = Polygon(piece.outline).buffer(0.0)
    taken: list[BaseGeometry] = [line_or_point(line.points) for line in lines]
    found: list[SceneLine] = []
    numbered = []
    for number, edge in enumerate(piece.edges, start=1):
        place = next(_free(edge.name, edge, shape, taken, unit), None)
        text = edge.name
        if place is None:
            text = str(number)
            numbered.append(f"{number} {edge.name}")
            place = next(_free(text, edge, shape, taken, unit), None)
        if place is not None:
            x, y, height = place
            taken.append(_block(text, x, y, height))
            found += words(text, x, y, height)
    return found, numbered


def _free(
    text: str, edge: Edge, shape: BaseGeometry, taken: Sequence[BaseGeometry], unit: float
) -> Iterator[tuple[float, float, float]]:
    """Give places, level, beside an edge, inside first: x and y of the baseline, and the height."""
    whole = length(edge.points)
    for inside in (True, False):
        for size in _HEIGHTS:
            height = size * unit
            wide = text_width(text, height)
            for share in _SHARES:
                at, inward = _middle(edge.points, share * whole)
                away = inward if inside else -inward
                reach = 0.5 * (wide * abs(away[0]) + height * abs(away[1]))
                for more in (0.6, 1.5):
                    x, y = (at + away * (reach + more * unit)).tolist()
                    place = (x - wide / 2.0, y - height / 2.0, height)
                    block = _block(text, *place)
                    if shape.contains(block) is not inside or shape.boundary.crosses(block):
                        continue
                    if not len(taken) or shapely.distance(taken, block).min() >= _APART * unit:
                        yield place


def _block(text: str, x: float, y: float, height: float) -> BaseGeometry:
    return box(x, y - 0.3 * height, x + text_width(text, height), y + height)


def _middle(points: FloatArray, along: float) -> tuple[FloatArray, FloatArray]:
    """Return a point of an edge and the direction into the piece there."""
    x, y = direction_at(points, along)
    return point_at(points, along), np.array([-y, x])


def _notch(points: FloatArray, along: float, depth: float) -> FloatArray:
    at, inward = _middle(points, along)
    return np.vstack([at - inward * depth / 2.0, at + inward * depth / 2.0])


def side_by_side(pieces: Sequence[Piece]) -> Scene:
    """Draw pieces small and at one scale, in rows, each with its name below if there are several.

    For a glance: outlines, folds and grain, without words of their edges. The highest come first;
    the rows are about as long as the whole is `_FLAT` times wider than high.
    """
    ordered = sorted(pieces, key=lambda piece: np.ptp(piece.outline[:, 1]), reverse=True)
    across = max(float(np.ptp(piece.outline[:, 0])) for piece in ordered)
    drawn = _rows(ordered, across)
    while len(drawn.rows) > 1 and drawn.wide < _FLAT * drawn.deep:
        across *= 1.2
        drawn = _rows(ordered, across)
    picture = scene("", drawn.lines)
    rim = picture.unit
    low, high = picture.low, picture.high
    return replace(picture, low=(low[0] - rim, low[1] - rim), high=(high[0] + rim, high[1] + rim))


@dataclass(frozen=True, slots=True)
class _Rows:
    lines: list[SceneLine]
    rows: list[float]
    wide: float
    deep: float


def _rows(pieces: Sequence[Piece], across: float) -> _Rows:
    """Lay pieces out in rows not longer than `across` mm, where a piece is not longer itself."""
    high = across / 70.0 if len(pieces) > 1 else 0.0
    lines: list[SceneLine] = []
    x = y = widest = 0.0
    rows: list[float] = []
    for piece in pieces:
        left, bottom, right, top = bounds(piece.outline)
        room = max(right - left, text_width(piece.name, high) if high else 0.0)
        if not rows or x + room > across:
            x, y = 0.0, y - (rows[-1] + 3.0 * high if rows else 0.0)
            rows.append(top - bottom)
        shift = np.array([x - left, y - top])
        drawn = [
            SceneLine(edge.points, "fold" if edge.name == piece.fold else "cut")
            for edge in piece.edges
        ]
        if piece.grain is not None:
            drawn.append(SceneLine(piece.grain, "grain line"))
        lines += [replace(line, points=line.points + shift) for line in drawn]
        if high:
            lines += words(piece.name, x, y - (top - bottom) - 1.6 * high, high)
        widest = max(widest, x + room)
        x += room + 2.0 * high
    return _Rows(lines, rows, widest, rows[-1] + 3.0 * high - y)
