"""How blurred a picture is, by its marks' edges."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from plotout_photo.marks import Seen

SAMPLED = 0.42  # square pixels by which interpolating widens an edge (rendered ones, measured)
RISE = 2.507  # sigmas of a blur that an edge's rise takes


def blur_of(marks: Sequence[Seen]) -> float:
    """Return the picture's blur as a sigma, pixels."""
    seen = float(np.median([mark.blur for mark in marks])) / RISE if marks else 1.1
    return float(np.sqrt(max(seen**2 - SAMPLED, 0.25)))
