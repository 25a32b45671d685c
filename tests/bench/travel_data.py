"""Prints how near the travel is to the best known, where places lie in clusters and rows.

    python tests/bench/travel_data.py [--data DIR] [--seconds S] [--runs N] [--smoke]

DIR/tours holds instances of TSPLIB (Reinelt 1991), EUC_2D. The reference is the shortest path that
LKH (K. Helsgaun, as built into the elkai wheel) finds in N runs on the same places, from the same
start and with the same open end; LKH takes minutes above 1,100 places, where it is left out unless
--all is given. Beside the data stand clusters and rows made here with fixed seeds.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path

import numpy as np
from travel import points

from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.route import order

MOST = 1_100


def instance(path):
    """Places of a TSPLIB file with NODE_COORD_SECTION, (n, 2)."""
    lines = path.read_text().splitlines()
    first = next(nth for nth, line in enumerate(lines) if line.startswith("NODE_COORD")) + 1
    rows = (line.split() for line in lines[first:])
    return np.array([(float(row[1]), float(row[2])) for row in rows if len(row) == 3])


def clusters(count, rng):
    middles = rng.uniform(0, 1000, (max(count // 40, 2), 2))
    return middles[rng.integers(len(middles), size=count)] + rng.normal(0, 8, (count, 2))


def rows(count, rng):
    """Lettering and punched rows: lines of evenly spaced places, here and there."""
    size = 20
    begin = rng.uniform(0, 950, (count // size, 1, 2))
    step = np.where(rng.random((count // size, 1, 1)) < 0.8, [[[2.0, 0.0]]], [[[0.0, 2.0]]])
    return (begin + step * np.arange(size)[None, :, None]).reshape(-1, 2)


def lkh_path(places, runs):
    """Length of LKH's best path from (0, 0) through all places, mm; nan without elkai."""
    try:
        import elkai
    except ImportError:
        return float("nan")
    at = np.vstack([places, [(0.0, 0.0)]])
    n = len(at)
    far = np.hypot(*(at[:, None] - at[None]).transpose(2, 0, 1))
    beyond = float(far.max())
    matrix = np.full((n + 1, n + 1), beyond)
    matrix[:n, :n] = far
    matrix[n - 1, n] = matrix[n, n - 1] = 0.0
    np.fill_diagonal(matrix, 0.0)
    tour = elkai.DistanceMatrix(np.round(matrix * 100).astype(int).tolist()).solve_tsp(runs=runs)
    ring = np.roll(tour[:-1], -tour.index(n - 1))
    walk = ring[:-1] if ring[-1] == n else np.concatenate([ring[:1], ring[:1:-1]])
    return float(far[walk[:-1], walk[1:]].sum())


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--data", type=Path, help="folder that holds tours/*.tsp")
    parser.add_argument("--seconds", type=float, help="search so long; else the default effort")
    parser.add_argument("--runs", type=int, default=10, help="runs of LKH")
    parser.add_argument("--all", action="store_true", help="run LKH on the largest too")
    parser.add_argument("--smoke", action="store_true", help="few places, done in seconds")
    told = parser.parse_args()
    small = 100 if told.smoke else 800
    rng = np.random.default_rng(11)
    cases = [("clusters", clusters(small, rng)), ("rows", rows(small, rng))]
    files = sorted(told.data.glob("tours/*.tsp")) if told.data else []
    if files and not told.smoke:
        cases += [(file.stem, instance(file)) for file in files]
    else:
        print("no instances of TSPLIB are read: --data names no folder with tours/*.tsp")
    order(points(60))
    wanted = "1.0 %, 3 s in 10,000" if told.seconds is None else "0.3 %"
    head = f"{'places':10} {'count':>6} {'travel':>11} {'seconds':>8} {'LKH':>11}"
    print(f"{head}  over it, wanted <= {wanted}")
    for name, places in cases:
        strokes = [Stroke(p[None], Work.PUNCH, Mark.DRILL) for p in places]
        before = time.process_time()
        travel = order(strokes, seconds=told.seconds).travel
        took = time.process_time() - before
        some = told.all or len(places) <= MOST
        best = lkh_path(places, 1 if told.smoke else told.runs) if some else float("nan")
        over = f"{100 * (travel / best - 1):+.2f} %" if np.isfinite(best) else "not computed"
        print(
            f"{name:10} {len(places):6,} {travel:11.1f} {took:8.2f} {best:11.1f}  {over}",
            flush=True,
        )


if __name__ == "__main__":
    main()
