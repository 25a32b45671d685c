"""The layout of strips of coded marks, in mm from the first mark's lower left corner.

A strip has six square marks in a row, and a scale below them with crosses at its ends for
measuring. Strip n has the marks numbered 6 (n - 1) to 6 (n - 1) + 5 of the code.
"""

from __future__ import annotations

import numpy as np

from plotout import FloatArray, UserError

MARKS = 6  # on a strip
SIDE = 28.0  # of a mark
PITCH = 38.0  # from one mark to the next
CELLS = 8  # along the side of a mark: six of its code, and a black border
MOST = 97  # strips for which the code has numbers: 587 marks
CROSSES = {"left": (-11.0, -6.0), "right": (229.0, -6.0)}  # the ends of the scale
SCALE = 240.0  # from cross to cross
BOX = (-17.0, -12.5, 235.0, 33.0)  # the cut edge of a strip: left, bottom, right, top
DICTIONARY = "DICT_APRILTAG_36h11"  # OpenCV's name: 587 codes that differ in at least 11 cells


def check_number(number: int) -> None:
    """Raise UserError for a strip for which the code has no numbers."""
    if not 1 <= number <= MOST:
        raise UserError(f"there is no strip {number}", fix=f"Strips are numbered 1 to {MOST}.")


def strip_of(mark: int) -> int:
    """Return the number, from 1, of a mark's strip."""
    return mark // MARKS + 1


def corners_of(mark: int) -> FloatArray:
    """Return a mark's corners on its strip, (4, 2): top left, then clockwise as read."""
    left = PITCH * (mark % MARKS)
    return np.array([[left, SIDE], [left + SIDE, SIDE], [left + SIDE, 0.0], [left, 0.0]])


def outline(margin: float = 0.0) -> FloatArray:
    """Return a strip's own outline, (4, 2), widened by `margin`."""
    left, bottom, right, top = BOX
    left, bottom, right, top = left - margin, bottom - margin, right + margin, top + margin
    return np.array([[left, bottom], [right, bottom], [right, top], [left, top]])
