"""How sure a straight seam is beside a curve whose corner lies past its last prick.

    python tests/bench/tightening.py [--seeds 24] [--smoke]

Curves as garments have them, of several proportions each, are closed by three straight lines; the
one at the curve's end meets it at 70, 90 or 110 degrees there. Pricks lie every 5 to 10 mm with
normal scatter of 0.15 to 0.3 mm, the first and the last 3 to 8 mm from the corner. Printed for each
curve and angle, of that line: the mean error and the 95th of a hundred, mm, what it is told to be
known to (two sigma, the median), and how often its true length lies within that. True lengths are
those by which the pieces are drawn.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from asking import asked
from plotout_pricks.outline import outline
from plotout_pricks.table import Pricks, Table

BESIDE, START = 150.0, 200.0  # mm of the line that is measured, and of that at the curve's start
ANGLES = 70, 90, 110


def bezier(*ends):
    """Return dense points, (n, 2), of a cubic curve."""
    t = np.linspace(0.0, 1.0, 3001)[:, None]
    shares = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3)
    return sum(share * np.array(end) for share, end in zip(shares, ends, strict=True))


def quarter(wide, deep, power):
    """Return a quarter of a superellipse from its flat end; an ellipse's power is 2."""
    turn = np.linspace(0.0, np.pi / 2.0, 6001)
    x, y = wide * np.sin(turn) ** (2.0 / power), -deep * np.cos(turn) ** (2.0 / power)
    return np.column_stack([x, y])


def bending(bend, long):
    """Return a curve of a bend, 1/mm, that is a function of the mm along it."""
    at = np.linspace(0.0, long, 4001)
    step = at[1]
    angle = np.cumsum(bend(at)) * step
    return np.cumsum(np.column_stack([np.cos(angle), np.sin(angle)]), axis=0) * step


def neck(rng, wide, deep):
    """Return a neck of one cubic curve from the centre to the shoulder."""
    flat, steep, lean = rng.uniform(0.4, 0.65), rng.uniform(0.4, 0.8), rng.uniform(0.0, 0.08)
    ends = (0, 0), (wide * flat, 0), (wide * (1 - lean), deep * (1 - steep)), (wide, deep)
    return bezier(*ends)


def armhole(rng):
    """Return an armhole from the shoulder to the side."""
    in_by, high, deep = rng.uniform(35, 60), rng.uniform(190, 230), rng.uniform(4, 12)
    ends = (0, high), (-1.5 * deep, 0.55 * high), (0.1 * in_by - deep, 2), (in_by, 0)
    return bezier(*ends)


def crotch(rng):
    """Return a front crotch from the waist to the inseam."""
    wide, high = rng.uniform(45, 75), rng.uniform(230, 290)
    return bezier((wide, high), (wide - 4, 0.45 * high), (0.75 * wide, 0.1 * high), (0, 0))


def cap(rng):
    """Return half the head of a sleeve, from its top to the underarm."""
    wide, high = rng.uniform(140, 190), rng.uniform(90, 150)
    return bezier((0, high), (0.36 * wide, high), (0.6 * wide, 0), (wide, 0))


def clothoid(rng):
    """Return a curve whose bend rises evenly."""
    long, turn = rng.uniform(80, 250), np.radians(rng.uniform(40, 100))
    return bending(lambda at: 2.0 * turn * at / long**2, long)


def into_arc(rng):
    """Return a straight that goes over into an arc."""
    straight, radius, turn = rng.uniform(30, 120), rng.uniform(25, 90), rng.uniform(0.6, 1.5)
    return bending(lambda at: (at > straight) / radius, straight + radius * turn)


def arc(rng, least, most):
    """Return an arc whose radius is between two, mm."""
    radius = rng.uniform(least, most)
    return bending(lambda at: 1.0 / radius + 0.0 * at, radius * min(1.2, 400.0 / radius))


