"""Prints how short the travel is and how long ordering takes, with a reference beside each figure.

    python tests/bench/travel.py            all cases (some minutes)
    python tests/bench/travel.py --smoke    the same on few strokes, in seconds

References: LKH (K. Helsgaun), as built into the elkai wheel (its licence is for academic and
non-commercial use only; it is no part of plotout), on the same places as a path from the
start with an open end; 0.7124 sqrt(n A) for uniform places (Johnson, McGeoch, Rothberg 1996); for
open strokes and 10,000 places, our own search run ten times longer, for nested contours a hundred
times, and for contours with and without cuts the best of 20 such long runs, said as such. Fixed
starts: each contour begun at its first vertex, as drawn. Time
is given as that of the process and, in brackets, by the clock.
Kernels are compiled before a case is timed; what that costs on a new machine is the first row.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import tempfile
import time
from dataclasses import replace

import numpy as np

from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.route import order
from plotout.route.ordering import travel_of

SIDE = 1000.0


def points(count, seed=1):
    rng = np.random.default_rng(seed)
    return [
        Stroke(p[None], Work.PUNCH, Mark.DRILL, str(k))
        for k, p in enumerate(rng.uniform(0, SIDE, (count, 2)))
    ]


def short_strokes(count, seed=2):
    rng = np.random.default_rng(seed)
    begin = rng.uniform(0, SIDE, (count, 2))
    end = begin + rng.normal(0, 5, (count, 2))
    return [
        Stroke(np.stack(pair), Work.DRAW, Mark.INTERNAL, str(k))
        for k, pair in enumerate(zip(begin, end, strict=True))
    ]


def contours(count, seed=3):
    """Closed contours of some 24 vertices, one in each cell of a sheet of 1000 mm by 1000 mm."""
    rng = np.random.default_rng(seed)
    across = int(np.ceil(np.sqrt(count)))
    cell = SIDE / across
    found = []
    for k in range(count):
        angle = np.linspace(0, 2 * np.pi, 25)[:-1]
        radius = cell * rng.uniform(0.25, 0.45) * rng.uniform(0.8, 1.0, 24)
        middle = (np.array([k % across, k // across]) + 0.5) * cell
        ring = middle + np.column_stack([np.cos(angle), np.sin(angle)]) * radius[:, None]
        ring = np.roll(ring, rng.integers(24), axis=0)
        found.append(Stroke(np.vstack([ring, ring[:1]]), Work.CUT, Mark.CUTOUT, str(k)))
    return found


def nested(seed=4):
    rng = np.random.default_rng(seed)
    found = []
    for k in range(10):
        low = np.array([k % 4, k // 4]) * 220.0 + rng.uniform(0, 20, 2)
        for depth in range(4):
            a, b = 12.0 * depth, 180.0 - 14.0 * depth
            corners = [(a, a), (b, a), (b, b), (a, b)]
            ring = low + np.roll(corners, rng.integers(4), axis=0)
            found.append(Stroke(np.vstack([ring, ring[:1]]), Work.CUT, Mark.CUTOUT, str(k)))
    return [found[k] for k in rng.permutation(len(found))]


def cuts(contours_, strokes, seed):
    """Closed contours and short open cuts, some of them within contours."""
    return contours(contours_, seed) + [
        replace(stroke, work=Work.CUT, mark=Mark.NOTCH) for stroke in short_strokes(strokes, seed)
    ]


def best_of_long(strokes, runs):
    """The shortest travel of several runs, each some fifty times longer than the default."""
    return min(
        order(strokes, steps=600 * len(strokes), seed=20 + run).travel for run in range(runs)
    )


def lkh_travel(strokes, start=(0.0, 0.0)):
    """LKH's travel from the start through strokes, each from either end, in mm."""
    try:
        import elkai
    except ImportError:
        print("no reference for the next row: install the extra 'bench'")
        return float("nan")

    two = len(strokes[0].points) > 1
    ends = np.array([s.points[[0, -1]] if two else s.points[[0]] for s in strokes]).reshape(-1, 2)
    at = np.vstack([ends, [start]])
    far = np.hypot(*(at[:, None] - at[None]).transpose(2, 0, 1))
    force = 2000.0
    n = len(at)
    matrix = np.full((n + 1, n + 1), force)
    matrix[:n, :n] = far
    if two:
        matrix[:n, :n] += force
        matrix[:n, n] = matrix[n, :n] = 2 * force
        even = np.arange(0, n - 1, 2)
        matrix[even, even + 1] = matrix[even + 1, even] = 0.0
    matrix[n - 1, n] = matrix[n, n - 1] = 0.0
    np.fill_diagonal(matrix, 0.0)
    tour = elkai.DistanceMatrix(np.round(matrix * 100).astype(int).tolist()).solve_tsp(runs=1)
    ring = np.array(tour[:-1])
    ring = np.roll(ring, -int(np.flatnonzero(ring == n - 1)[0]))
    walk = ring[:-1] if ring[-1] == n else np.concatenate([ring[:1], ring[:1:-1]])
    step = far[walk[:-1], walk[1:]]
    if two:
        step = step[::2]
    return float(step.sum())


