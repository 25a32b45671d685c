"""Stray pricks, and pricks out of order."""

from __future__ import annotations

from math import log, sqrt
from statistics import NormalDist

import numpy as np
import shapely

from plotout.geometry.fitting import FEWEST_PRICKS, fit_curve, fit_line
from plotout.geometry.polyline import distances
from plotout.geometry.smoothing import residuals
from plotout.geometry.strokes import FloatArray

MOST_ORDERED = 120
LEAST_OFF = 1.0  # mm: nothing nearer to the curve is called a stray (common practice)
TRUEST = 0.1  # mm: the least scatter of pricks that a stray is measured by (common practice)
CHANCE = 0.003  # that a run without a stray loses a prick


def strays(points: FloatArray, *, straight: bool = False, closed: bool = False) -> dict[int, float]:
    """Return the index of each of (n, 2) points that doesn't belong, and how far off it lies, mm.

    A point is left out, the worst first, when it lies further than LEAST_OFF from the line or fair
    curve through the others, and further than their scatter explains: the outlier test by the
    externally studentised residual, with Bonferroni's bound (Cook and Weisberg 1982, 2.2).
    """
    kept = list(range(len(points)))
    found: dict[int, float] = {}
    fewest = 3 if straight else FEWEST_PRICKS + 1
    while len(kept) > fewest and len(found) < len(points) // 4:
        off, share = _residuals(points[kept], straight=straight, closed=closed)
        own = 1.0 - share
        free = float(own.sum()) - 1.0
        if free < 1.0:
            break
        rest = ((off**2).sum() - off**2 / own) / free  # mm2: the others' scatter without it
        size = np.abs(off) / np.sqrt(own * np.maximum(rest, TRUEST**2))
        worst = int(size.argmax())
        alone = abs(float(off[worst] / own[worst]))  # mm from the curve through the others
        limit = NormalDist().inv_cdf(1.0 - CHANCE / (2 * len(kept)))
        if alone <= LEAST_OFF or _as_normal(float(size[worst]), free) <= limit:
            break
        found[kept.pop(worst)] = alone
    if found and not straight:
        curve = shapely.LineString(fit_curve(points[kept], closed=closed))
        for nth in found:
            if closed or kept[0] < nth < kept[-1]:  # beyond the curve's end it stays as judged
                found[nth] = float(shapely.distance(curve, shapely.Point(points[nth])))
    return found


def _residuals(
    points: FloatArray, *, straight: bool, closed: bool
) -> tuple[FloatArray, FloatArray]:
    """How far each point lies off the line or curve, across it, and its own share in it there."""
    if straight:
        line = fit_line(points)
        along = (points - line.at) @ line.along
        share = 1.0 / len(points) + along**2 / max(float(along @ along), 1e-12)
        return line.offsets(points), np.minimum(share, 1.0 - 1e-9)
    at = distances(np.vstack([points, points[:1]]) if closed else points)
    return residuals(at, points, closed=closed)


def _as_normal(size: float, free: float) -> float:
    """The normal deviate as unlikely as Student's t of that size (Wallace 1959)."""
    return (8 * free + 1) / (8 * free + 3) * sqrt(free * log(1.0 + size**2 / free))


def in_order(points: FloatArray) -> list[int]:
    """Return the indices of (n, 2) points in the order in which they follow one another.

    The given order is kept unless turning a stretch of it round, or moving one point, makes the
    way clearly shorter; and for more than MOST_ORDERED points.
    """
    order = list(range(len(points)))
    steps = np.hypot(*np.diff(points, axis=0).T)
    if len(order) > MOST_ORDERED or steps.max() < 1.5 * np.median(steps):
        return order
    gaps = np.hypot(*(points[:, None, :] - points[None, :, :]).transpose(2, 0, 1))

    def way(path: list[int]) -> float:
        return float(gaps[path[:-1], path[1:]].sum())

    best = way(order)
    improved = True
    while improved:
        improved = False
        for candidate in _neighbours(order):
            shorter = way(candidate)
            if shorter < best * (1.0 - 1e-3) - 0.5:
                order, best, improved = candidate, shorter, True
                break
    return order


def _neighbours(order: list[int]) -> list[list[int]]:
    count = len(order)
    moved = [
        [*rest[:to], order[nth], *rest[to:]]
        for nth in range(count)
        for rest in [order[:nth] + order[nth + 1 :]]
        for to in range(count)
    ]
    turned = [
        order[:a] + order[a:b][::-1] + order[b:]
        for a in range(count - 1)
        for b in range(a + 2, count + 1)
    ]
    return moved + turned
