"""Tells of round dark spots that are like pricks but for their size: an awl's holes, or blots."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plotout import FloatArray
from plotout_photo.holes import Holes
from plotout_photo.sift import CROWD, DOUBTFUL, WIDE

FEWEST = 3  # a single one is a blot
WIDEST = 3.8  # mm across as bells have it, that is 3 mm: none is measured as larger
BELL = 1.26  # times as wide as a disc is the bell fitted to it (measured, `sift.WIDE`)
ROUND, BLACK = 1.3, 0.75  # longer over shorter axis; depth: rendered ink has up to 0.7 (measured)
NAMED = 4  # places
FINER = "If they are pricks, take a finer needle: holes of 0.5 to 1.3 mm are read."


def too_large(found: Holes, looks: FloatArray, unlike: FloatArray) -> NDArray[np.intp]:
    """Return which spots are too large for pricks, and look like them otherwise.

    looks: (n,) their certainty by their looks; unlike: by the writing near them.
    """
    like = (found.oval < ROUND) & (found.depth > BLACK) & (found.crowd < CROWD[1])
    alone = (found.line == 0.0) & (unlike >= DOUBTFUL)
    large = (found.size > WIDE[1]) & (found.size < WIDEST) & (looks < DOUBTFUL)
    return np.flatnonzero(like & alone & large)


def told(at: FloatArray, size: FloatArray) -> str:
    """Return in words which spots are too large, "" if few are.

    at: (n, 2) pixels; size: (n,) mm as bells have it.
    """
    if len(at) < FEWEST:
        return ""
    across = size / BELL
    places = "; ".join(f"{x:.0f}, {y:.0f}" for x, y in at[:NAMED])
    more = f" and {len(at) - NAMED} more" if len(at) > NAMED else ""
    return (
        f"{len(at)} round dark spots of {across.min():.1f} to {across.max():.1f} mm are left out "
        f"as too large for pricks (pixels from the left and the top: {places}{more})"
    )