def measured(strokes, **how):
    """Travel in mm, seconds, and peak MiB of a process that does nothing else."""
    context = multiprocessing.get_context("spawn")
    with context.Pool(1) as pool:
        return pool.apply(_measure, (strokes, how))


def _measure(strokes, how):
    import resource

    order(points(60, 9), steps=50)
    order(nested(), steps=20)
    clock, before = time.perf_counter(), time.process_time()
    route = order(strokes, **how)
    took, passed = time.process_time() - before, time.perf_counter() - clock
    assert abs(travel_of(route.strokes, (0.0, 0.0)) - route.travel) < 1e-6 * max(route.travel, 1.0)
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    return route.travel, took, passed, memory


def first_run():
    """Print what compiling costs: a process with an empty cache against the next one."""
    kept = os.environ.get("NUMBA_CACHE_DIR")
    with tempfile.TemporaryDirectory() as cache:
        os.environ["NUMBA_CACHE_DIR"] = cache
        times = []
        for _ in range(2):
            with multiprocessing.get_context("spawn").Pool(1) as pool:
                times.append(pool.apply(_whole_process))
    os.environ.pop("NUMBA_CACHE_DIR")
    if kept is not None:
        os.environ["NUMBA_CACHE_DIR"] = kept
    cold, warm = times
    print(
        f"first run on a machine {cold:6.2f} s, next {warm:.2f} s, process time: "
        f"{cold - warm:+.2f} s  wanted <= 5 s"
    )


def _whole_process():
    order(points(60, 9), steps=50)
    order(nested(), steps=20)
    return time.process_time()


def row(case, travel, took, passed, memory, reference, name, wanted):
    over = 100.0 * (travel / reference - 1.0)
    print(
        f"{case:26} {travel:11.1f} mm {took:6.2f} s ({passed:6.2f} s) {memory:5.0f} MiB  "
        f"{over:+7.2f} % of {name} ({reference:.1f})  wanted {wanted}",
        flush=True,
    )


def uniform(count):
    return 0.7124 * np.sqrt(count * SIDE * SIDE)


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--smoke", action="store_true", help="few strokes, done in seconds")
    smoke = parser.parse_args().smoke
    small, middle, large, rings = (60, 200, 400, 30) if smoke else (1000, 10_000, 100_000, 300)
    load = os.getloadavg()[0]
    print(f"{os.cpu_count()} cores, load {load:.1f} at the start: above 1, times are too long")

    first_run()
    times = {}
    some = points(small)
    got = measured(some)
    times[small] = got[1]
    row(f"{small:,} points", *got, lkh_travel(some), "LKH", "<= 2 %, 1 s")
    for count, wanted in ((small, "<= 2 %, 1 s"), (middle, "<= 4 %, 6 s")):
        some = short_strokes(count)  # LKH needs minutes for two nodes a stroke
        longer = measured(some, steps=20 * count, seed=5)
        row(f"{count:,} open strokes", *measured(some), longer[0], "10 times longer", wanted)
    few = short_strokes(8)
    row("8 open strokes", *measured(few), _enumerated(few), "enumeration", "0 %")
    closed = contours(rings)
    fixed = [replace(s, points=s.points[[0]], work=Work.PUNCH) for s in closed]
    row(f"{rings} contours", *measured(closed), measured(fixed)[0], "fixed starts", "<= -25 %, 2 s")
    deep = nested()
    longer = measured(deep, steps=100 * (100 if smoke else 4200), seed=5)
    row("40 nested contours", *measured(deep), longer[0], "100 times longer", "<= 3 %, 2 s")
    free = (("60 contours", contours(60)), ("10 nests of 4", nested(5)))
    mixed = [(f"{a} contours, {b} cuts", cuts(a, b, c)) for a, b, c in ((40, 100, 8), (30, 50, 9))]
    for name, some in (*free, *mixed):
        best = best_of_long(some[:30], 2) if smoke else best_of_long(some, 20)
        row(name, *measured(some[:30] if smoke else some), best, "best of 20 long", "<= 1 %")
    some = points(middle)
    got = measured(some)
    times[middle] = got[1]
    longer = measured(some, steps=10 * middle, seed=5)
    row(f"{middle:,} points", *got, longer[0], "10 times longer", "<= 4 %, 6 s")
    row("", *got, uniform(middle), "0.7124 sqrt(nA)", "<= 5 %")
    got = measured(points(large))
    times[large] = got[1]
    row(f"{large:,} points", *got, uniform(large), "0.7124 sqrt(nA)", "<= 8 %, 60 s, 1024 MiB")
    slope = np.polyfit(np.log(list(times)), np.log(list(times.values())), 1)[0]
    print(f"time grows as n to the {slope:.2f} from {small:,} to {large:,} (n log n: about 1.12)")


def _enumerated(strokes):
    import itertools

    ends = np.array([s.points[[0, -1]] for s in strokes])
    best = np.inf
    for way in itertools.permutations(range(len(strokes))):
        # for one order the turns follow from two sums carried along
        so_far = np.hypot(*ends[way[0]].T)
        for a, b in itertools.pairwise(way):
            gap = np.hypot(*(ends[a][::-1][:, None] - ends[b][None]).transpose(2, 0, 1))
            so_far = (so_far[:, None] + gap).min(axis=0)
        best = min(best, float(so_far.min()))
    return best


if __name__ == "__main__":
    main()
