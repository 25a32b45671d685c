"""How long drivers take for a large drawing, and how much memory: run by hand.

    python tests/bench/emit.py [VERTICES | --smoke]

Each driver runs in a process of its own. "peak" is the whole process's greatest resident size, and
"before" what it had before emitting (Python, the libraries, and the drawing itself).
"""

from __future__ import annotations

import multiprocessing
import resource
import sys
import time

import numpy as np

from plotout import FloatArray, Mark, Program, Run, Sheet, Stroke, Tool, ToolKind, Work, plugins
from plotout.machine import Bed, Machine

WAYS = (
    ("hpgl", {"polylines": "absolute"}),
    ("hpgl", {"polylines": "relative"}),
    ("hpgl2", {"polylines": "encoded"}),
    ("gcode", {}),
    ("svg", {}),
    ("dxf", {}),
    ("pdf-page", {}),
)


def turns(vertices: int, smooth: bool) -> FloatArray:
    """Return how far a line turns at each vertex, radians: anyhow, or in curves without corners."""
    rng = np.random.default_rng(1)
    if not smooth:
        return rng.normal(0.0, 0.3, vertices)
    knots = np.arange(0, vertices + 50, 50)
    return np.interp(np.arange(vertices), knots, rng.normal(0.0, 0.05, len(knots)))


def drawing(
    vertices: int, runs: int, driver: str, options: dict[str, str], smooth: bool = False
) -> Program:
    """Return a program of a wandering line, cut into runs."""
    pen = Tool("pen", 1, ToolKind.PEN, (Work.DRAW,), 250.0)
    machine = Machine("bench", "Bench", "pen", driver, Bed(3000.0, 900.0), (pen,), options=options)
    way = np.cumsum(turns(vertices, smooth))
    line = np.cumsum(np.column_stack([np.cos(way), np.sin(way)]), axis=0)
    line = (line - line.min(axis=0)) / np.ptp(line, axis=0) * (3000.0, 900.0)
    parts = [
        Run(part, pen, Stroke(part, Work.DRAW, Mark.INTERNAL), pen.speed)
        for part in np.array_split(line, runs)
    ]
    return Program("bench", machine, 3000.0, 900.0, tuple(parts))


def measure(
    vertices: int, runs: int, name: str, options: dict[str, str], smooth: bool = False
) -> None:
    """Print one driver's figures."""
    driver = plugins.driver(name)
    sheet = Sheet("bench", 1, 3000.0, 900.0, ())
    driver.emit(drawing(2, 1, name, options), sheet)  # its libraries are loaded
    program = drawing(vertices, runs, name, options, smooth)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    start = time.perf_counter()
    data = driver.emit(program, sheet)
    seconds = time.perf_counter() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    title = " ".join([name, *options.values(), *["curves"] * smooth])
    print(
        f"{title:18} {vertices:9,} vertices {runs:6,} runs {seconds:7.2f} s "
        f"{before:6.0f} MiB before {peak:6.0f} MiB peak {len(data) / vertices:6.2f} bytes/vertex",
        flush=True,
    )


def main() -> None:
    """Measure every driver."""
    asked = sys.argv[1] if len(sys.argv) > 1 else "1000000"
    vertices = 5_000 if asked == "--smoke" else int(asked)
    spawn = multiprocessing.get_context("spawn")
    for name, options in WAYS:
        for runs in (1, max(1, vertices // 100)):
            for smooth in (False, True) if name == "gcode" else (False,):  # it looks for arcs
                told = vertices, runs, name, options, smooth
                worker = spawn.Process(target=measure, args=told)
                worker.start()
                worker.join()


if __name__ == "__main__":
    main()
