"""Tells a photograph that is far too dark, or so bright that its paper has no greys left."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from plotout import FloatArray

DARK = 32  # of 255: marks and paper are told apart no more where nothing is brighter (judgement)
WHITE = 254  # of 255, from which a pixel has reached the end of its greys
BLEACHED, CARD = 248, 75.0  # of 255: so bright is this percentile of a mark whose white is cut off
MOSTLY = 0.5  # share of such pixels from which the paper itself is among them (judgement)


def too_dark(grey: Any) -> str:
    """Return in words that a picture, uint8 (h, w), is far too dark; "" if not."""
    bright = float(np.percentile(grey[::4, ::4], 99.5))
    if bright >= DARK:
        return ""
    return f"it is far too dark, hardly brighter than {bright / 2.55:.0f} % anywhere"


def overexposed(grey: Any) -> str:
    """Return in words that most of a picture, uint8 (h, w), is pure white; "" if not."""
    share = float((grey[::4, ::4] >= WHITE).mean())
    return f"it is overexposed: {100.0 * share:.0f} % of it is pure white" if share > MOSTLY else ""


def bleached(grey: Any, marks: Sequence[FloatArray]) -> int:
    """Return of how many marks, corners (4, 2) pixels, a picture shows the white as pure white.

    Where it is cut off, blur makes the dark cells narrower, and their edges lie elsewhere.
    """
    count = 0
    for corners in marks:
        low = np.maximum(np.floor(corners.min(axis=0)).astype(int), 0)
        high = np.ceil(corners.max(axis=0)).astype(int) + 1
        own = grey[low[1] : high[1], low[0] : high[0]]
        count += bool(own.size and np.percentile(own, CARD) >= BLEACHED)
    return count
