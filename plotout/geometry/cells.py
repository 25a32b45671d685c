"""Shapes as fields of small square cells."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from plotout.geometry.strokes import FloatArray

Cells = NDArray[np.bool_]
"""A field of cells: the first axis along x, the second along y."""


def inside(polygon: BaseGeometry, x: FloatArray, y: FloatArray) -> Cells:
    """Return which points of a grid lie inside the polygon; its boundary is not inside.

    x, y: of its columns and rows, (n,) and (m,), evenly spaced by one and the same step, mm. Only
    points beside a change, or at the grid's edge, are checked one by one.
    """
    step = float(x[1] - x[0]) if len(x) > 1 else 1.0
    origin = (float(x[0]) - step / 2.0, float(y[0]) - step / 2.0)
    field = filled(polygon, origin, step, (len(x), len(y)))
    unsure = np.ones_like(field)
    three = field[:-2].astype(np.int8) + field[1:-1] + field[2:]
    nine = three[:, :-2] + three[:, 1:-1] + three[:, 2:]
    unsure[1:-1, 1:-1] = (nine > 0) & (nine < 9)
    column, row = np.nonzero(unsure)
    field[column, row] = shapely.contains_xy(polygon, x[column], y[row])
    return field


def near(places: FloatArray, reach: float, x: FloatArray, y: FloatArray) -> Cells:
    """Return which points of a grid lie in the square about a place that ends `reach` mm from it.

    places: (n, 2). x, y: as for `inside`.
    """
    field = np.zeros((len(x) + 1, len(y) + 1), dtype=np.int64)
    (left, low), (right, high) = (
        [np.searchsorted(line, place) for line, place in zip((x, y), moved.T, strict=True)]
        for moved in (places - reach, places + reach)
    )
    for column, row, more in ((left, low, 1), (right, low, -1), (left, high, -1), (right, high, 1)):
        np.add.at(field, (column, row), more)
    return np.asarray(field.cumsum(0).cumsum(1)[:-1, :-1] > 0)


def filled(
    polygon: BaseGeometry, origin: tuple[float, float], cell: float, cells: tuple[int, ...]
) -> Cells:
    """Return which cells' middles lie in the polygon, by counting crossings along each column."""
    field = np.zeros((cells[0], cells[1] + 1), dtype=np.uint8)
    rings = shapely.get_rings(shapely.get_parts(polygon))
    points, ring = shapely.get_coordinates(rings, return_index=True)
    places = (points - origin) / cell - 0.5
    edges = ring[1:] == ring[:-1]  # all rings at once: a card with words on it has many
    _toggle(field, places[:-1][edges], places[1:][edges])
    return (np.cumsum(field, axis=1)[:, :-1] & 1).astype(bool)


def _toggle(field: NDArray[np.uint8], begin: FloatArray, end: FloatArray) -> None:
    """Add a crossing to each column's first cell above each edge, (n, 2), from begin to end.

    In cells, whose middles have whole numbers.
    """
    (x0, y0), (x1, y1) = begin.T, end.T
    first = np.ceil(np.minimum(x0, x1)).clip(0).astype(int)
    last = np.ceil(np.maximum(x0, x1)).clip(max=field.shape[0]).astype(int)  # itself excluded
    many = (last - first).clip(0)
    edge = np.repeat(np.arange(len(many)), many)
    column = np.arange(len(edge)) - np.repeat(np.cumsum(many) - many, many) + first[edge]
    share = (column - x0[edge]) / (x1[edge] - x0[edge])
    height = np.ceil(y0[edge] + share * (y1[edge] - y0[edge]))
    np.add.at(field, (column, height.clip(0, field.shape[1] - 1).astype(int)), 1)
