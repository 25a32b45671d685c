"""Shapes as fields of small square cells."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from plotout.geometry.strokes import FloatArray

Cells = NDArray[np.bool_]
"""A field of cells: the first axis along x, the second along y."""
Ints = NDArray[np.int64]
_ON = 1e-6  # cells from an edge within which a point may be on it
_DRIFT = 1e-9  # cells by which a grid's points may be off, for all rounding


def inside(polygon: BaseGeometry, x: FloatArray, y: FloatArray) -> Cells:
    """Return which points of a grid lie inside the polygon; its boundary is not inside.

    x, y: of its columns and rows, (n,) and (m,), evenly spaced by one and the same step, mm. Only
    points that may be on the boundary are checked one by one.
    """
    step = float(x[1] - x[0]) if len(x) > 1 else 1.0
    begin, end = _edges(polygon, (float(x[0]) - step / 2.0, float(y[0]) - step / 2.0), step)
    column, height, edge = _crossings(begin, end, len(x))
    field = _odd(column, height, (len(x), len(y)))
    places = _on_points(begin, end, column, height, edge)
    there = ((places >= 0) & (places < field.shape)).all(axis=1)
    column, row = places[there].T
    field[column, row] = shapely.contains_xy(polygon, x[column], y[row])
    return field


def near(places: FloatArray, reach: float, x: FloatArray, y: FloatArray) -> Cells:
    """Return which points of a grid lie in the square about a place that ends `reach` mm from it.

    places: (n, 2). x, y: as for `inside`.
    """
    field = np.zeros((len(x) + 1, len(y) + 1), dtype=np.int32)
    (left, low), (right, high) = (
        [np.searchsorted(line, place) for line, place in zip((x, y), moved.T, strict=True)]
        for moved in (places - reach, places + reach)
    )
    for column, row, more in ((left, low, 1), (right, low, -1), (left, high, -1), (right, high, 1)):
        np.add.at(field, (column, row), more)
    return np.asarray(_summed(field)[:-1, :-1] > 0)


def summed(field: Cells) -> NDArray[np.int32]:
    """Return a table of the cells, larger by one each way, in which any rectangle is summed up.

    `table[c, d] - table[a, d] - table[c, b] + table[a, b]` is the number of cells that are true
    from column a to before c, and from row b to before d.
    """
    table = np.zeros((field.shape[0] + 1, field.shape[1] + 1), dtype=np.int32)
    table[1:, 1:] = field
    return _summed(table)


def _summed(table: NDArray[np.int32]) -> NDArray[np.int32]:
    """Return the table with every entry's sum of all those below and to the left, in place."""
    np.cumsum(table, axis=0, out=table)
    return np.cumsum(table, axis=1, out=table)


def filled(
    polygon: BaseGeometry, origin: tuple[float, float], cell: float, cells: tuple[int, ...]
) -> Cells:
    """Return which cells' middles lie in the polygon, by counting crossings along each column."""
    begin, end = _edges(polygon, origin, cell)
    column, height, _ = _crossings(begin, end, cells[0])
    return _odd(column, height, cells)


def _edges(
    polygon: BaseGeometry, origin: tuple[float, float], cell: float
) -> tuple[FloatArray, FloatArray]:
    """Return where a polygon's edges begin and end, (n, 2), in cells with middles at whole numbers.

    All rings at once: a card with words on it has many.
    """
    rings = shapely.get_rings(shapely.get_parts(polygon))
    points, ring = shapely.get_coordinates(rings, return_index=True)
    places = (points - origin) / cell - 0.5
    edges = ring[1:] == ring[:-1]
    return places[:-1][edges], places[1:][edges]


def _crossings(begin: FloatArray, end: FloatArray, columns: int) -> tuple[Ints, FloatArray, Ints]:
    """Return the columns that edges cross, at which heights, and which edges these are, (m,)."""
    (x0, y0), (x1, y1) = begin.T, end.T
    first = np.ceil(np.minimum(x0, x1)).clip(0).astype(int)
    last = np.ceil(np.maximum(x0, x1)).clip(max=columns).astype(int)  # itself excluded
    many = (last - first).clip(0)
    edge = np.repeat(np.arange(len(many)), many)
    column = np.arange(len(edge)) - np.repeat(np.cumsum(many) - many, many) + first[edge]
    share = (column - x0[edge]) / (x1[edge] - x0[edge])
    return column, y0[edge] + share * (y1[edge] - y0[edge]), edge


def _odd(column: Ints, height: FloatArray, cells: tuple[int, ...]) -> Cells:
    """Return which cells lie above an odd number of crossings of their column."""
    rows = cells[1] + 1  # the last one, above all cells, is left out in the end
    at = np.sort(column * rows + np.ceil(height).clip(0, cells[1]).astype(int))
    # every ring crosses a column an even number of times, so that the next one begins outside
    many = np.diff(at, prepend=0, append=cells[0] * rows)
    stretches = np.arange(len(many)) & 1 == 1
    return np.asarray(np.repeat(stretches, many).reshape(-1, rows)[:, :-1])


def _on_points(
    begin: FloatArray, end: FloatArray, column: Ints, height: FloatArray, edge: Ints
) -> Ints:
    """Return the columns and rows of the points that edges may go through, (k, 2).

    column, height, edge: as `_crossings` gives them.
    """
    row = np.rint(height)
    wide, tall = np.abs(end - begin).T
    unsure = _ON + _DRIFT * (tall / np.maximum(wide, _ON))[edge]  # a steep edge's height is vague
    near = np.abs(height - row) <= unsure
    crossed = np.column_stack([column[near], row[near].astype(int)])
    corner = np.rint(begin)
    at_corner = (np.abs(begin - corner) <= _ON).all(axis=1)
    upright = (wide <= _ON) & (np.abs(begin[:, 0] - corner[:, 0]) <= 2.0 * _ON)
    low = np.floor(np.minimum(begin[upright, 1], end[upright, 1])).astype(int)
    many = np.ceil(np.maximum(begin[upright, 1], end[upright, 1])).astype(int) - low + 1
    along = np.arange(many.sum()) - np.repeat(np.cumsum(many) - many, many) + np.repeat(low, many)
    beside = np.column_stack([np.repeat(corner[upright, 0].astype(int), many), along])
    return np.concatenate([crossed, corner[at_corner].astype(int), beside])
