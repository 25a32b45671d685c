"""A QR code as strokes that a pen can draw or a machine can score (ISO/IEC 18004, by segno)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
from shapely.geometry.base import BaseGeometry

from plotout.finish.card_marks import free_area
from plotout.finish.label import Grid
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.pattern.model import PatternSet

QUIET = 4  # modules of white all round (ISO/IEC 18004)
MODULE = 1.0  # mm: side of a module; a phone held over a card reads it (common practice)
PEN = 0.3  # mm: the finest pen that still fills a module; a wider one darkens the edges
CLEAR = 2.0  # mm from the white margin to anything else on the card


def code_text(pattern_set: PatternSet, card: str) -> str:
    """Return the text of a card's code: style:size:version/card, as far as known."""
    parts = [pattern_set.style, pattern_set.size, pattern_set.version]
    return ":".join(parts).rstrip(":") + f"/{card}"


def coded(
    text: str, card: BaseGeometry, taken: Sequence[BaseGeometry], *, low: bool = False
) -> list[Stroke]:
    """Return the code's strokes in the card's free area; none if it has no room.

    Its white margin lies inside `card` and clear of everything `taken`: nearest to the card's
    middle or, with `low`, to its foot.
    """
    side = code_side(text)
    free = free_area(card, CLEAR, taken, CLEAR)
    wanted = np.array(card.centroid.coords[0])
    if low:
        wanted[1] = card.bounds[1]
    corner = Grid(free, np.array([1.0, 0.0]), wanted).place(side, side)
    if corner is None:
        return []
    return [replace(stroke, points=stroke.points + corner) for stroke in code_strokes(text)]


def code_side(text: str) -> float:
    """Return the side in mm of the code's square, its white margin included."""
    return (len(_matrix(text)) + 2 * QUIET) * MODULE


def code_strokes(text: str) -> list[Stroke]:
    """Return the code's strokes, its lower left corner (margin included) at 0, 0, mm.

    Every row's dark stretches are filled with level lines, a pen's width apart and half a pen
    inside the stretch on all sides; a row is drawn to and fro as one.
    """
    matrix = _matrix(text)
    strokes: list[Stroke] = []
    lines = int(np.ceil(MODULE / PEN))
    inner = MODULE - PEN
    for row, cells in enumerate(matrix):
        low = (len(matrix) - 1 - row + QUIET) * MODULE + PEN / 2
        for start, end in _stretches(cells):
            left, right = (start + QUIET) * MODULE + PEN / 2, (end + QUIET) * MODULE - PEN / 2
            points = []
            for index in range(lines):
                y = low + inner * index / (lines - 1)
                points += [(left, y), (right, y)] if index % 2 == 0 else [(right, y), (left, y)]
            strokes.append(Stroke(np.array(points), Work.DRAW, Mark.LETTERING))
    return strokes


def _matrix(text: str) -> list[list[bool]]:
    import segno

    code = segno.make(text, error="m", micro=False, boost_error=False)
    return [[bool(cell) for cell in row] for row in code.matrix]


def _stretches(cells: list[bool]) -> list[tuple[int, int]]:
    """Return begin and end of each run of dark modules."""
    padded = np.array([False, *cells, False])
    edges = np.flatnonzero(padded[1:] != padded[:-1]).tolist()
    return [(a, b) for index, (a, b) in enumerate(pairwise(edges)) if index % 2 == 0]
