"""Asks about a grain line along a slanted edge of a piece whose other edges are square.

Common practice, from memory: what is cut square lies square in the cloth, unless it is on the bias.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from plotout.errors import quoted
from plotout.geometry.polyline import length
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import Edge, Piece
from plotout.pattern.true_measure import bow

_STRAIGHT = 0.5  # mm by which an edge of a frame may bow
_SQUARE = 0.5  # degrees by which two of its edges may be off
_EDGES = 3  # of a frame, at least
_SHARE = 0.4  # of the outline that a frame takes, at least (estimated)
_OFF = 2.0, 43.0  # degrees: a side may slope by less, and more is the bias


def off_frame(piece: Piece) -> Iterator[str]:
    """Yield that the grain lies off a frame of edges, parallel or square to one another.

    Not if a piece is on the bias, nor on the fold, off which it is asked about anyway.
    """
    if piece.grain is None or piece.bias or piece.fold is not None:
        return
    frame = _frame([edge for edge in piece.edges if bow(edge.points) <= _STRAIGHT])
    around = sum(length(edge.points) for edge in piece.edges)
    if len(frame) < _EDGES or sum(length(edge.points) for edge in frame) < _SHARE * around:
        return
    off = abs(_turn(_heading(piece.grain), _heading(frame[0].points)))
    uncertain = max(max(edge.headings_to) for edge in frame)
    if _OFF[0] + uncertain < off < _OFF[1]:
        names = quoted(edge.name for edge in frame[:3])
        yield (
            f"its grain line is {off:.1f} degrees off {names}, which are parallel or square "
            "to one another: is it along the wrong edge?"
        )


def _frame(straight: Sequence[Edge]) -> list[Edge]:
    """Return the longest group of edges in two directions, square to one another; [] without one.

    The longest edge of the group comes first.
    """
    groups = []
    for one in straight:
        own = _heading(one.points)
        group = [e for e in straight if abs(_turn(_heading(e.points), own)) <= _SQUARE]
        across = [abs(np.sin(np.radians(_heading(e.points) - own))) > 0.5 for e in group]
        if any(across):
            groups.append(sorted(group, key=lambda edge: -length(edge.points)))
    return max(groups, key=lambda group: sum(length(e.points) for e in group), default=[])


def _heading(line: FloatArray) -> float:
    x, y = line[-1] - line[0]
    return float(np.degrees(np.arctan2(y, x)))


def _turn(one: float, other: float) -> float:
    """Return the degrees between two directions or the squares to them, -45 to 45."""
    return (one - other + 45.0) % 90.0 - 45.0
