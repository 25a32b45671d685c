"""Registration marks in a sheet's corners."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon

from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work
from plotout.layout.stock.model import MARK_ROOM, StockSheet

ARM = 5.0
"""Half the length in mm of a mark's lines."""


def mark_places(left: float, bottom: float, right: float, top: float) -> FloatArray:
    """Return the centres of the marks in a box's corners, counter-clockwise, (4, 2), mm."""
    inset = MARK_ROOM / 2.0
    return np.array(
        [
            [left + inset, bottom + inset],
            [right - inset, bottom + inset],
            [right - inset, top - inset],
            [left + inset, top - inset],
        ]
    )


def corner_marks(width: float, sheet: StockSheet) -> tuple[Stroke, ...]:
    """Return a cross in all corners of the reachable part of a sheet that is `width` mm long."""
    left, bottom, _, top = sheet.inner
    return crosses(mark_places(left, bottom, width - sheet.margins[2], top))


def crosses(places: FloatArray) -> tuple[Stroke, ...]:
    """Return crosses at the places, (n, 2), mm."""
    strokes = []
    for middle in places:
        for arm in (np.array([ARM, 0.0]), np.array([0.0, ARM])):
            line = np.array([middle - arm, middle + arm])
            strokes.append(Stroke(line, Work.DRAW, Mark.REGISTRATION))
    return tuple(strokes)


def middles(marks: Sequence[Stroke]) -> FloatArray:
    """Return the centres of crosses, (n, 2), mm: the inverse of `crosses`, up to rounding."""
    return np.array([mark.points.mean(axis=0) for mark in marks[::2]]).reshape(-1, 2)


def mark_rooms(sheet: StockSheet) -> tuple[Polygon, ...]:
    """Return the squares that cards must leave free for the marks.

    Those at the end of a roll's work lie beyond the cards.
    """
    half = MARK_ROOM / 2.0
    places = mark_places(*sheet.inner)
    kept = places[[0, 3]] if sheet.roll else places
    return tuple(shapely.box(x - half, y - half, x + half, y + half) for x, y in kept)
