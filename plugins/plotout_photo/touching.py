"""Tells stabs of a corner that touch each other from a stroke of writing."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np

from plotout import FloatArray
from plotout_photo.clusters import stabs_of

HOLE, FEWEST = (0.5, 1.6), 12  # mm across or up of a thing like a hole, and so many of them
DARKEST = 0.9  # share of them that are no darker than usual holes: dots and dust are paler
AS_DARK = 0.8  # times as dark as those are stabs at least
LARGEST = 5.0  # mm2 of what touches; letters as dark as holes are larger (rendered)
COUNT = (3, 5)  # discs that are stabs
COVERED, EDGE = 0.86, 0.25  # least share of it that they cover, and mm beside them that count
SEEN, CLOSE = 0.3, 0.3  # least share of its darkness where one is sought, and mm between two


def usual_hole(clean: Any, box: Any, middle: FloatArray, scale: float) -> float:
    """Return how dark things like holes are in their middle; infinite where there are too few.

    clean: darkness without lines; box, middle: of what is joined in it; scale: pixels per mm.
    """
    _, _, wide, tall, _ = box.T
    small = (np.minimum(wide, tall) > HOLE[0] * scale) & (np.maximum(wide, tall) < HOLE[1] * scale)
    if small.sum() < FEWEST:
        return float("inf")
    column, row = np.rint(middle[small]).astype(int).T
    return float(np.quantile(clean[row, column], DARKEST))


def are_stabs(
    pictures: tuple[Any, Any, Any], part: tuple[slice, slice], mine: Any, hole: float,
    scale: float, blur: float,
) -> bool:  # fmt: skip
    """Return whether a thing is nothing but stabs that touch: as dark as holes, and round.

    pictures: darkness, that without lines, and that of lines. part: where the thing is; mine: bool
    (h, w), its pixels there. hole: darkness of usual holes.
    """
    dark, clean, drawn = pictures
    if np.quantile(clean[part][mine], 0.97) < AS_DARK * hole:
        return False
    soft = cv2.GaussianBlur(clean[part], (0, 0), max(0.2 * scale, 0.8))
    near = np.ones((2 * int(CLOSE * scale) + 1,) * 2, np.uint8)
    tops = mine & (soft == cv2.dilate(soft, near)) & (soft > SEEN * soft[mine].max())
    low = np.array([part[1].start, part[0].start])
    at = np.asarray(np.argwhere(tops)[:, ::-1] + low, dtype=np.float64)
    if not len(at):
        return False
    pixels = np.argwhere(mine)[:, ::-1] + low
    for lines in (None, (dark, drawn)):
        discs = stabs_of(clean, at, scale, blur, lines)
        if discs is None or not COUNT[0] <= len(discs) <= COUNT[1]:
            continue
        gaps = np.hypot(*(pixels[:, None] - discs[:, :2]).transpose(2, 0, 1)) - discs[:, 3]
        if (gaps.min(axis=1) < EDGE * scale).mean() > COVERED:
            return True
    return False
