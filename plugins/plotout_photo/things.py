"""Tells a hole from the corner of a thing that lies on the sheet, which is as dark and as small.

A hole is darkest in its middle and ends after a millimetre; a thing goes on, as dark or darker.
So do its edge, the paper's edge, and what a telephone's sharpening makes of them.
"""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from plotout import FloatArray
from plotout_photo.lines import in_full

AROUND = 6.0  # mm around a spot that are looked at
GOES_ON = 4.5  # mm to which no stabs of a corner reach that touch
PAPER = 0.85  # share of what is around a spot that is no brighter than paper
TRULY = 0.5  # share of a hole's measured depth that its pixels show themselves
AS_DARK = 0.3  # share of the way from a spot's darkness to the paper's


def no_holes(
    light: Any, lines: tuple[Any, Any], at: FloatArray, depth: FloatArray, scale: float
) -> NDArray[np.bool_]:
    """Return at which spots, (n, 2) pixels, what is dark goes on beyond a hole's size, (n,).

    Or is by far not as dark as their measured depth, (n,): beside the edge of a thing or the paper,
    what is taken off is false. light: the picture, linear; lines: the darkness of its lines, and of
    strokes, which are taken off; scale: pixels per mm.
    """
    reach = int(np.ceil(AROUND * scale))
    step = np.arange(-reach, reach + 1)
    far = np.hypot(*np.meshgrid(step, step)) / scale
    made = np.zeros(len(at), dtype=bool)
    for index, (column, row) in enumerate(np.rint(at).astype(int)):
        rows = (row + step).clip(0, light.shape[0] - 1)[:, None]
        columns = (column + step).clip(0, light.shape[1] - 1)
        off = np.maximum(*(in_full(drawn[rows, columns]) for drawn in lines))
        patch = light[rows, columns] / (1.0 - np.minimum(off, 0.9))
        middle = float(patch[far < 0.5].min())
        paper = float(np.quantile(patch[::2, ::2], PAPER))
        if paper - middle <= TRULY * min(depth[index], 1.0) * paper:  # or all is black
            made[index] = True
            continue
        bound = middle + AS_DARK * (paper - middle)
        _, part = cv2.connectedComponents((patch < bound).astype(np.uint8), connectivity=4)
        own = np.unique(part[(far < 0.5) & (part > 0)])
        made[index] = bool(far[np.isin(part, own)].max(initial=0.0) > GOES_ON)
    return made
