"""How true curves through pricks are: known curves, 0.5 mm normal scatter, a prick each 15 mm.

    python tests/bench/fitting.py [SEEDS]

Prints, over all seeds: the share of the fitted curve within 0.5 mm, its worst distance, and the
length's error (the 95th of a hundred). Lengths of open curves are compared between their own ends:
how far a scattered end prick lies along the curve is not the fit's doing.
"""

from __future__ import annotations

import sys
import time

import numpy as np
import shapely
from scipy.spatial import cKDTree
from scipy.special import ellipe, fresnel

from plotout.geometry.fitting import End, Line, fit_curve

AXES = {
    "start": End(Line(np.zeros(2), np.array([1.0, 0.0])), square=True),
    "end": End(Line(np.zeros(2), np.array([0.0, 1.0])), square=True),
}
SPACING, SCATTER, WITHIN = 15.0, 0.5, 0.5  # mm


def _even(points, closed):
    """Put points evenly, 0.05 mm apart."""
    reached = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    at = np.linspace(0.0, reached[-1], int(reached[-1] / 0.05) + 1)
    return np.column_stack([np.interp(at, reached, each) for each in points.T]), closed


def curves():
    """Return known curves by name: (n, 2) points, closed or not, and square to their axes or not.

    A quarter ellipse stands for a neck curve: measured as it is pricked by the trade, square to
    the fold at both its ends, and free.
    """
    t = np.linspace(0.0, 2.0 * np.pi, 40_001)[:, None]
    s, c = fresnel(np.linspace(0.0, 1.1, 40_001))
    circle, quarter = np.hstack([np.cos(t), np.sin(t)]), np.hstack([np.cos(t / 4), np.sin(t / 4)])
    return {
        "circle, 120 mm, whole": _even(circle * 120.0, True),
        "circle, 240 mm, quarter": _even(quarter * 240.0, False),
        "ellipse, 150 x 90 mm, whole": _even(circle * [150.0, 90.0], True),
        "ellipse, 85 x 100 mm, quarter": _even(quarter * [85.0, 100.0], False),
        "the same, square at both ends": (*_even(quarter * [85.0, 100.0], False), AXES),
        "clothoid, 550 mm": _even(np.column_stack([c, s]) * 500.0, False),
    }


def measured(points, closed, ends=None, *, seeds, scatter=SCATTER):
    """Return share within 0.5 mm, worst distance (mm), relative length errors (seeds,)."""
    true = shapely.LineString(points)
    count = round(true.length / SPACING) + (0 if closed else 1)
    at = np.linspace(0.0, true.length, count, endpoint=not closed)
    pricks = shapely.get_coordinates(shapely.line_interpolate_point(true, at))
    tree, share, worst, lengths = cKDTree(_run_on(points, closed)), [], 0.0, []
    for seed in seeds:
        moved = pricks + np.random.default_rng(seed).normal(0.0, scatter, pricks.shape)
        fitted = shapely.LineString(fit_curve(moved, closed=closed, **(ends or {})))
        along = np.linspace(0.0, fitted.length, 400)
        places = shapely.get_coordinates(shapely.line_interpolate_point(fitted, along))
        off = tree.query(places)[0]
        share.append((off <= WITHIN).mean())
        worst = max(worst, float(off.max()))
        beyond = 0.0 if closed else _beyond(points, places)
        lengths.append((fitted.length - beyond) / true.length - 1.0)
    return float(np.mean(share)), worst, np.array(lengths)


def _run_on(points, closed):
    if closed:
        return points
    more = np.arange(0.05, 6.0, 0.05)[:, None]
    first, last = points[0] - points[1], points[-1] - points[-2]
    return np.vstack([points[0] + first / np.hypot(*first) * more, points,
                      points[-1] + last / np.hypot(*last) * more])  # fmt: skip


def _beyond(points, fitted):
    """How much further than the true ends the fitted ones reach, along the curve."""
    first, last = points[0] - points[1], points[-1] - points[-2]
    return float((fitted[0] - points[0]) @ first / np.hypot(*first)
                 + (fitted[-1] - points[-1]) @ last / np.hypot(*last))  # fmt: skip


def main():
    """Print the table."""
    asked = sys.argv[1] if len(sys.argv) > 1 else "200"
    seeds = range(2 if asked == "--smoke" else int(asked))
    perimeter = 4.0 * 150.0 * ellipe(1.0 - (90.0 / 150.0) ** 2)
    length = shapely.LineString(curves()["ellipse, 150 x 90 mm, whole"][0]).length
    print(f"ellipse's length against scipy's integral: {length - perimeter:+.4f} mm")
    for name, curve in curves().items():
        started = time.perf_counter()
        share, worst, lengths = measured(*curve, seeds=seeds)
        took = (time.perf_counter() - started) / len(seeds)
        _, exact, same = measured(*curve, seeds=range(1), scatter=0.0)
        print(
            f"{name:30s} within 0.5 mm {100 * share:5.1f} %  worst {worst:.2f} mm  length "
            f"{100 * np.quantile(np.abs(lengths), 0.95):.3f} %  no scatter {exact:.3f} mm, "
            f"{100 * abs(same[0]):.4f} %  {1000 * took:.0f} ms"
        )


if __name__ == "__main__":
    main()
