"""How true a curve's length is to the corners that nobody pricked, beside scipy's spline.

    python tests/bench/corner.py [--seeds 50] [--smoke]

A piece of a hem, a side and a centre front (straight, 6 pricks each) and a top: an S of one cubic
Bezier curve, an armhole that meets the centre front at 7 degrees, a quarter ellipse that meets its
side smoothly, and an arc. Pricks are unevenly spaced, the first and last 8 to 12 mm from the
corner. The reference is scipy's make_smoothing_spline (generalised cross-validation) of x and y
over the chords, led on straight to the same lines. Printed: the 95th of a hundred errors of the
top's length of both, mm, and their ratio, with how far nine of ten ratios reach if as many pieces
are drawn from these again (Efron 1979); then mean errors, and how often the error lies within the
two sigma that are given for the top, and for the straights beside it. Sixty pieces are too few for
such a ratio: ten times sixty S of 12 pricks gave 0.74 to 1.48, all of them together 1.03.
"""

from __future__ import annotations

from itertools import product
from pathlib import Path

import numpy as np
import shapely
from asking import asked
from plotout_pricks.outline import outline
from plotout_pricks.table import Pricks, Table
from scipy.interpolate import make_smoothing_spline

from plotout.geometry.fitting import fit_line

FAMILIES = ("S", "armhole", "quarter ellipse", "arc")
PRICKS, SCATTERS = (6, 8, 14, 24), (0.3, 0.6)
STRAIGHT = 6  # pricks of each straight run


def top(name, rng):
    """Return dense points, (n, 2) mm, of a top from the side to the centre front."""
    t = np.linspace(0.0, 1.0, 4001)[:, None]
    if name == "quarter ellipse":
        turn = t * np.pi / 2.0
        return np.hstack([200.0 * np.cos(turn), 120.0 + rng.uniform(80.0, 160.0) * np.sin(turn)])
    if name == "arc":
        high = rng.uniform(10.0, 40.0)
        radius = (100.0**2 + high**2) / (2.0 * high)
        x = 200.0 - 200.0 * t
        return np.hstack([x, 250.0 + np.sqrt(radius**2 - (x - 100.0) ** 2) - (radius - high)])
    if name == "S":
        low, high = rng.uniform(-60.0, -20.0), rng.uniform(0.0, 40.0)
        ends = [[200.0, 250.0], [130.0, 250.0 + low], [80.0, 330.0 + high], [0.0, 300.0]]
    else:
        aside, low = rng.uniform(-10.0, 10.0), rng.uniform(-20.0, 10.0)
        ends = [[200.0, 200.0], [140.0 + aside, 195.0], [60.0, 210.0 + low], [70.0, 360.0]]
    shares = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3)
    return sum(share * np.array(end) for share, end in zip(shares, ends, strict=True))


def pricked(dense, count, scatter, rng):
    """Return pricks along a line, (count, 2), uneven, from 8 to 12 mm past its start to its end."""
    reached = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(dense, axis=0).T))])
    first, last = rng.uniform(8.0, 12.0, 2)
    at = np.linspace(first, reached[-1] - last, count)
    at[1:-1] += rng.uniform(-0.4, 0.4, count - 2) * (at[1] - at[0])
    points = np.column_stack([np.interp(at, reached, axis) for axis in dense.T])
    return points + rng.normal(0.0, scatter, points.shape)


def piece(name, count, scatter, seed):
    """Return a piece's runs and their true lengths."""
    rng = np.random.default_rng([seed, count, int(scatter * 10), FAMILIES.index(name)])
    curve, base = top(name, rng), np.array([0.0, 0.0])
    hem_end = np.array([curve[0, 0], 0.0])
    corners = {"hem": (base, hem_end), "side": (hem_end, curve[0]), "cf": (curve[-1], base)}
    share = np.linspace(0.0, 1.0, 2001)[:, None]
    dense = {run: a + (b - a) * share for run, (a, b) in corners.items()}
    dense["top"] = curve
    runs, true = [], {}
    for run in ("hem", "side", "top", "cf"):
        kind = "curve" if run == "top" else "straight"
        many = count if run == "top" else STRAIGHT
        points = pricked(dense[run], many, scatter, rng)
        runs.append(Pricks(run, kind, points, 1, tuple(range(many))))
        true[run] = shapely.LineString(dense[run]).length
    return runs, true


