"""The nearest outline of which all is true, by scipy: a reference for truings."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.optimize import least_squares

Asked = tuple[str, int, int]
"""What is to be true, and the numbers of two sides."""


def nearest_true(ring: np.ndarray, asked: Sequence[Asked]) -> tuple[np.ndarray, float]:
    """Return the moves of corners, (n, 2) mm, with the least sum of squares, and what is off then.

    ring: the corners, (n, 2).
    """

    def off(flat: np.ndarray) -> np.ndarray:
        now = flat.reshape(ring.shape)
        way = np.roll(now, -1, axis=0) - now
        size = np.hypot(*way.T)
        found = {
            "square": lambda a, b: way[a] @ way[b] / size[b],
            "parallel": lambda a, b: np.linalg.det(way[[a, b]]) / size[b],
            "equal": lambda a, b: size[a] - size[b],
        }
        return np.array([found[kind](a, b) for kind, a, b in asked])

    def stiff(flat: np.ndarray) -> np.ndarray:
        return np.concatenate([1e4 * off(flat), flat - ring.ravel()])

    best = least_squares(stiff, ring.ravel(), xtol=1e-14, ftol=1e-14, gtol=1e-14).x
    return (best - ring.ravel()).reshape(-1, 2), float(np.abs(off(best)).max())
