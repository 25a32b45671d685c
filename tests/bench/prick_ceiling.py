"""How many strays anybody could find among so many pricks: two judges who know more than plotout.

    python tests/bench/prick_ceiling.py [--runs 60] [--pricks 8 14] [--smoke]

The trials are those of tests/bench/pricks.py: its families, normal scatter of 0.1, 0.3 and 0.6 mm,
0 to 3 strays of 2.5 to 12 mm, anywhere. Each judge weighs every set of up to three pricks against
every other by the likelihood of all pricks (Bayes), with the number of strays as likely as it is in
the trials, and leaves out those whose chance is above a level. The level is set for at most 1 % of
runs without strays in which a good prick is left out: a judge can't do better at that price
(Neyman and Pearson 1933, of the sums of chances).

- "family": is told the kind of the curve, how its measurements vary (30 %), and the scatter.
- "smooth": is told the scatter and how much the curve's bend changes from prick to prick in the
  mean, but not where: the bend is a Wiener process of that size (Wahba 1978).
- "untold": is told neither: scatters of 0.05 to 0.8 mm and bends that change by little to much
  are all as likely. This is what pricks alone say, as plotout must judge them.

Offsets across the curve are linear in what is unknown, about the true curve, so that likelihoods
are normal in closed form. A stray's offset is taken as normal of the mean and deviation of the
trials' even spread, to either side. Printed: of strays of 8 times the scatter, those left out.
"""

from __future__ import annotations

import argparse
from itertools import combinations, product

import numpy as np
from pricks import LEAST, MOST
from scipy.special import fresnel, logsumexp

COUNTS, SCATTERS = (5, 6, 8, 10, 14, 24, 40), (0.1, 0.3, 0.6)
UNTOLD = np.geomspace(0.05, 0.8, 6)  # mm
BENDS = np.geomspace(0.1, 40.0, 7)  # by which the bend times the length changes over the length
FALSE = 0.01
VARIES, PLACED, TURNED = 0.3, 20.0, 0.2  # of a measurement; mm; radians
MEAN, DEVIATION = (LEAST + MOST) / 2.0, (MOST - LEAST) / np.sqrt(12.0)
FINE = 2001


def curves():
    """Return each family: its usual measurements and a function of them to points (FINE, 2)."""
    u = np.linspace(0.0, 1.0, FINE)
    t = u * np.pi / 2.0
    x, y = np.cos(t), np.sin(t)
    ends = (110.0, 10.0, 10.0, 150.0, 130.0, 190.0)

    def cubic(*p):
        p = np.array([0.0, 0.0, *p]).reshape(4, 2)
        weights = [(1 - u) ** 3, 3 * u * (1 - u) ** 2, 3 * u**2 * (1 - u), u**3]
        return np.column_stack(weights) @ p

    def into_arc(radius, flat):
        along = u * (flat + radius * np.pi / 2.0)
        turn = np.maximum(along - flat, 0.0) / radius
        return np.column_stack([np.minimum(along - flat, 0.0) + radius * np.sin(turn),
                                radius * (1.0 - np.cos(turn))])  # fmt: skip

    def clothoid(size, reach):
        s, c = fresnel(u * reach)
        return np.column_stack([c, s]) * size

    def spiral(inner, rise):
        turn = u * 2.2 * np.pi
        return (inner + rise * turn)[:, None] * np.column_stack([np.cos(turn), np.sin(turn)])

    def superellipse(a, b, power):
        return np.column_stack([a * np.abs(x) ** (2 / power), b * y ** (2 / power)])

    return {
        "circle": ((100.0,), lambda r: np.column_stack([r * x, r * y])),
        "ellipse": ((85.0, 130.0), lambda a, b: np.column_stack([a * x, b * y])),
        "superellipse": ((85.0, 100.0, 2.8), superellipse),
        "clothoid": ((400.0, 1.1), clothoid),
        "S-shaped armhole": (ends, cubic),
        "straight into arc": ((70.0, 110.0), into_arc),
        "spiral": ((20.0, 12.0), spiral),
    }


