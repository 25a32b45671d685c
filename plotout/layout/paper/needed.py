"""Which pages of a grid have to be printed: those that show what no neighbour shows."""

from __future__ import annotations

from collections.abc import Collection
from itertools import product

import numpy as np
import shapely

from plotout.geometry.strokes import FloatArray

Cell = tuple[int, int]
"""A page by its column, from the left, and its row, from below."""

Box = tuple[float, float, float, float]
"""Left, bottom, right, top, mm."""

_AROUND = tuple(step for step in product((-1, 0, 1), repeat=2) if step != (0, 0))


def needed(
    x: FloatArray, y: FloatArray, shared: tuple[float, float], tree: shapely.STRtree
) -> set[Cell]:
    """Return the pages without which some part of a drawing would be missing.

    x, y: where the cells of columns and rows begin, and the last one ends, mm. shared: how far a
    page shows its neighbours' cells, before and beyond its own, mm. tree: of what is drawn.
    """
    before, beyond = shared
    cells = _boxes(x[:-1], y[:-1], x[1:], y[1:])
    cores = _boxes(
        np.append(x[:1], x[1:-1] + beyond),
        np.append(y[:1], y[1:-1] + beyond),
        np.append(x[1:-1] - before, x[-1:]),
        np.append(y[1:-1] - before, y[-1:]),
    )
    rows = len(y) - 1

    def met(boxes: FloatArray) -> set[Cell]:
        found = np.unique(tree.query(shapely.box(*boxes.T), predicate="intersects")[0])
        return {divmod(int(index), rows) for index in found}

    sure = met(cores)
    unsure = met(cells) - sure
    more = set()
    for column, row in unsure:
        near = [(column + right, row + up) for right, up in _AROUND]
        shown = shapely.union_all(
            [shapely.box(*kept(x, y, shared, cell, sure)) for cell in near if cell in sure]
        ).buffer(1e-6)
        box = shapely.box(*cells[column * rows + row])
        drawn = tree.geometries[tree.query(box, predicate="intersects")]
        if not shapely.is_empty(shapely.intersection(drawn, box.difference(shown))).all():
            more.add((column, row))
    return sure | more


def kept(
    x: FloatArray, y: FloatArray, shared: tuple[float, float], cell: Cell, printed: Collection[Cell]
) -> Box:
    """Return what remains of a page: its cell, and what it shows of those that aren't printed."""
    column, row = cell
    before, beyond = shared if cell in printed else (0.0, 0.0)
    left, bottom, right, top = x[column], y[row], x[column + 1], y[row + 1]
    left -= before * (column > 0 and (column - 1, row) not in printed)
    bottom -= before * (row > 0 and (column, row - 1) not in printed)
    right += beyond * (column < len(x) - 2 and (column + 1, row) not in printed)
    top += beyond * (row < len(y) - 2 and (column, row + 1) not in printed)
    return float(left), float(bottom), float(right), float(top)


def _boxes(left: FloatArray, bottom: FloatArray, right: FloatArray, top: FloatArray) -> FloatArray:
    """Return boxes, (n, 4), column by column from below."""
    sides = [
        np.meshgrid(across, up, indexing="ij") for across, up in ((left, bottom), (right, top))
    ]
    return np.column_stack([side.ravel() for pair in sides for side in pair])
