"""Prints the travel of the sample set's sheets: as read, by the nearest next, and as ordered now.

    python tests/bench/travel_sample.py [--seconds 3] [--smoke]

The seconds are those for laying.
"""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
from asking import asked

from plotout import job
from plotout.geometry.strokes import Work
from plotout.route import order

SAMPLES = Path(__file__).parents[2] / "samples"


def nearest_next(strokes):
    """Travel in mm when, work by work, the nearest stroke is next, from whichever end."""
    at, whole = np.zeros(2), 0.0
    for work in Work:
        left = [s.points[[0, -1]] for s in strokes if s.work is work]
        while left:
            gaps = np.hypot(*(np.array(left) - at).transpose(2, 0, 1))
            nth, end = np.unravel_index(gaps.argmin(), gaps.shape)
            whole += float(gaps[nth, end])
            at = left.pop(int(nth))[1 - int(end)]
    return whole


def main():
    seconds = asked(__doc__, "seconds", usual=3, smoke=0)
    for file in sorted(SAMPLES.glob("*/set.toml")):
        made = job.plan(
            job.Request(job.read_set(file), job.load_machine("roll-plotter"), seconds=seconds)
        )
        for sheet in made.sheets:
            began = time.perf_counter()
            route = order(sheet.strokes)
            took = time.perf_counter() - began
            print(
                f"{file.parent.name} sheet {sheet.number}: {len(sheet.strokes)} strokes, "
                f"{len(route.strokes)} once joined; as read {route.travel_as_read:.0f} mm, nearest "
                f"next {nearest_next(sheet.strokes):.0f} mm, now {route.travel:.0f} mm, "
                f"{took:.2f} s"
            )


if __name__ == "__main__":
    main()
