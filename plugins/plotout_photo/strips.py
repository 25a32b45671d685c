"""The strips of coded marks: what is where on one, in mm from its first mark's lower left corner.

A strip has six square marks in a row, and a scale below them whose ends are crosses to measure
from. Strip n bears the marks numbered 6 (n - 1) to 6 (n - 1) + 5 of the code.
"""

from __future__ import annotations

import numpy as np

from plotout import FloatArray

MARKS = 6  # on a strip
SIDE = 28.0  # of a mark
PITCH = 38.0  # from a mark to the next
CELLS = 8  # along the side of a mark: six of its code, and a black one about them
MOST = 97  # strips that the code has numbers for: 587 marks
CROSSES = {"left": (-11.0, -6.0), "right": (229.0, -6.0)}  # the ends of the scale
SCALE = 240.0  # from cross to cross
BOX = (-17.0, -12.5, 235.0, 33.0)  # where a strip is cut: left, bottom, right, top
DICTIONARY = "DICT_APRILTAG_36h11"  # OpenCV's name: 587 codes that differ in 11 cells or more


def strip_of(mark: int) -> int:
    """Return the number of the strip, from 1, that bears a mark."""
    return mark // MARKS + 1


def corners_of(mark: int) -> FloatArray:
    """Return a mark's corners on its strip, (4, 2): top left, then clockwise as it is read."""
    left = PITCH * (mark % MARKS)
    return np.array([[left, SIDE], [left + SIDE, SIDE], [left + SIDE, 0.0], [left, 0.0]])


def outline(margin: float = 0.0) -> FloatArray:
    """Return a strip's own outline, (4, 2), widened by `margin`."""
    left, bottom, right, top = BOX
    left, bottom, right, top = left - margin, bottom - margin, right + margin, top + margin
    return np.array([[left, bottom], [right, bottom], [right, top], [left, top]])
