"""How fast a tool goes down into the stock."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

SPARE = 1.01  # of a profile's speed: a file's is rounded


def fault(
    fall: float, path: Sequence[float], start: tuple[float, float], feed: float, most: float
) -> str:
    """Return in words what is wrong with a move that ends in the stock, or "".

    fall: mm; inf if nobody knows from where. path: x, y, x, y ... from `start`, mm. feed, most:
    mm/s, along the move and straight down; a feed of inf is a rapid move, a most of inf is none.
    """
    if fall <= 0.0:
        return ""
    if math.isinf(feed):
        return "it goes down into the stock by a rapid move (G0)"
    steps = np.diff(np.reshape((*start, *path), (-1, 2)), axis=0)
    slope = math.hypot(1.0, float(np.hypot(*steps.T).sum()) / fall)
    down = feed / slope
    if down <= SPARE * most:
        return ""
    return f"it goes down into the stock at {down:.3g} mm/s, more than the profile's {most:g}"
