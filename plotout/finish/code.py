"""A QR code as strokes that a pen can draw or a machine can score (ISO/IEC 18004, by segno)."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from plotout.geometry.strokes import Mark, Stroke, Work

QUIET = 4  # modules of white all round (ISO/IEC 18004)
MODULE = 1.0  # mm: side of a module; a phone held over a card reads it (common practice)
PEN = 0.4  # mm: lines in a dark module lie so far apart


def code_side(text: str) -> float:
    """Return the side in mm of the square that the code takes, its white margin included."""
    return (len(_matrix(text)) + 2 * QUIET) * MODULE


def code_strokes(text: str) -> list[Stroke]:
    """Return the code's strokes, its lower left corner (margin included) at 0, 0, mm.

    Every row's dark stretches are filled with level lines, as close as a pen is wide and half a
    pen inside the stretch all round, each row drawn as one to and fro.
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
            for nth in range(lines):
                y = low + inner * nth / (lines - 1)
                points += [(left, y), (right, y)] if nth % 2 == 0 else [(right, y), (left, y)]
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
    return [(a, b) for nth, (a, b) in enumerate(pairwise(edges)) if nth % 2 == 0]
