"""Matches stripes and plaids: the pieces' lines come to lie at the same place in the repeat.

A piece's stripe and plaid lines mark that place: a line across the grain is matched lengthwise,
one along it crosswise. The grain is upright.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import affinity

from plotout.geometry.polyline import signed_area
from plotout.geometry.strokes import FloatArray
from plotout.model import Placed
from plotout.pattern.model import Piece

_SLIP = 1e-3  # mm: what touches by less doesn't overlap
Repeat = tuple[float, float]
"""Lengthwise and crosswise, mm; 0 for none."""


@dataclass(frozen=True, slots=True)
class Matched:
    """Where a piece's lines lie: along, their y; across, their x, mm. None where it has none."""

    along: float | None = None
    across: float | None = None

    def scaled(self, by: FloatArray) -> Matched:
        """Return it with x and y multiplied by `by`, (2,)."""
        return Matched(
            None if self.along is None else self.along * float(by[1]),
            None if self.across is None else self.across * float(by[0]),
        )

    def needs(self, repeat: Repeat) -> Repeat:
        """Return the repeat in the directions in which this piece has a line to match."""
        return (
            repeat[0] if self.along is not None else 0.0,
            repeat[1] if self.across is not None else 0.0,
        )

    def lacks(self, repeat: Repeat) -> bool:
        """Return whether the cloth repeats in a direction for which the piece has no line."""
        return self.needs(repeat) != repeat


def lines_of(piece: Piece) -> Matched:
    """Return where the piece's lines lie; the first in either direction counts."""
    along: float | None = None
    across: float | None = None
    for line in piece.lines:
        if line.kind not in ("stripe", "plaid"):
            continue
        wide, tall = np.abs(line.points[-1] - line.points[0])
        middle = line.points[[0, -1]].mean(axis=0)
        if wide >= tall and along is None:
            along = float(middle[1])
        elif wide < tall and across is None:
            across = float(middle[0])
    return Matched(along, across)


def off_at_fold(
    piece: Piece, fold: FloatArray, repeat: Repeat, by: FloatArray, *, half: bool
) -> float:
    """Return by how much the stripes of a piece on the fold miss, mm.

    piece: its half, with its grain upright; fold: that edge, (n, 2). by: as in `Matched.scaled`.
    half: it lies on the fold of the cloth, so that its line must lie a whole repeat from there, as
    those of the others do. Otherwise it lies unfolded, and its line and that line's mirror image
    must be a whole repeat apart.
    """
    lines = lines_of(piece)
    wide, tall = np.abs(fold[-1] - fold[0])
    axis = 0 if wide <= tall else 1
    line, step = (lines.across, repeat[1]) if axis == 0 else (lines.along, repeat[0])
    if line is None or not step:
        return 0.0
    away = abs(line - float(fold[[0, -1], axis].mean())) * float(by[axis]) * (1.0 if half else 2.0)
    return abs(away - round(away / step) * step)


def swept(outline: FloatArray, repeat: Repeat) -> FloatArray:
    """Return the area that a piece needs so that it can be moved to its place, (n, 2)."""
    along, across = repeat
    if not (along or across):
        return outline
    steps = [(dx, dy) for dx in (0.0, across) for dy in (0.0, along)]
    corners = [outline + step for step in steps]
    rings = [
        shapely.MultiPoint(np.vstack([c[index : index + 2] for c in corners])).convex_hull
        for index in range(len(outline) - 1)
    ]
    room = shapely.union_all([*rings, shapely.Polygon(outline)])
    # an edge along a step sweeps a mere line, which may lie beside the rest by a rounding error
    room = max(shapely.get_parts(room), key=shapely.area)
    ring = shapely.get_coordinates(shapely.get_exterior_ring(room))
    return np.asarray(ring if signed_area(ring) > 0 else ring[::-1])


def settled(room: Placed, own: Placed, matched: Matched, repeat: Repeat) -> Placed:
    """Return `own` moved within the area laid for it to where its lines match.

    The cloth's length runs along x. Turned by 180 degrees, a piece is matched by the same lines.
    """
    low = room.outline.min(axis=0) - own.outline.min(axis=0)
    line = own.matrix @ np.array([matched.across or 0.0, matched.along or 0.0, 1.0])
    shift = list(own.shift)
    for axis, step in enumerate(matched.needs(repeat)):
        if step:
            shift[axis] += ahead(float(line[axis] + low[axis]), step) + float(low[axis])
    return replace(own, shift=(shift[0], shift[1]))


def closed_up(placed: Sequence[Placed], step: float, gap: float) -> tuple[Placed, ...]:
    """Return matched pieces moved back along the cloth by whole repeats, as far as there is room.

    The room that each was laid with holds a repeat more than it takes. gap: mm between pieces. The
    cloth is cut where the first begins, in the middle of a repeat if need be.
    """
    found = [*placed]
    shapes = np.array([shapely.Polygon(one.outline) for one in found], dtype=object)
    for index in np.argsort([one.outline[:, 0].min() for one in found]).tolist():
        others = shapely.buffer(np.delete(shapes, index), gap - _SLIP if gap else -_SLIP)
        start = float(found[index].outline[:, 0].min())
        for back in np.arange(math.floor((start + _SLIP) / step), 0, -1) * -step:
            there = affinity.translate(shapes[index], float(back))
            if not shapely.intersects(others, there).any():
                x, y = found[index].shift
                found[index] = replace(found[index], shift=(x + float(back), y))
                shapes[index] = there
                break
    first = min(float(one.outline[:, 0].min()) for one in found)
    return tuple(replace(one, shift=(one.shift[0] - first, one.shift[1])) for one in found)


def ahead(at: float, step: float) -> float:
    """Return the distance from `at` to the next whole repeat."""
    return math.ceil((at - 1e-6) / step) * step - at


def names(pieces: Sequence[tuple[str, Matched]], repeat: Repeat) -> tuple[str, ...]:
    """Return the pieces that the repeat can't be matched on."""
    return tuple(dict.fromkeys(name for name, lines in pieces if lines.lacks(repeat)))
