"""Drill holes where a hole is seldom meant: noted, never corrected."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from shapely import LineString, Point, Polygon

from plotout.finish.darts import darts
from plotout.geometry.polyline import rotated
from plotout.pattern.model import Drill, Piece

_OVER = 0.1  # mm by which a hole may go over the stitching line
_ON = 0.5  # mm: a centre this near to the stitching line is on it


def drill_doubts(piece: Piece) -> Iterator[str]:
    """Yield the drill holes on the stitching line, and in the allowance, clear of the card's edge.

    A fold-over facing lies within the piece once it is folded, and a dart's hole between its legs
    or at its point.
    """
    inside = Polygon(piece.outline).buffer(0.0)
    of_darts = list(darts(piece)) if piece.drills else []
    for drill in piece.drills:
        if any(dart.holds(drill) for dart in of_darts):
            continue
        at = Point(drill.at)
        nearest = min(piece.edges, key=lambda edge: LineString(edge.points).distance(at))
        off = LineString(nearest.points).distance(at)
        if on_fold(drill, piece) or nearest.facing:
            continue
        over = 0.0 if drill.cross else drill.size / 2.0 - off
        if off <= _ON and max(nearest.allowance) > 0.0:
            yield f"{named(drill, piece)} lies on the stitching line: is its place right?"
        elif over > _OVER and max(nearest.allowance) > 0.0:
            yield (
                f"{named(drill, piece)} goes {over:.1f} mm over the stitching line: is its place "
                "right?"
            )
        elif _ON < off <= max(nearest.allowance) - drill.size / 2.0 and not inside.covers(at):
            yield f"{named(drill, piece)} lies in the seam allowance: is its place right?"


def on_fold(drill: Drill, piece: Piece) -> bool:
    """Return whether a hole lies on the fold of a half piece."""
    fold = piece.fold
    return bool(fold and LineString(piece.edge(fold).points).distance(Point(drill.at)) <= _ON)


def named(drill: Drill, piece: Piece) -> str:
    """Return a drill hole in words, with its place in the piece's drawing."""
    return f"the drill hole at {placed(drill.at, piece)}"


def placed(at: Sequence[float], piece: Piece) -> str:
    """Return in words where a place of a piece, mm, lies in its drawing."""
    x, y = rotated(np.array(at), -piece.turn)
    return f"x {x:.1f}, y {y:.1f}"
