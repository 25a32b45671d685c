"""A sheet, or part of its work, placed by a fit of its marks."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import numpy as np

from plotout.errors import UserError
from plotout.geometry.polyline import moved
from plotout.geometry.strokes import FloatArray, Stroke, Work
from plotout.machine import Bed
from plotout.model import Placed, Sheet


def mirrored(matrix: FloatArray) -> FloatArray:
    """Return a (2, 3) fit of marks with their meant x negated, as a map from the sheet itself."""
    return np.asarray(matrix * [-1.0, 1.0, 1.0])


def as_registered(sheet: Sheet, matrix: FloatArray, bed: Bed) -> Sheet:
    """Return a sheet at its true position on a bed. matrix: (2, 3), sheet's mm to the bed's.

    Its own marks are already on it, and are left out. Its size becomes the bed's, because its
    place is unknown until its marks are found. Raises UserError for a card out of reach.
    """
    edge = sheet.outline
    if edge is None:
        wide, tall = sheet.width, sheet.height
        edge = np.array([[0.0, 0.0], [wide, 0.0], [wide, tall], [0.0, tall], [0.0, 0.0]])
    placed = tuple(_found(one, matrix) for one in sheet.placed)
    for one in placed:
        _must_be_in_reach(one, bed)
    return replace(
        sheet,
        width=bed.length,
        height=bed.width,
        placed=placed,
        marks=(),
        outline=_same_way_round(edge, matrix),
    )


def part_of(sheet: Sheet, works: Collection[Work]) -> Sheet:
    """Return a sheet with only these kinds of work. Raises UserError if nothing is left."""
    placed = tuple(
        replace(one, card=replace(one.card, strokes=_chosen(one.card.strokes, works)))
        for one in sheet.placed
    )
    part = replace(sheet, placed=placed, marks=_chosen(sheet.marks, works))
    if not part.strokes:
        raise UserError(
            f"there is nothing to {' or '.join(works)} on sheet {sheet.number}",
            fix=f"There is work to {' and '.join(dict.fromkeys(s.work for s in sheet.strokes))}.",
        )
    return part


def _must_be_in_reach(placed: Placed, bed: Bed) -> None:
    left, bottom, right, top = bed.margins
    low, high = placed.outline.min(axis=0), placed.outline.max(axis=0)
    over = {
        "left": left - low[0],
        "bottom": bottom - low[1],
        "right": high[0] - bed.length + right,
        "top": high[1] - bed.width + top,
    }
    side, much = max(over.items(), key=lambda pair: pair[1])
    if much > 0.0:
        raise UserError(
            f"according to its marks, card '{placed.card.title}' of the sheet is {much:.1f} mm out "
            f"of reach at the {side}",
            fix="Lay the sheet further in, and find its marks again. If there is no room for that, "
            "widen the margins in the stock file and make the set anew.",
        )


def _chosen(strokes: tuple[Stroke, ...], works: Collection[Work]) -> tuple[Stroke, ...]:
    return tuple(stroke for stroke in strokes if stroke.work in works)


def _found(placed: Placed, matrix: FloatArray) -> Placed:
    """Return a card in the bed's coordinates: a fit may scale it, which a placement can't."""
    card, here = placed.card, placed.matrix
    whole = np.column_stack(
        [matrix[:, :2] @ here[:, :2], matrix[:, :2] @ here[:, 2] + matrix[:, 2]]
    )
    hole = None
    if card.hole is not None:
        x, y = moved(np.array([card.hole]), whole)[0]
        hole = (float(x), float(y))
    made = replace(
        card,
        outline=_same_way_round(card.outline, whole),
        strokes=tuple(
            replace(stroke, points=_same_way_round(stroke.points, whole)) for stroke in card.strokes
        ),
        hole=hole,
    )
    return Placed(made, 0.0, (0.0, 0.0))


def _same_way_round(points: FloatArray, matrix: FloatArray) -> FloatArray:
    there = moved(points, matrix)
    return there if np.linalg.det(matrix[:, :2]) > 0.0 else there[::-1].copy()
