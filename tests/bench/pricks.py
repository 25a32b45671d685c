"""Fits through pricks with strays among them, beside two references that are given no stray.

    python tests/bench/pricks.py [--seeds 20] [--pricks 8 14] [--smoke]

Every family of curves, 5 to 40 pricks, 0 to 0.6 mm of normal scatter, 0 to 3 strays of 2.5 mm and
more across the curve, anywhere, ends included. The references see the good pricks alone: scipy's
smoothing spline by generalised cross-validation (make_smoothing_spline), and the cubic B-spline
least squares (make_lsq_spline) with the number of knots that AICc (Hurvich and Tsai 1989) takes.

Measured in mm: how far the true curve, from the first good prick to the last, lies from the fit,
at most. Each fit is run on 10 mm along its end tangents, so that its reach counts for nothing.

Of the strays of 8 times the scatter: found are those left out; named, those found, named by their
numbers as doubtful or as candidates, or by an explanation that is drawn (see `rivals`). Silent is
the share of runs with such strays in which one is not named; asked, how many kept pricks are named
in such a run. "Fair" is the share of runs with such strays in which a single cubic Bezier curve (no
more than two bends) passes all pricks, the strays included, within the scatter: there the pricks
don't prove that any of them strayed, whoever judges them. What others could find is measured in
prick_ceiling.py.

"Quiet" is the share of runs in which nothing is said but what was left out: no doubt, no candidate,
no length by another explanation; "worse", of all runs, those that are quiet and more than
1.2 times as far off as the better reference of that run. Which of two is the better is only known
afterwards, and any third one is worse in many runs: so "AICc's" is the share of all runs in which
that reference is more than 1.2 times as far off as the better of the other two fits. The last
column is of runs without strays: in how many a good prick is left out, and in how many one is asked
about.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from itertools import product

import numpy as np
import shapely
from plotout_pricks.rivals import LEAST_CHANCE
from scipy.interpolate import BSpline, make_lsq_spline, make_smoothing_spline
from scipy.optimize import least_squares
from scipy.special import fresnel
from scipy.stats import chi2

from plotout.geometry.fitting import NoCurveError, curve_fit
from plotout.geometry.strays import strays

COUNTS, SCATTERS = (5, 6, 8, 12, 20, 40), (0.0, 0.1, 0.3, 0.6)
LEAST, MOST = 2.5, 12.0  # mm that a stray lies off
FLOOR = 0.05  # mm: what is nearer than this is as good: no pencil shows it


def families():
    """Return dense points, (n, 2) mm, of each family of curves."""
    t = np.linspace(0.0, np.pi / 2.0, 4001)[:, None]
    quarter = np.hstack([np.cos(t), np.sin(t)])
    s, c = fresnel(np.linspace(0.0, 1.1, 4001))
    u = np.linspace(0.0, 1.0, 4001)[:, None]
    ends = np.array([[0.0, 0.0], [110.0, 10.0], [10.0, 150.0], [130.0, 190.0]])
    arc, turn = np.linspace(0.0, np.pi / 2.0, 2001)[1:], np.linspace(0.0, 2.2 * np.pi, 6001)
    bend = np.column_stack([70.0 * np.sin(arc), 70.0 * (1.0 - np.cos(arc))])
    straight = np.column_stack([np.linspace(-110.0, 0.0, 2001), np.zeros(2001)])
    return {
        "circle": quarter * 100.0,
        "ellipse": quarter * [85.0, 130.0],
        "superellipse": quarter ** (2.0 / 2.8) * [85.0, 100.0],
        "clothoid": np.column_stack([c, s]) * 400.0,
        "S-shaped armhole": sum(
            b * u**k * (1.0 - u) ** (3 - k) * p
            for k, (b, p) in enumerate(zip((1, 3, 3, 1), ends, strict=True))
        ),
        "straight into arc": np.vstack([straight, bend]),
        "spiral": (20.0 + 12.0 * turn)[:, None] * np.column_stack([np.cos(turn), np.sin(turn)]),
        "uneven spacing": quarter * [85.0, 130.0],
    }


@dataclass(frozen=True)
class Trial:
    """pricks: (n, 2). bad: indices of strays. off: mm that each lies off. true: (k, 2)."""

    pricks: np.ndarray
    bad: dict[int, float]
    true: np.ndarray


def trial(name, dense, count, scatter, number, seed):
    """Return pricks along the dense curve, scattered, with `number` strays."""
    rng = np.random.default_rng([seed, count, int(scatter * 100), number, len(name)])
    reached = _chords(dense)
    whole = reached[-1]

    def along(at):
        return np.column_stack([np.interp(at, reached, each) for each in dense.T])

    share = np.linspace(0.0, 1.0, count)
    if name == "uneven spacing":
        steps = rng.uniform(0.3, 1.7, count - 1)
        share[1:] = np.cumsum(steps) / steps.sum()
    at = share * whole
    places = along(at)
    way = along(np.minimum(at + 0.2, whole)) - along(np.maximum(at - 0.2, 0.0))
    across = np.column_stack([-way[:, 1], way[:, 0]]) / np.hypot(*way.T)[:, None]
    pricks = places + rng.normal(0.0, scatter, places.shape)
    bad = sorted(rng.choice(count, number, replace=False).tolist())
    sizes = rng.uniform(LEAST, MOST, number) * rng.choice([-1.0, 1.0], number)
    pricks[bad] += sizes[:, None] * across[bad]
    good = [nth for nth in range(count) if nth not in bad]
    true = along(np.linspace(at[good[0]], at[good[-1]], 300))
    return Trial(pricks, dict(zip(bad, np.abs(sizes), strict=True)), true)


def missed(fit, true):
    """Return how far the true curve lies from the fit at most, mm."""
    fit = fit[np.concatenate([[True], np.hypot(*np.diff(fit, axis=0).T) > 1e-9])]
    ends = [each / np.hypot(*each) * 10.0 for each in (fit[0] - fit[1], fit[-1] - fit[-2])]
    longer = shapely.LineString(np.vstack([fit[0] + ends[0], fit, fit[-1] + ends[1]]))
    return float(shapely.distance(longer, shapely.points(true)).max())


def _chords(points):
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])


def by_cross_validation(points):
    """Return scipy's smoothing spline of x and y over the chords, drawn."""
    at = _chords(points)
    fine = np.linspace(0.0, at[-1], 600)
    return np.column_stack([make_smoothing_spline(at, each)(fine) for each in points.T])


