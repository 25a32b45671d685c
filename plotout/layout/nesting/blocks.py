"""Blocks of cells: a bound that shows quickly that a shape has no place on a sheet.

Every block of cells that lies in a shape needs a free block as large, wherever the shape goes. So a
sheet can't hold a shape if, for any width, the tallest free block is lower than the shape's.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.cells import Cells

Blocks = NDArray[np.int16]
"""(n,) the height in cells of the tallest block that is 0, 1, 2 ... cells wide."""


def tallest(cells: Cells) -> Blocks:
    """Return the height of the tallest block of true cells for every width, in cells."""
    rows = np.arange(1, cells.shape[1] + 1, dtype=np.int16)[:, None]
    last_gap = np.maximum.accumulate(np.where(cells.T, np.int16(0), rows), axis=0)
    heights = rows - last_gap  # of the true cells that end here, along y; (rows, columns)
    found = [heights.max(initial=0)]
    least = heights
    for width in range(1, cells.shape[0] + 1):
        found.append(least.max(initial=0))
        if not found[-1]:
            break
        least = np.minimum(least[:, :-1], heights[:, width:])
    return np.array(found, dtype=np.int16)


def free_blocks(taken: Cells) -> Blocks:
    """Return the tallest free blocks of a sheet, in pairs of cells; 0 for any other width."""
    wide, tall = (side - side % 2 for side in taken.shape)
    some = taken[:wide, :tall].reshape(wide // 2, 2, tall // 2, 2)
    found = np.zeros(len(taken), dtype=np.int16)
    blocks = tallest(np.logical_not(some.any(axis=(1, 3))))
    found[: len(blocks)] = blocks
    return found


class Asked:
    """What some shapes ask of a sheet: blocks, of which all of one shape's must be free."""

    def __init__(self, shapes: Sequence[Blocks]) -> None:
        """shapes: their blocks, in cells."""
        pairs = [_pairs(blocks) for blocks in shapes]
        self._first = np.cumsum([0, *(len(wide) for wide, _ in pairs[:-1])])
        self._wide = np.concatenate([wide for wide, _ in pairs])
        self._tall = np.concatenate([tall for _, tall in pairs])

    def met(self, free: Blocks) -> list[bool]:
        """Return for every shape whether these free blocks leave open that it fits."""
        good = free[np.minimum(self._wide, len(free) - 1)] >= self._tall
        return [bool(met) for met in np.logical_and.reduceat(good, self._first)]


def _pairs(blocks: Blocks) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return widths and heights, in whole pairs of cells, that lie in the blocks; at least one."""
    tall = (blocks[3::2].astype(np.int64) - 1) // 2  # 2 n + 1 cells hold n pairs, however they lie
    corner = np.flatnonzero(tall > np.append(tall[1:], 0)[: len(tall)])
    if not len(corner):
        return np.zeros(1, dtype=np.int64), np.zeros(1, dtype=np.int64)
    return corner + 1, tall[corner]