def family(usual, shape, places):
    """Return how pricks at shares of the length lie: none off in the mean, and (n, n) covariance.

    The curve's measurements vary, and where it lies and how it is turned.
    """
    dense = shape(*usual)
    index, across = _across(dense, places)
    columns = []
    for k, size in enumerate(usual):
        step = 1e-3 * max(abs(size), 1.0)
        other = shape(*(value + step * (k == m) for m, value in enumerate(usual)))
        slope = ((other - dense)[index] * across).sum(axis=1) / step
        columns.append(slope * (PLACED if len(usual) > 4 else VARIES * size))
    middle = dense[index] - dense[index].mean(axis=0)
    columns += [across[:, 0] * PLACED, across[:, 1] * PLACED]
    columns.append((middle[:, 0] * across[:, 1] - middle[:, 1] * across[:, 0]) * TURNED)
    moved = np.column_stack(columns)
    return np.zeros(len(places)), moved @ moved.T


def smooth(usual, shape, places, change=None):
    """Return the same of a curve of which only the size of its bend's changes is known.

    Its mean has one bend throughout, so that it lies off the true curve: by the third integral of
    how that one's bend changes. change: of the bend times the length; default: the true curve's.
    """
    dense = shape(*usual)
    at = _along(dense)
    index, _ = _across(dense, places)
    even = np.linspace(0.0, at[-1], 401)
    points = np.column_stack([np.interp(even, at, each) for each in dense.T])
    steps = np.diff(points, axis=0)
    angle = np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))
    bend = np.gradient(angle, even[1])
    spans = np.array_split(bend, len(places) - 1)
    size = np.sqrt(np.sum(np.diff([span.mean() for span in spans]) ** 2) / at[-1]) + 1e-9
    size = size if change is None else change / at[-1] ** 1.5
    middle, width = (even[1:] + even[:-1]) / 2.0, even[1]
    far = np.maximum(at[index][:, None] - middle, 0.0)
    off = -(far * (bend - bend[0])).sum(axis=1) * width  # twice integrated
    grown = far**2 / 2.0 * np.sqrt(width) * size
    tied = (at[index] - at[-1] / 2.0) / (at[-1] / 2.0)
    free = np.column_stack([tied**0, tied, tied**2]) * 200.0
    return off, grown @ grown.T + free @ free.T


def _along(points):
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])


def _across(dense, places):
    at = _along(dense)
    index = np.abs(at[:, None] - at[-1] * places).argmin(axis=0)
    way = dense[np.minimum(index + 1, len(dense) - 1)] - dense[np.maximum(index - 1, 0)]
    return index, np.column_stack([-way[:, 1], way[:, 0]]) / np.hypot(*way.T)[:, None]


def chances(offsets, held, most):
    """Return each prick's chance of being a stray, (runs, n), by every set of up to `most`.

    held: mean, covariance and scatter of each kind of curve that is as likely.
    """
    runs, count = offsets.shape
    logs, sets = [], []
    for off, spread, scatter in held:
        exact = np.linalg.inv(spread + scatter**2 * np.eye(count))
        rest = offsets - off
        pulls = rest @ exact
        base = 0.5 * np.linalg.slogdet(exact)[1] - 0.5 * (pulls * rest).sum(axis=1)
        for number in range(most + 1):
            some = np.array([*combinations(range(count), number)], dtype=int)
            prior = -np.log(len(some)) - np.log(most + 1.0)
            gained = _gained(exact, pulls, some) if number else np.zeros((runs, 1))
            logs.append(base[:, None] + gained + prior)
            if len(sets) <= most:
                sets.append(some)
    every = np.concatenate(logs, axis=1)
    weights = np.exp(every - logsumexp(every, axis=1, keepdims=True))
    weights = weights.reshape(runs, len(held), -1).sum(axis=1)
    total, begun = np.zeros((runs, count)), 0
    for some in sets:
        mine = weights[:, begun : begun + len(some)]
        begun += len(some)
        for column in some.T:
            np.add.at(total.T, column, mine.T)
    return total


