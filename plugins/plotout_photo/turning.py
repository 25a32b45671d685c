"""By how much a path turns."""

from __future__ import annotations

from typing import Any

import numpy as np

from plotout import FloatArray


def turns(ring: FloatArray) -> FloatArray:
    """Return by how many degrees a closed path turns at its places, (n,)."""
    return np.asarray(np.abs(left_turns(ring)))


def left_turns(ring: FloatArray) -> FloatArray:
    """Return by how many degrees a closed path turns to the left at its places, (n,)."""
    x, y = (np.roll(ring, -1, axis=0) - ring).T
    ahead = np.arctan2(y, x)
    return np.asarray(np.degrees((ahead - np.roll(ahead, 1) + np.pi) % (2 * np.pi) - np.pi))


def turning(paths: FloatArray) -> Any:
    """Return by how many degrees paths (..., n, 2) turn in all, to either side, (...)."""
    x, y = np.moveaxis(np.diff(paths, axis=-2), -1, 0)
    turns = np.diff(np.unwrap(np.arctan2(y, x), axis=-1), axis=-1)
    return np.degrees(np.abs(turns).sum(axis=-1))