def by_knots(points):
    """Return the cubic least squares spline whose number of knots AICc takes, drawn."""
    at = _chords(points)
    best = (np.inf, None)
    for inner in range(len(points) - 3):
        places = np.quantile(at, np.linspace(0.0, 1.0, inner + 2)[1:-1])
        knots = np.concatenate([np.repeat(at[0], 4), places, np.repeat(at[-1], 4)])
        used, count = 2.0 * (inner + 4) + 1.0, 2.0 * len(points)
        if count - used - 1.0 <= 0.0:
            break
        try:
            fit = make_lsq_spline(at, points, knots)
        except (ValueError, np.linalg.LinAlgError):
            continue
        off = float(((fit(at) - points) ** 2).sum()) + 1e-9
        criterion = count * np.log(off / count) + 2.0 * used * count / (count - used - 1.0)
        if criterion < best[0]:
            best = (criterion, fit)
    fine = np.linspace(0.0, at[-1], 600)
    if best[1] is None:  # too few pricks for the criterion: a single cubic
        knots = np.repeat([at[0], at[-1]], min(4, len(points)))
        degree = min(3, len(points) - 1)
        best = (0.0, BSpline(knots, make_lsq_spline(at, points, knots, k=degree).c, degree))
    return best[1](fine)


def passes_as_cubic(points, scatter):
    """Return whether a cubic Bezier curve passes (n, 2) points within normal scatter (99 %)."""
    if len(points) <= 6:  # its freedoms across it: nothing is left to judge by
        return True
    u = np.linspace(0.0, 1.0, 201)
    shape = np.column_stack([(1 - u) ** 3, 3 * u * (1 - u) ** 2, 3 * u**2 * (1 - u), u**3])
    at = _chords(points) / _chords(points)[-1]
    at = np.column_stack([(1 - at) ** 3, 3 * at * (1 - at) ** 2, 3 * at**2 * (1 - at), at**3])
    begun = np.linalg.lstsq(at, points, rcond=None)[0]

    def off(flat):
        line = shapely.LineString(shape @ flat.reshape(4, 2))
        return shapely.distance(line, shapely.points(points)) / scatter

    best = least_squares(off, begun.ravel(), max_nfev=60)
    return bool(2.0 * best.cost <= chi2.ppf(0.99, len(points) - 6))


