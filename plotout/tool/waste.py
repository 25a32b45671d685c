"""Finds a place in the waste where a blade can be turned before it cuts a card."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TypeAlias

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from plotout.geometry.grown import buffered
from plotout.geometry.strokes import FloatArray
from plotout.machine import Machine
from plotout.model import Sheet

Line: TypeAlias = tuple[tuple[float, float], tuple[float, float]]

# The error of a trailed blade's direction falls as exp(-s / offset) in its half-angle's tangent
# (the tractrix): 15 offsets bring 179.9 degrees under 0.1.
LENGTH = 15.0
CLEAR = 1.0  # mm between the blade and any card
LINES = 400  # lines tried in either direction


def turning_place(sheet: Sheet, machine: Machine, offset: float) -> FloatArray | None:
    """Return a stroke, (2, 2), mm, in the waste that turns a blade of this offset, or None.

    It lies on the stock, within the bed's margins, clear of every card and of the sheet's marks.
    """
    free = _free(sheet, machine, offset)
    if free.is_empty:
        return None
    need = LENGTH * offset
    low_x, low_y, high_x, high_y = free.bounds
    rows = [((low_x, y), (high_x, y)) for y in np.linspace(low_y, high_y, LINES).tolist()]
    columns = [((x, low_y), (x, high_y)) for x in np.linspace(low_x, high_x, LINES).tolist()]
    for ends in (*_few(rows), *_few(columns)):
        for part in shapely.get_parts(shapely.intersection(shapely.linestrings(ends), free)):
            if part.geom_type == "LineString" and part.length >= need:
                found = shapely.get_coordinates(part)
                direction = (found[-1] - found[0]) / part.length
                return np.array([found[0], found[0] + direction * need])
    return None


def _few(lines: Sequence[Line]) -> Iterator[Sequence[Line]]:
    """Give the lines a few at a time: a place is usually found among the first."""
    return (lines[index : index + 20] for index in range(0, len(lines), 20))


def _free(sheet: Sheet, machine: Machine, offset: float) -> BaseGeometry:
    left, bottom, right, top = machine.bed.margins
    stock: BaseGeometry = shapely.box(left, bottom, sheet.width - right, sheet.height - top)
    if sheet.outline is not None:
        stock = stock.intersection(shapely.Polygon(sheet.outline))
    taken: list[BaseGeometry] = [shapely.Polygon(placed.outline) for placed in sheet.placed]
    taken += [shapely.LineString(mark.points) for mark in sheet.marks if len(mark.points) > 1]
    return buffered(stock, -offset).difference(buffered(shapely.union_all(taken), offset + CLEAR))
