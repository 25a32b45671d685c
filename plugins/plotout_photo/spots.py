"""Finds dark round spots in a picture, which may be holes.

The paper's brightness is divided out first, so that shadows and vignetting don't matter; then
spots about the size of a pin's hole and darker than their surroundings are picked.
"""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from plotout import FloatArray

PIN = 0.28  # mm: sigma of the filter that responds best to holes of 0.5 to 1.2 mm
LEAST = 0.035  # of the paper's brightness: fainter spots are ignored
NOISES = 6.0  # least response of a spot, in multiples of the noise around it
MOST = 4000  # spots examined, the clearest first


def darkness(light: Any) -> Any:
    """Return how much darker than the paper around it every pixel is: 0 as the paper, 1 black."""
    height, width = light.shape
    small = cv2.resize(light, (width // 4, height // 4), interpolation=cv2.INTER_AREA)
    paper = cv2.medianBlur(cv2.medianBlur(small, 5), 5)
    full = cv2.resize(paper, (width, height), interpolation=cv2.INTER_LINEAR)
    np.maximum(full, 1e-3, out=full)
    np.divide(light, full, out=full)
    np.subtract(1.0, full, out=full)
    return full


def spots(dark: Any, inside: Any, scale: float) -> FloatArray:
    """Return the places of spots, (n, 2) pixels, the clearest first.

    dark: from `darkness`. inside: uint8 (h, w), 0 where nothing is sought. scale: pixels per mm.
    """
    sigma = max(PIN * scale, 0.9)
    answer = cv2.GaussianBlur(dark, (0, 0), sigma)
    answer -= cv2.GaussianBlur(dark, (0, 0), 1.8 * sigma)
    size = 2 * round(sigma) + 1
    top = cv2.dilate(answer, np.ones((size, size), np.uint8))
    peak = (answer >= top) & (inside > 0) & (answer > LEAST)
    rows, columns = np.nonzero(peak)
    value = answer[rows, columns]
    clear = value > NOISES * _noise(answer, rows, columns)
    rows, columns, value = rows[clear], columns[clear], value[clear]
    best = np.lexsort((columns, rows, -value))[:MOST]
    return np.column_stack([columns[best], rows[best]]).astype(np.float64)


def _noise(answer: Any, rows: NDArray[np.intp], columns: NDArray[np.intp]) -> FloatArray:
    """Return the noise of the filter's response around places: the median of their blocks."""
    block = 64
    height, width = (side // block for side in answer.shape)
    part = np.abs(answer[: height * block : 3, : width * block : 3])
    rough = np.empty((height, width), np.float32)
    edges_y = np.linspace(0, part.shape[0], height + 1).astype(int)
    edges_x = np.linspace(0, part.shape[1], width + 1).astype(int)
    for y in range(height):
        for x in range(width):
            tile = part[edges_y[y] : edges_y[y + 1], edges_x[x] : edges_x[x + 1]]
            rough[y, x] = np.median(tile) * 1.4826
    return np.asarray(
        rough[np.minimum(rows // block, height - 1), np.minimum(columns // block, width - 1)]
    )
