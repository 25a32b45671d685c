"""Drill holes where a hole is seldom meant: a note, or a fault where one breaks the card."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from shapely import LinearRing, LineString, Point, Polygon

from plotout.geometry.polyline import rotated
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import Drill, Piece

_OVER = 0.1  # mm by which a hole may go over the stitching line
_ON = 0.5  # mm: a centre this near to the stitching line is on it


def broken_edges(piece: Piece, cutting: FloatArray) -> Iterator[str]:
    """Yield a fault, in words, for each hole that is cut through the card's edge.

    cutting: the cutting line, closed, (n, 2), mm. On the fold, half a hole in each half is meant.
    """
    ring, whole = LinearRing(cutting), Polygon(cutting)
    for drill in piece.drills:
        at = Point(drill.at)
        over = drill.size / 2.0 - ring.distance(at)
        if not drill.cross and over > 0.0 and whole.covers(at) and not _on_fold(drill, piece):
            yield f"{_what(drill, piece)} breaks the card's edge: it goes {over:.1f} mm over it"
        yield from _in_cut_outs(drill, piece)


def _in_cut_outs(drill: Drill, piece: Piece) -> Iterator[str]:
    """Yield a fault for each cut-out of the piece that holds a hole, or that it runs into."""
    at = Point(drill.at)
    for line in piece.lines:
        if line.kind != "cut-out" or len(line.points) < 3:
            continue
        name = f"the cut-out '{line.name}'"
        if Polygon(line.points).buffer(0.0).covers(at):
            yield f"{_what(drill, piece)} lies in {name}: nothing is left there to drill"
        elif not drill.cross and LinearRing(line.points).distance(at) < drill.size / 2.0:
            yield f"{_what(drill, piece)} runs into {name}"


def drill_doubts(piece: Piece) -> Iterator[str]:
    """Yield the drill holes on the stitching line, and in the allowance, clear of the card's edge.

    A fold-over facing lies within the piece once it is folded.
    """
    inside = Polygon(piece.outline).buffer(0.0)
    for drill in piece.drills:
        at = Point(drill.at)
        nearest = min(piece.edges, key=lambda edge: LineString(edge.points).distance(at))
        off = LineString(nearest.points).distance(at)
        if _on_fold(drill, piece) or nearest.facing:
            continue
        over = 0.0 if drill.cross else drill.size / 2.0 - off
        if off <= _ON and max(nearest.allowance) > 0.0:
            yield f"{_what(drill, piece)} lies on the stitching line: is its place right?"
        elif over > _OVER and max(nearest.allowance) > 0.0:
            yield (
                f"{_what(drill, piece)} goes {over:.1f} mm over the stitching line: is its place "
                "right?"
            )
        elif _ON < off <= max(nearest.allowance) - drill.size / 2.0 and not inside.covers(at):
            yield f"{_what(drill, piece)} lies in the seam allowance: is its place right?"


def _on_fold(drill: Drill, piece: Piece) -> bool:
    fold = piece.fold
    return bool(fold and LineString(piece.edge(fold).points).distance(Point(drill.at)) <= _ON)


def _what(drill: Drill, piece: Piece) -> str:
    x, y = rotated(np.array(drill.at), -piece.turn)
    return f"the drill hole at x {x:.1f}, y {y:.1f}"