def run(case):
    """Return what one trial gave: errors of ours and of both references, then counts.

    Large strays, found and named, and whether one is not; good pricks left out; number of strays;
    whether a cubic is tried, and explains them; whether there are large strays; pricks named;
    whether nothing is said, and whether one is asked about. None of a run that is refused, as one
    of which no curve explains enough pricks.
    """
    count, scatter, number = case[2:5]
    made = trial(*case)
    try:
        judged = strays(made.pricks)
    except NoCurveError:
        return None
    found = set(judged.left_out)
    kept = [nth for nth in range(count) if nth not in found]
    good = np.delete(made.pricks, list(made.bad), axis=0)
    ours = missed(curve_fit(made.pricks[kept]).points, made.true)
    best = []
    for reference in (by_cross_validation, by_knots):
        try:
            best.append(missed(reference(good), made.true))
        except (ValueError, np.linalg.LinAlgError):
            best.append(np.inf)
    large = {nth for nth, off in made.bad.items() if off >= 8.0 * scatter}
    asked = judged.worth_asking and bool(judged.doubted or judged.candidates)
    named = found | (set(judged.doubted) | set(judged.candidates) if asked else set())
    explained = {nth for one in judged.explanations if one.chance >= LEAST_CHANCE
                 for nth in one.strayed}  # fmt: skip
    named |= explained
    fair = bool(large) and scatter > 0.0 and passes_as_cubic(made.pricks, scatter)
    return (ours, *best, len(large), len(large & found), len(large & named),
            bool(large - named), len(found - set(made.bad)), number, bool(large) and scatter > 0.0,
            fair, bool(large), len(named - found) if large else 0,
            not (asked or explained - found),
            asked)  # fmt: skip


def cases(seeds, counts):
    """Return every trial of so many pricks as its arguments."""
    return [
        (name, dense, count, scatter, number, seed)
        for (name, dense), count, scatter in product(families().items(), counts, SCATTERS)
        for seed in range(seeds)
        for number in range(1 + min(3, (count - 2) // 3))
    ]


def ratio(some):
    """Return our 95th of a hundred against that of the better reference."""
    ours, one, other = np.quantile(some[:, :3], 0.95, axis=0)
    return (ours + FLOOR) / (min(one, other) + FLOOR)


def worse(some, which):
    """Return in which runs a fit is worse than 1.2 times the better of the two others."""
    others = np.delete(some[:, :3], which, axis=1).min(axis=1)
    return some[:, which] + FLOOR > 1.2 * (others + FLOOR)


def share(some, of):
    """Return a sum against another, per cent."""
    return 100.0 * some.sum() / max(of.sum(), 1.0)


def main():
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--seeds", type=int, default=20, help="20 if left out")
    parser.add_argument("--pricks", type=int, nargs="+", default=COUNTS, help="of each curve")
    parser.add_argument("--smoke", action="store_true", help="one case in sixty of one seed")
    asked = parser.parse_args()
    counts = asked.pricks
    every = cases(1, counts)[::60] if asked.smoke else cases(asked.seeds, counts)
    made = [(case, run(case)) for case in every]
    taken = [(case, result) for case, result in made if result is not None]
    results = np.array([result for _, result in taken], dtype=float)
    keys = [(case[0], case[2]) for case, _ in taken]
    refused = [case[4] for case, result in made if result is None]
    print(
        f"refused: {len(refused)} of {len(made)} runs, {refused.count(0)} of them without a stray"
    )
    print(f"{'':18s} pricks runs  ours   GCV  AICc ratio clean found named silent asked fair "
          "| quiet worse AICc's | good left out, asked: clean")  # fmt: skip
    for key in [*dict.fromkeys(keys), *(("all", count) for count in counts)]:
        mine = [key in (each, ("all", each[1])) for each in keys]
        some = results[mine]
        if not len(some):
            continue
        clean = some[some[:, 8] == 0]
        print(f"{key[0]:18s} {key[1]:5d} {len(some):5d} "
              + " ".join(f"{each:5.2f}" for each in np.quantile(some[:, :3], 0.95, axis=0))
              + f" {ratio(some):5.2f} {ratio(clean) if len(clean) else np.nan:5.2f}"
              + "".join(f" {share(some[:, k], some[:, 3]):4.0f}%" for k in (4, 5))
              + f" {share(some[:, 6], some[:, 11]):4.0f}%"
              f" {share(some[:, 12], some[:, 11]) / 100.0:5.1f}"
              + f" {share(some[:, 10], some[:, 9]):4.0f}% | {100.0 * some[:, 13].mean():4.0f}%"
              f" {100.0 * np.mean(worse(some, 0) & (some[:, 13] > 0)):4.1f}%"
              f" {100.0 * worse(some, 2).mean():5.0f}% | {(clean[:, 7] > 0).sum()},"
              f" {(clean[:, 14] > 0).sum()} of {len(clean)}", flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
