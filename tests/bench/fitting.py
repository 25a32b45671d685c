"""How true curves through pricks are: known curves, 0.5 mm normal scatter, a prick each 15 mm.

    python tests/bench/fitting.py [--seeds 200] [--smoke]

Prints, over all seeds: the share of the fitted curve within 0.5 mm, its worst distance, and the
length's error (the 95th of a hundred). Lengths of open curves are compared between their own ends:
how far a scattered end prick lies along the curve is not the fit's doing.

Beside each circle and ellipse stands what its own family gives on the same pricks, by geometric
least squares (scipy): a circle of unknown centre and radius; an ellipse of unknown centre, turn and
axes, or (square ends) of unknown axes alone. No fit that isn't told the family can be asked for
much more. A quarter ellipse of 11 pricks with free ends doesn't reach 95 % even then.
"""

from __future__ import annotations

import time
from functools import partial

import numpy as np
import shapely
from asking import asked
from scipy.optimize import least_squares
from scipy.spatial import cKDTree
from scipy.special import ellipe, fresnel

from plotout.geometry.fitting import End, StraightLine, curve_fit

AXES = {
    "start": End(StraightLine(np.zeros(2), np.array([1.0, 0.0])), square=True),
    "end": End(StraightLine(np.zeros(2), np.array([0.0, 1.0])), square=True),
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
        "NACA 4412's mean line, 600 mm": _even(_mean_line() * 600.0, False),
    }


def _mean_line():
    """The mean line of a four-digit section: two parabolas (Jacobs, Ward, Pinkerton 1933,
    NACA report 460): camber m = 0.04 of the chord at p = 0.4."""
    m, p, x = 0.04, 0.4, np.linspace(0.0, 1.0, 40_001)
    before = m / p**2 * (2 * p * x - x**2)
    behind = m / (1 - p) ** 2 * (1 - 2 * p + 2 * p * x - x**2)
    return np.column_stack([x, np.where(x < p, before, behind)])


def own_family(pricks, *, closed=False, start=None, end=None, circle=False):
    """Return the circle or ellipse nearest to the pricks, as points, (m, 2)."""
    axes_known = start is not None

    def spread(known):
        if axes_known:
            return (*known, 0.0, 0.0, 0.0)
        return (known[0], known[0], known[1], known[2], 0.0) if circle else tuple(known)

    def drawn(known, t):
        a, b, x, y, turn = spread(known)
        c, s = np.cos(turn), np.sin(turn)
        local = np.column_stack([a * np.cos(t), b * np.sin(t)])
        return local @ np.array([[c, s], [-s, c]]) + [x, y]

    def feet(known):
        a, b, x, y, turn = spread(known)
        c, s = np.cos(turn), np.sin(turn)
        u, v = ((pricks - [x, y]) @ np.array([[c, -s], [s, c]])).T
        t = np.arctan2(v * a, u * b)
        for _ in range(20):  # Newton's steps to the nearest place
            p, q = u - a * np.cos(t), v - b * np.sin(t)
            f = -p * a * np.sin(t) + q * b * np.cos(t)
            slope = -((a * np.sin(t)) ** 2 + (b * np.cos(t)) ** 2)
            slope -= p * a * np.cos(t) + q * b * np.sin(t)
            t = t - np.clip(f / slope, -0.3, 0.3)
        return t

    def off(known):
        a, b, *_, turn = spread(known)
        t = feet(known)
        across = np.column_stack([np.cos(t) / a, np.sin(t) / b])
        across /= np.hypot(*across.T)[:, None]
        c, s = np.cos(turn), np.sin(turn)
        across = across @ np.array([[c, s], [-s, c]])
        return ((pricks - drawn(known, t)) * across).sum(axis=1)

    size = np.abs(pricks).max(axis=0)
    guess = [size[0], 0.0, 0.0] if circle else [*size, 0.0, 0.0, 0.0]
    known = least_squares(off, guess[:2] if axes_known else guess).x
    t = feet(known)
    reach = (0.0, 2.0 * np.pi) if closed else (0.0, np.pi / 2) if axes_known else (t[0], t[-1])
    return drawn(known, np.linspace(*reach, 2000))


def _ours(points, **ends):
    return curve_fit(points, **ends).points


def measured(points, closed, ends=None, *, seeds, scatter=SCATTER, fit=_ours):
    """Return share within 0.5 mm, worst distance (mm), relative length errors (seeds,)."""
    true = shapely.LineString(points)
    count = round(true.length / SPACING) + (0 if closed else 1)
    at = np.linspace(0.0, true.length, count, endpoint=not closed)
    pricks = shapely.get_coordinates(shapely.line_interpolate_point(true, at))
    tree, share, worst, lengths = cKDTree(_run_on(points, closed)), [], 0.0, []
    for seed in seeds:
        moved = pricks + np.random.default_rng(seed).normal(0.0, scatter, pricks.shape)
        fitted = shapely.LineString(fit(moved, closed=closed, **(ends or {})))
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
    seeds = range(asked(__doc__, "seeds", usual=200, smoke=2))
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
        if name.startswith(("circle", "ellipse", "the same")):
            family = partial(own_family, circle=name.startswith("circle"))
            share, worst, lengths = measured(*curve, seeds=seeds, fit=family)
            print(
                f"{'  fitted by its own family':30s} within 0.5 mm {100 * share:5.1f} %  "
                f"worst {worst:.2f} mm  length {100 * np.quantile(np.abs(lengths), 0.95):.3f} %"
            )


if __name__ == "__main__":
    main()
