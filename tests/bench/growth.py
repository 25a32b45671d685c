"""Prints how the time of ordering grows when there is ten times as much to order.

    python tests/bench/growth.py            all cases (some minutes)
    python tests/bench/growth.py --smoke    the same on few strokes, in seconds
    python tests/bench/growth.py --only contours --runs 1

Each case is ordered in two sizes, in a process of its own that does nothing else; the exponent is
log10 of the ratio of their processor times (medians of so many runs as --runs says): the smaller
size, in the same run, is the reference. 1 is proportional. Random, with fixed seeds.
"""

from __future__ import annotations

import argparse
import math
import multiprocessing
import statistics
import time

import numpy as np

from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.route import order


def drawn(*points):
    return Stroke(np.array(points, dtype=np.float64), Work.DRAW, Mark.INTERNAL)


def sharing_an_end(count, rng):
    angle = rng.uniform(0, 2 * np.pi, count)
    far = 500.0 + 300.0 * np.column_stack([np.cos(angle), np.sin(angle)])
    return [drawn((500.0, 500.0), end) for end in far]


def dashes_in_a_row(count, _rng):
    return [drawn((2.0 * k, 5.0), (2.0 * k + 1.2, 5.0)) for k in range(count)]


def lines_on_one_another(count, rng):
    return [drawn((x, 5.0), (x + 100.0, 5.0)) for x in rng.uniform(0, 1000, count)]


def end_to_end(count, rng):
    """A path in pieces, in any order."""
    path = np.cumsum(rng.normal(0, 5, (count + 1, 2)), axis=0)
    return [drawn(path[k], path[k + 1]) for k in rng.permutation(count)]


def crossing(count, rng):
    angle, middle = rng.uniform(0, np.pi, count), rng.normal(500, 50, (count, 2))
    way = 300.0 * np.column_stack([np.cos(angle), np.sin(angle)])
    return [drawn(p - v, p + v) for p, v in zip(middle, way, strict=True)]


def crossing_some(count, rng):
    """Strokes that cross 120 others each, wherever they are."""
    angle, middle = rng.uniform(0, np.pi, count), rng.uniform(0, 1000, (count, 2))
    half = 500.0 * math.sqrt(60.0 * np.pi / count)
    way = half * np.column_stack([np.cos(angle), np.sin(angle)])
    return [drawn(p - v, p + v) for p, v in zip(middle, way, strict=True)]


def contours(count, rng):
    across, angle = math.ceil(math.sqrt(count)), np.linspace(0, 2 * np.pi, 25)
    circle = np.column_stack([np.cos(angle), np.sin(angle)])
    found = []
    for k in range(count):
        ring = circle * rng.uniform(2, 4) + np.array([k % across, k // across]) * 10.0
        ring[-1] = ring[0]
        found.append(Stroke(ring, Work.CUT, Mark.CUTOUT, str(k)))
    return found


def nests(count, rng):
    """Five rings each, one in the other."""
    across, angle = math.ceil(math.sqrt(count // 5)), np.linspace(0, 2 * np.pi, 25)
    circle = np.column_stack([np.cos(angle), np.sin(angle)])
    found = []
    for k in range(count):
        nest, depth = divmod(k, 5)
        ring = circle * (9.0 - 1.6 * depth) * rng.uniform(0.98, 1.0)
        ring += np.array([nest % across, nest // across]) * 20.0
        ring[-1] = ring[0]
        found.append(Stroke(ring, Work.CUT, Mark.CUTOUT, str(nest)))
    return found


def dots(count, rng):
    places = rng.uniform(0, 1000, (count, 2))
    return [Stroke(place[None], Work.PUNCH, Mark.DRILL) for place in places]


def ten_long_lines(vertices, rng):
    steps = rng.normal(0, 0.3, (10, vertices, 2))
    return [drawn(*line) for line in np.cumsum(steps, axis=1)]


CASES = (
    (sharing_an_end, 1_000),
    (dashes_in_a_row, 1_000),
    (end_to_end, 1_000),
    (lines_on_one_another, 1_000),
    (crossing, 1_000),
    (crossing_some, 4_000),
    (contours, 400),
    (nests, 400),
    (dots, 1_000),
    (ten_long_lines, 2_000),
)


def measured(case, count, runs):
    """Median seconds of processor time, and peak MiB, in a process that does nothing else."""
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        return pool.apply(_measure, (case, count, runs))


def _measure(case, count, runs):
    import resource

    order(dots(60, np.random.default_rng(0)))
    order(contours(12, np.random.default_rng(0)))
    strokes = case(count, np.random.default_rng(1))
    times = []
    for _ in range(runs):
        before = time.process_time()
        order(strokes)
        times.append(time.process_time() - before)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    return statistics.median(times), peak


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--smoke", action="store_true", help="few strokes, done in seconds")
    parser.add_argument("--runs", type=int, default=5, help="runs of each, of which the median")
    parser.add_argument("--only", choices=[case.__name__ for case, _ in CASES])
    told = parser.parse_args()
    print(
        f"{'case':22} {'strokes':>16} {'seconds':>15} {'MiB':>5} exponent  wanted <= 1.2",
        flush=True,
    )
    for case, count in CASES:
        if told.only not in (None, case.__name__):
            continue
        small = count // 20 if told.smoke else count
        runs = 1 if told.smoke else told.runs
        (few, _), (many, peak) = (measured(case, n, runs) for n in (small, 10 * small))
        print(
            f"{case.__name__.replace('_', ' '):22} {small:7,} {10 * small:8,} "
            f"{few:7.2f} {many:7.2f} {peak:5.0f} {math.log10(many / few):+8.2f}",
            flush=True,
        )


if __name__ == "__main__":
    main()
