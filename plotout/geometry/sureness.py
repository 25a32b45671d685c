"""How sure a size is that was drawn many times, each time as likely as the pricks show it."""

from __future__ import annotations

import numpy as np

from plotout.geometry.strokes import FloatArray

TWO_SIGMA = 0.954  # share of a normal error within two sigma
UNFORESEEN = 1.15  # so that two sigma hold 95 of a hundred (tests/bench/known.py families)


def two_sigma(off: FloatArray, weights: FloatArray | None = None) -> float:
    """Return two sigma of drawn sizes' distances from the fit's own, (m,): 95.4 % are within.

    Of few pricks their spread has long tails, and a mean square is no measure of it. A curve that
    is fair in another way than is reckoned with is less sure than its draws say.
    weights: (m,), how likely each is. Those that are nan don't count.
    """
    weights = np.ones(len(off)) if weights is None else weights
    there = np.isfinite(off)
    order = np.argsort(np.abs(off[there]))
    share = np.cumsum(weights[there][order])
    at = np.interp(TWO_SIGMA * share[-1], share, np.abs(off[there])[order])
    return UNFORESEEN * float(at)