def _gained(exact, pulls, some):
    """Return the log of how much likelier all pricks are if each set strayed, (runs, sets)."""
    number = some.shape[1]
    block = exact[some[:, :, None], some[:, None, :]]  # (s, k, k)
    own = np.linalg.inv(block)
    wide = np.linalg.inv(own + DEVIATION**2 * np.eye(number))
    due = pulls[:, some]  # (runs, s, k)
    away = np.einsum("skj,rsj->rsk", own, due)
    sizes = 0.5 * (np.linalg.slogdet(wide)[1] + np.linalg.slogdet(own)[1])
    held = 0.5 * (away * due).sum(axis=2)
    sides = []
    for signs in product((-1.0, 1.0), repeat=number):
        left = away - MEAN * np.array(signs)
        sides.append(-0.5 * (np.einsum("skj,rsj->rsk", wide, left) * left).sum(axis=2))
    return logsumexp(sides, axis=0) - number * np.log(2.0) + sizes + held


def trials(count, scatter, number, runs, rng):
    """Return offsets (runs, n) with `number` strays a run, and how far they stray, 0 elsewhere."""
    off = rng.normal(0.0, scatter, (runs, count))
    far = np.zeros((runs, count))
    for row in far:
        which = rng.choice(count, number, replace=False)
        row[which] = rng.uniform(LEAST, MOST, number) * rng.choice([-1.0, 1.0], number)
    return off + far, np.abs(far)


def judged(count, scatter, name, runs):
    """Return, for each judge, the chances and the strays' sizes of a cell's runs."""
    usual, shape = curves()[name]
    places = np.linspace(0.0, 1.0, count)
    most = min(3, (count - 2) // 3)
    rng = np.random.default_rng([count, int(scatter * 100), len(name), 6])
    made = [trials(count, scatter, number, runs, rng) for number in range(most + 1)]
    offsets, far = (np.concatenate(each) for each in zip(*made, strict=True))
    judges = {
        "family": [(*family(usual, shape, places), scatter)],
        "smooth": [(*smooth(usual, shape, places), scatter)],
        "untold": [
            (*smooth(usual, shape, places, change), each) for change, each in product(BENDS, UNTOLD)
        ],
    }
    return {who: (chances(offsets, held, most), far) for who, held in judges.items()}


def found(chance, far, scatter):
    """Return per cent found of strays of 8 scatters, and of runs that lose a good prick.

    Those of the clean runs, at the level for `FALSE`, then of all.
    """
    clean = ~far.any(axis=1)
    level = max(float(np.quantile(chance[clean].max(axis=1), 1.0 - FALSE, method="higher")), 0.5)
    out = chance > level
    large = far >= np.maximum(8.0 * scatter, LEAST)[:, None]
    lost = (out & (far == 0.0)).any(axis=1)
    return (100.0 * out[large].mean(), 100.0 * lost[clean].mean(), 100.0 * lost.mean())


def main():
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--runs", type=int, default=60, help="60 if left out")
    parser.add_argument("--pricks", type=int, nargs="+", default=COUNTS, help="of each curve")
    parser.add_argument("--smoke", action="store_true", help="4 runs of 5 and of 8 pricks")
    asked = parser.parse_args()
    runs, counts = (4, (5, 8)) if asked.smoke else (asked.runs, asked.pricks)
    print(f"{'pricks':>6s} {'curve':18s}" + "".join(
        f" | {who:15s} found, lost: clean, all"
        for who in ("family", "smooth", "untold")))  # fmt: skip
    for count in counts:
        cells = {
            name: [(judged(count, scatter, name, runs), scatter) for scatter in SCATTERS]
            for name in curves()
        }
        rows = {**cells, "all": [cell for each in cells.values() for cell in each]}
        for name, some in rows.items():
            line = ""
            for who in ("family", "smooth", "untold"):
                chance = np.concatenate([cell[who][0] for cell, _ in some])
                far = np.concatenate([cell[who][1] for cell, _ in some])
                scatter = np.concatenate([np.full(len(c[who][1]), s) for c, s in some])
                line += " | {:15s} {:4.0f}%       {:4.1f}% {:4.1f}%".format(
                    "", *found(chance, far, scatter)
                )
            print(f"{count:6d} {name:18s}{line}", flush=True)


if __name__ == "__main__":
    main()
