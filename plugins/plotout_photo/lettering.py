"""Sees whether a sheet is printed: full stops and the dots of letters look like pricks."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from plotout import FloatArray

INK = 0.25  # least darkness of a letter
LETTER = (2.2, 12.0)  # mm across or up: a hole or a dot is smaller, a line longer
NARROW = 0.3  # its shorter side, in longer ones: less is a piece of a line
FILLED = 0.85  # share of its box that a letter may fill
MANY = 60  # letters from which a sheet is a printed one: fewer are written by hand
AROUND, NEIGHBOURS = 9.0, 3  # mm to so many letters within which a spot is among them


def letters(dark: Any, drawn: Any, inside: Any, scale: float) -> FloatArray:
    """Return the places of letters and signs, (n, 2) pixels.

    dark: the picture's darkness; drawn: that of long lines, such as the paper's edge; inside:
    uint8, 0 where none are sought; scale: pixels per mm.
    """
    ink = ((dark > INK) & (drawn <= 0.0) & (inside > 0)).astype(np.uint8)
    _, _, box, middle = cv2.connectedComponentsWithStats(ink)
    wide, tall = box[:, cv2.CC_STAT_WIDTH], box[:, cv2.CC_STAT_HEIGHT]
    area = box[:, cv2.CC_STAT_AREA]
    long = np.maximum(wide, tall) / scale
    seen = (long > LETTER[0]) & (long < LETTER[1]) & (area < FILLED * wide * tall)
    seen &= np.minimum(wide, tall) > NARROW * np.maximum(wide, tall)
    seen[0] = False
    return np.asarray(middle[seen], dtype=np.float64)


def among(at: FloatArray, letters: FloatArray, scale: float) -> NDArray[np.bool_]:
    """Return which places, (n, 2) pixels, are among the letters of a printed sheet, (n,)."""
    if len(letters) < MANY or not len(at):
        return np.zeros(len(at), dtype=bool)
    far = cKDTree(letters).query(at, k=NEIGHBOURS)[0][:, -1]
    return np.asarray(far < AROUND * scale)
