"""Whether lengths are as sure as plotout says: a pricked body, its true lengths known.

    python tests/bench/known.py [--seeds 100] [--smoke]
    python tests/bench/known.py --families [--seeds 10]

A body 160 mm wide with a neck of a quarter ellipse (85 x 100 mm), an armhole whose arc of 70 mm
goes over into a straight without a corner, and a hem, a side and a centre line; a prick each 15 mm
with normal scatter. Printed for each edge and scatter: how often its true length lies within the
two sigma that are told (95.4 of a hundred of a normal error), those sigma, and the mean error.

With --families: the curves of tests/bench/pricks.py, each closed by three straight lines, the two
that meet it square to its ends. Printed for each scatter and number of pricks, over all curves: the
same, and the verdict on a seam of the curve and a drawn line, which is longer by 0 to 3 mm, with a
tolerance of 1 mm: how often a wrong one is called certain, and how often it can't tell.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np
from plotout_pricks.outline import outline
from plotout_pricks.table import Pricks, Table
from pricks import families
from scipy.special import ellipe

from plotout.pattern.walk import SeamResult

SPACING = 15.0
PICK = {"square": ["neck start"]}
ARC = 70.0


def runs():
    """Return each run's dense points, in order round the piece, and whether it is a curve.

    The armhole meets the shoulder square and the side at 33 degrees.
    """
    t = np.linspace(0.0, np.pi / 2.0, 2001)
    neck = np.column_stack([85.0 * np.sin(t), 500.0 - 100.0 * np.cos(t)])
    turn = np.linspace(0.0, np.radians(90.0 - 33.0), 2001)
    arc = np.column_stack([160.0 + ARC * (1.0 - np.cos(turn)), 400.0 - ARC * np.sin(turn)])
    straight = np.column_stack([np.full(500, 160.0), np.linspace(500.0, 400.0, 501)[:-1]])
    armhole = np.vstack([straight, arc])
    x, y = arc[-1]
    return [
        ("neck", "curve", neck),
        ("shoulder", "straight", np.array([[85.0, 500.0], [160.0, 500.0]])),
        ("armhole", "curve", armhole),
        ("side", "straight", np.array([[x, y], [x, 0.0]])),
        ("hem", "straight", np.array([[x, 0.0], [0.0, 0.0]])),
        ("centre", "straight", np.array([[0.0, 0.0], [0.0, 400.0]])),
    ]


def pricked(name, kind, dense, scatter, rng, spacing=SPACING):
    """Return a run pricked from 4 mm past its start to 4 mm short of its end."""
    reached = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(dense, axis=0).T))])
    count = max(round(reached[-1] / spacing), 3)
    at = np.linspace(4.0, reached[-1] - 4.0, count)
    points = np.column_stack([np.interp(at, reached, each) for each in dense.T])
    points += rng.normal(0.0, scatter, points.shape)
    return Pricks(name, kind, points, 1, tuple(range(count)))


def closed_by_lines(curve):
    """Return the runs of a curve, (n, 2) dense, and of three straight lines from end to start."""
    reach, ends = 150.0, []
    for at, step in ((curve[-1], curve[-1] - curve[-2]), (curve[0], curve[1] - curve[0])):
        ends.append(at + np.array([step[1], -step[0]]) / np.hypot(*step) * reach)
    away, home = ends
    return [
        ("curve", "curve", curve),
        ("end", "straight", np.array([curve[-1], away])),
        ("back", "straight", np.array([away, home])),
        ("start", "straight", np.array([home, curve[0]])),
    ]


def verdict(off, known):
    """Return how often a seam is judged wrongly with certainty, and not at all, of all (n,)."""
    wrong, unsure = [], []
    for longer in (-3.0, -1.5, -0.5, 0.0, 0.5, 1.5, 3.0):
        for error, sigma in zip(off, known, strict=True):
            measured = error - longer
            seam = SeamResult("", "", "", measured, 0.0, 1, 1, (0.0, 0.0), 1.0, (), (), (), (),
                              known_to=float(sigma))  # fmt: skip
            unsure.append(not seam.sure)
            wrong.append(seam.sure and (abs(measured) <= 1.0) != (abs(longer) <= 1.0))
    return 100.0 * np.mean(wrong), 100.0 * np.mean(unsure)


def of_families(seeds):
    """Print how sure the lengths of known families of curves are."""
    made = [closed_by_lines(curve) for curve in families().values()]
    for scatter in (0.1, 0.3, 0.6):
        for count in (8, 14, 24):
            off, known = [], []
            for nth, each in enumerate(made):
                curve = each[0][2]
                true = np.hypot(*np.diff(curve, axis=0).T).sum()
                for seed in range(seeds):
                    rng = np.random.default_rng([seed, nth, count, int(scatter * 10)])
                    spacing = (true - 8.0) / count
                    table = Table(tuple(pricked(*run, scatter, rng, spacing) for run in each), ())
                    shape = outline(table, Path("curve.csv"), {}).shapes[0]
                    off.append(np.hypot(*np.diff(shape.points, axis=0).T).sum() - true)
                    known.append(shape.known_to)
            off, known = np.array(off), np.array(known)
            told = np.isfinite(known)
            wrong, unsure = verdict(off, known)
            print(
                f"scatter {scatter:.1f}  {count:2d} pricks  within "
                f"{100.0 * (np.abs(off) <= known)[told].mean():5.1f} % of {told.sum()}, "
                f"{(~told).sum()} not known  told {np.median(known[told]):.2f} mm  "
                f"2 sigma of errors {2.0 * off[told].std():.2f} mm  "
                f"worst {np.abs(off).max():.1f} mm  "
                f"wrong and certain {wrong:.1f} %, can't tell {unsure:.0f} %",
                flush=True,
            )


def main():
    """Print a table."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--families", action="store_true", help="curves of tests/bench/pricks.py")
    parser.add_argument("--seeds", type=int, help="100, or 10 with --families, if left out")
    parser.add_argument("--smoke", action="store_true", help="a single seed")
    told = parser.parse_args()
    count = 1 if told.smoke else told.seeds or (10 if told.families else 100)
    if told.families:
        of_families(count)
        return
    seeds = range(count)
    made = runs()
    true = np.array([np.hypot(*np.diff(dense, axis=0).T).sum() for *_, dense in made])
    print(f"neck's length against scipy's integral: {true[0] - 100 * ellipe(1 - 0.85**2):+.4f} mm")
    for scatter in (0.1, 0.3, 0.6):
        found, told = [], []
        for seed in seeds:
            rng = np.random.default_rng([seed, int(scatter * 10)])
            table = Table(tuple(pricked(*each, scatter, rng) for each in made), ())
            shapes = outline(table, Path("body.csv"), PICK).shapes
            edges = [shape for shape in shapes if shape.role == "outline"]
            found.append([np.hypot(*np.diff(e.points, axis=0).T).sum() for e in edges])
            told.append([edge.known_to for edge in edges])
        off, known = np.array(found) - true, np.array(told)
        for nth, (name, *_) in enumerate(made):
            within = 100.0 * (np.abs(off[:, nth]) <= known[:, nth]).mean()
            print(f"scatter {scatter:.1f}  {name:9s} within {within:5.1f} %  told "
                  f"{np.median(known[:, nth]):.2f} mm  mean error {off[:, nth].mean():+.2f} mm  "
                  f"2 sigma of errors {2.0 * off[:, nth].std():.2f} mm")  # fmt: skip


if __name__ == "__main__":
    main()