FAMILIES = {
    "back neck": lambda rng: neck(rng, rng.uniform(65, 100), rng.uniform(15, 35)),
    "back, ellipse": lambda rng: quarter(rng.uniform(65, 100), rng.uniform(15, 35), 2.0),
    "back, superellipse": lambda rng: quarter(
        rng.uniform(65, 100), rng.uniform(15, 35), rng.choice([1.7, 2.3, 2.6])
    ),
    "front neck": lambda rng: neck(rng, rng.uniform(65, 100), rng.uniform(60, 130)),
    "front, ellipse": lambda rng: quarter(rng.uniform(65, 100), rng.uniform(60, 130), 2.0),
    "front neck to centre": lambda rng: neck(rng, rng.uniform(65, 100), rng.uniform(60, 130))[::-1],
    "armhole to side": armhole,
    "armhole to shoulder": lambda rng: armhole(rng)[::-1],
    "crotch": crotch,
    "sleeve head": cap,
    "clothoid": clothoid,
    "straight into arc": into_arc,
    "arc": lambda rng: arc(rng, 50.0, 200.0),
    "flared hem": lambda rng: arc(rng, 300.0, 900.0),
}


def reached(line):
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])


def closed(curve, angle):
    """Return a curve's runs and those of the straights beside it: the second is measured.

    That meets the curve's end at an angle, degrees, on the side away from which it bends.
    """
    steps = curve[1] - curve[0], curve[-1] - curve[-2]
    bends = np.sign(steps[0][0] * steps[1][1] - steps[0][1] * steps[1][0]) or 1.0
    lines = []
    for step, degrees, long in ((steps[0], 90.0, START), (-steps[1], -angle, BESIDE)):
        turn = -bends * np.radians(degrees)
        matrix = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        lines.append(matrix @ step / np.hypot(*step) * long)
    home, away = curve[0] + lines[0], curve[-1] + lines[1]
    ends = (curve[-1], away), (away, home), (home, curve[0])
    return [curve, *(np.linspace(one, other, 2001) for one, other in ends)]


def pricked(name, line, rng, scatter):
    """Return the pricks of a run."""
    first, last = rng.uniform(3.0, 8.0, 2)
    spacing = rng.uniform(5.0, 10.0) if name == "curve" else 30.0
    count = max(round((reached(line)[-1] - first - last) / spacing), 7)
    at = np.linspace(first, reached(line)[-1] - last, count)
    at[1:-1] += rng.uniform(-0.3, 0.3, count - 2) * (at[1] - at[0])
    points = np.column_stack([np.interp(at, reached(line), axis) for axis in line.T])
    points += rng.normal(0.0, scatter, points.shape)
    kind = "curve" if name == "curve" else "straight"
    return Pricks(name, kind, points, 1, tuple(range(count)))


def measured(name, angle, seeds):
    """Return errors of the line at the curve's end, and what it is known to, (n,) each, mm."""
    found = []
    for seed in seeds:
        rng = np.random.default_rng([seed, angle, [*FAMILIES].index(name)])
        lines, scatter = closed(FAMILIES[name](rng), angle), rng.uniform(0.15, 0.3)
        runs = [
            pricked(run, line, rng, scatter)
            for run, line in zip(("curve", "beside", "back", "start"), lines, strict=True)
        ]
        shapes = outline(Table(tuple(runs), ()), Path("piece.csv"), {}).shapes
        beside = next(shape for shape in shapes if shape.name == "beside")
        size = float(np.hypot(*(beside.points[-1] - beside.points[0])))
        found.append((size - BESIDE, beside.known_to))
    return np.array(found).T


def main():
    """Print the table."""
    seeds = range(asked(__doc__, "seeds", usual=24, smoke=2))
    for name in FAMILIES:
        for angle in ANGLES:
            off, known = measured(name, angle, seeds)
            print(
                f"{name:20s} {angle:3d} degrees: mean {off.mean():+5.2f} mm, "
                f"95th {np.quantile(np.abs(off), 0.95):5.2f}, known to {np.median(known):.2f}, "
                f"within {100.0 * (np.abs(off) <= known).mean():.0f} %",
                flush=True,
            )


if __name__ == "__main__":
    main()