def by_spline(runs):
    """Return the top's length by scipy's spline, led on straight; nan where it meets no line."""
    _, side, curve, front = (run.points for run in runs)
    at = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(curve, axis=0).T))])
    splines = [make_smoothing_spline(at, axis) for axis in curve.T]
    inner = np.linspace(0.0, at[-1], 1500)
    ahead = np.linspace(0.0, 60.0, 600)[1:]
    parts = [np.column_stack([spline(inner) for spline in splines])]
    for end, sign in ((0.0, -1.0), (at[-1], 1.0)):
        place, step = (np.array([float(s(end, n)) for s in splines]) for n in (0, 1))
        tail = place + sign * ahead[:, None] * step
        parts = [tail[::-1], *parts] if sign < 0.0 else [*parts, tail]
    whole, found = np.vstack(parts), []
    reached = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(whole, axis=0).T))])
    for pricks, near in ((side, len(ahead)), (front, len(ahead) + len(inner))):
        off = fit_line(pricks).offsets(whole)
        crossed = np.flatnonzero(off[:-1] * off[1:] <= 0.0)
        if not len(crossed):
            return np.nan
        index = crossed[np.abs(crossed - near).argmin()]
        share = off[index] / (off[index] - off[index + 1])
        found.append(reached[index] + share * (reached[index + 1] - reached[index]))
    return found[1] - found[0]


def measured(name, count, scatter, seeds):
    """Return errors of ours and of the reference, and two sigma; then those of the straights."""
    tops, beside = [], []
    for seed in seeds:
        runs, true = piece(name, count, scatter, seed)
        shapes = outline(Table(tuple(runs), ()), Path("piece.csv"), {}).shapes
        for shape in shapes:
            off = shapely.LineString(shape.points).length - true[shape.name]
            if shape.name == "top":
                tops.append((off, by_spline(runs) - true["top"], shape.known_to))
            elif shape.name != "hem":
                beside.append((off, shape.known_to))
    return np.array(tops).T, np.array(beside).T


def ninety_fifths(errors):
    """Return the 95th of a hundred of (..., n) errors, of those that are there."""
    return np.nanquantile(np.abs(errors), 0.95, axis=-1)


def likely_ratio(ours, spline):
    """Return the least and the greatest ratio of nine of ten samples drawn again."""
    again = np.random.default_rng(1).integers(0, len(ours), (1000, len(ours)))
    return np.quantile(ninety_fifths(ours[again]) / ninety_fifths(spline[again]), [0.05, 0.95])


def main():
    """Print the table."""
    seeds = range(asked(__doc__, "seeds", usual=50, smoke=2))
    for name, count, scatter in product(FAMILIES, PRICKS, SCATTERS):
        (ours, spline, known), (off, known_beside) = measured(name, count, scatter, seeds)
        mine, other = ninety_fifths(ours), ninety_fifths(spline)
        least, most = likely_ratio(ours, spline)
        within = (100.0 * (np.abs(errors) <= two_sigma).mean()
                  for errors, two_sigma in ((ours, known), (off, known_beside)))  # fmt: skip
        print(f"{name:15s} {count:2d} pricks, {scatter}: ours {mine:5.2f} mm, spline {other:5.2f}, "
              f"ratio {mine / other:.2f} ({least:.2f} to {most:.2f})  "
              f"mean {ours.mean():+.2f}, {np.nanmean(spline):+.2f}  "
              f"within {next(within):.0f} %, beside {next(within):.0f} %  "
              f"known to {np.median(known):.2f} mm", flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
