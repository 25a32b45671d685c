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
BLOCK = 64  # pixels
BAND = 8 * BLOCK  # rows filtered at a time: no more pictures of full size are needed
MOST = (4000, 600)  # spots examined, the clearest first: among the strips, and beyond them


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


def spots(dark: Any, areas: tuple[Any, Any], scale: float) -> FloatArray:
    """Return the places of spots, (n, 2) pixels, the clearest first.

    dark: from `darkness`. areas: uint8 (h, w), 0 where nothing is sought: among the strips, and
    beyond them. scale: pixels per mm.
    """
    sigma = max(PIN * scale, 0.9)
    size = 2 * round(sigma) + 1
    over = round(8.0 * sigma) + size  # rows beyond a band that its filters reach
    ends = [*range(BAND, len(dark) - BLOCK, BAND), len(dark)]
    found = []
    for first, last in zip([0, *ends], ends, strict=False):
        low = max(first - over, 0)
        part = dark[low : last + over]
        answer = cv2.GaussianBlur(part, (0, 0), sigma)
        answer -= cv2.GaussianBlur(part, (0, 0), 1.8 * sigma)
        top = cv2.dilate(answer, np.ones((size, size), np.uint8))
        own = answer[first - low : last - low]
        seen = own >= np.maximum(top[first - low : last - low], np.float32(LEAST))
        row, column = np.nonzero(seen)
        value = own[row, column]
        clear = value > NOISES * _noise(own, row, column)
        found.append((np.array([row[clear] + first, column[clear]]), value[clear]))
    rows, columns = np.concatenate([at for at, _ in found], axis=1)
    value = np.concatenate([each for _, each in found])
    order = np.lexsort((columns, rows, -value))
    kept = [order[area[rows[order], columns[order]] > 0][:most]
            for area, most in zip(areas, MOST, strict=True)]  # fmt: skip
    best = np.concatenate(kept)
    best = best[np.lexsort((columns[best], rows[best], -value[best]))]
    return np.column_stack([columns[best], rows[best]]).astype(np.float64)


def _noise(answer: Any, rows: NDArray[np.intp], columns: NDArray[np.intp]) -> FloatArray:
    """Return the noise of the filter's response around places: the median of their blocks."""
    height, width = (side // BLOCK for side in answer.shape)
    part = np.abs(answer[: height * BLOCK : 4, : width * BLOCK : 4])
    tiles = part.reshape(height, BLOCK // 4, width, BLOCK // 4).transpose(0, 2, 1, 3)
    rough = np.median(tiles.reshape(height, width, -1), axis=2) * 1.4826
    return np.asarray(
        rough[np.minimum(rows // BLOCK, height - 1), np.minimum(columns // BLOCK, width - 1)]
    )
