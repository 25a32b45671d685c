"""What is left of a sheet, described so that it can be used next time."""

from __future__ import annotations

import json
from dataclasses import dataclass

import numpy as np
import shapely

from plotout.geometry.cells import Cells, filled
from plotout.geometry.grown import buffered
from plotout.geometry.region import outer
from plotout.geometry.strokes import FloatArray
from plotout.layout.nesting.shape import body
from plotout.model import Sheet

LEAST = 60.0
"""mm: a strip narrower than this is waste."""
SLACK = 3.0
"""mm given up so that the outline has few corners."""
_CELLS = 40_000


@dataclass(frozen=True, slots=True, eq=False)
class LeftOver:
    """The largest uncut part of a sheet.

    outline: closed, (n, 2), in the sheet's mm. rectangle: the largest in it with sides parallel to
    the sheet's: left, bottom, width, height, mm.
    """

    outline: FloatArray
    rectangle: tuple[float, float, float, float]

    @property
    def area(self) -> float:
        """Area in mm2."""
        return float(shapely.Polygon(self.outline).area)


def left_over(sheet: Sheet, gap: float) -> LeftOver | None:
    """Return what is left of a sheet at `gap` mm from its cards, or None for scraps.

    A roll leaves nothing: it is continued where it was cut off.
    """
    ring = sheet.outline
    whole = shapely.box(0, 0, sheet.width, sheet.height) if ring is None else shapely.Polygon(ring)
    bodies = [buffered(body(placed.card, placed.matrix), gap + SLACK) for placed in sheet.placed]
    rest = whole.difference(shapely.union_all(bodies))
    half = LEAST / 2.0
    # a disc of that size can't reach narrow strips and corners, which nobody keeps
    kept = buffered(buffered(rest, -half), half, join_style="mitre") & rest
    if kept.is_empty or kept.area < LEAST**2:
        return None
    outline = outer(kept.simplify(SLACK) & whole)
    return LeftOver(outline, _rectangle(shapely.Polygon(outline)))


def as_stock(left: LeftOver, name: str) -> str:
    """Return the off-cut as an entry for a stock file."""
    corners = np.round(left.outline[:-1] - left.outline.min(axis=0), 1).tolist()
    return f"[[off-cut]]\nname = {json.dumps(name)}\noutline = {json.dumps(corners)}\n"


def _rectangle(polygon: shapely.Polygon) -> tuple[float, float, float, float]:
    """Return the largest rectangle of whole cells inside a polygon."""
    left, bottom, right, top = polygon.bounds
    cell = float(np.sqrt((right - left) * (top - bottom) / _CELLS))
    cells = (int((right - left) / cell), int((top - bottom) / cell))
    # a cell is inside when its centre is at least half a diagonal inside the polygon
    inside = filled(polygon.buffer(-0.7072 * cell), (left, bottom), cell, cells)
    i, j, wide, tall = largest_rectangle(inside)
    return left + i * cell, bottom + j * cell, wide * cell, tall * cell


def largest_rectangle(inside: Cells) -> tuple[int, int, int, int]:
    """Return first column, first row, columns and rows of the largest block of true cells."""
    best = (0, 0, 0, 0)
    heights = np.zeros(inside.shape[1], dtype=int)
    for i, column in enumerate(inside):
        heights = np.where(column, heights + 1, 0)
        rising: list[tuple[int, int]] = []  # first row, columns back
        changes = np.flatnonzero(heights[1:] != heights[:-1]) + 1
        steps = [0, *changes.tolist()] if len(heights) else []
        begun = zip(steps, heights[steps].tolist(), strict=True)
        for j, height in (*begun, (len(heights), 0)):
            first = j
            while rising and rising[-1][1] >= height:
                first, back = rising.pop()
                if back * (j - first) > best[2] * best[3]:
                    best = (i - back + 1, first, back, j - first)
            rising.append((first, height))
    return best
