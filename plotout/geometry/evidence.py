"""Least squares with a penalty, its weight averaged over what the data say for each.

The weight is not chosen: every weight counts as much as the data's restricted likelihood says for
it (Wahba 1985), and every kind of penalty as much as the Bayesian information criterion says
(Schwarz 1978; averaged: Hoeting and others 1999). With no scatter the weight goes to nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from plotout.geometry.strokes import FloatArray

FLOOR = 1e-6  # mm2: no prick is truer than a thousandth of a mm
_FREE, _SEEN = 1e-5, 1e-6  # of the greatest singular value: what counts as no price, as unseen


def averaged(
    design: FloatArray, wanted: FloatArray, penalties: Sequence[tuple[FloatArray, FloatArray]]
) -> FloatArray:
    """Return x, (q,), so that design @ x is near to wanted, (n,), at a low price.

    penalties: of each kind its rows and what they should come to, (p, q) and (p,).
    """
    fits, criteria = [], []
    count = len(wanted)
    if count > design.shape[1] + 1:  # as few rows with the same sums of squares
        _, triangle = np.linalg.qr(np.column_stack([design, wanted]))
        design, wanted = triangle[:, :-1], triangle[:, -1]
    for rows, due in penalties:
        fit, freedom = _fit(design, wanted, rows, due, count)
        off = wanted - design @ fit
        fits.append(fit)
        used = freedom + 1.0
        price = 2.0 * used * count / max(count - used - 1.0, 0.5)
        criteria.append(count * np.log(off @ off / count + FLOOR) + price)
    shares = np.exp((min(criteria) - np.array(criteria)) / 2.0)
    return np.asarray(shares / shares.sum() @ np.array(fits))


def _fit(
    design: FloatArray, wanted: FloatArray, rows: FloatArray, due: FloatArray, count: int
) -> tuple[FloatArray, float]:
    """Return the fit with one kind of penalty, and how many degrees of freedom it used."""
    _, sizes, ways = np.linalg.svd(rows)
    dear = int((sizes > _FREE * sizes[0]).sum())
    costly, free = ways[:dear].T / sizes[:dear], ways[dear:].T
    base = np.linalg.lstsq(rows, due, rcond=_FREE)[0]
    left = wanted - design @ base
    across, seen, _ = np.linalg.svd(design @ free)
    used = int((seen > _SEEN * seen[0]).sum()) if len(seen) else 0
    rest = across[:, used:]  # what the free directions can't explain
    turned, strengths, mix = np.linalg.svd(rest.T @ design @ costly, full_matrices=False)
    parts = turned.T @ (rest.T @ left)
    beyond = max(float(np.sum((rest.T @ left) ** 2) - parts @ parts), 0.0)
    if not len(strengths) or strengths[0] <= 0.0:
        return np.asarray(base, dtype=np.float64), float(used)
    least = np.log(1e-8) + 2.0 * np.log(max(float(np.median(strengths)), 1e-6 * strengths[0]))
    most = np.log(1e4) + 2.0 * np.log(strengths[0])
    weights = np.exp(np.linspace(least, most, 300))[:, None]
    spread = 1.0 + strengths**2 / weights
    count -= used
    scatter = (parts**2 / spread).sum(axis=1) + beyond + count * FLOOR
    likely = -0.5 * (count * np.log(scatter) + np.log(spread).sum(axis=1))
    share = np.exp(likely - likely.max())
    kept = (share / share.sum()) @ (strengths**2 / (strengths**2 + weights))
    size = np.divide(kept, strengths, out=np.zeros_like(kept), where=strengths > 0.0)
    bent = costly @ (mix.T @ (size * parts))
    flat = np.linalg.lstsq(design @ free, left - design @ bent, rcond=_SEEN)[0]
    return np.asarray(base + free @ flat + bent), used + float(kept.sum())
