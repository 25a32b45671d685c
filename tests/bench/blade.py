"""Compensating a line of 1,000,000 vertices for a trailing blade; run by hand.

    python tests/bench/blade.py [--vertices 1000000] [--smoke]

Prints one JSON object: seconds for the pivot's path alone, and for a whole program with time. Each
is the best of three, in this process. The aim is under 3 s for a million.
"""

from __future__ import annotations

import json
import resource
import time

import numpy as np
from asking import asked

from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.machine import Bed, Machine, Tool, ToolKind
from plotout.model import Sheet
from plotout.tool import compile_sheet
from plotout.tool.blade import led


def curve(count: int) -> np.ndarray:
    """A long wavy line with a sharp corner every 500 vertices, 20 vertices to the mm."""
    along = np.linspace(0.0, count / 20.0, count)
    height = 20.0 * np.sin(along / 9.0) + 6.0 * np.abs((along / 25.0) % 2.0 - 1.0)
    return np.column_stack([along + 10.0, height + 100.0])


def best(work, times: int = 3) -> float:
    """Return the least of several timings, s."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return min(taken)


def main() -> None:
    """Measure and print."""
    count = asked(__doc__, "vertices", usual=1_000_000, smoke=5_000)
    line = curve(count)
    tool = Tool("b", 1, ToolKind.TRAILING_BLADE, (Work.CUT,), 60.0, 200.0, offset=0.5)
    machine = Machine("m", "M", "knife", "hpgl", Bed(1e6, 300.0), (tool,))
    sheet = Sheet("s", 1, count / 20.0 + 100.0, 300.0, ())
    strokes = [Stroke(line, Work.CUT, Mark.INTERNAL)]
    program = compile_sheet(sheet, strokes, machine)
    report = {
        "vertices": count,
        "pivot_seconds": round(best(lambda: led(line, 0.5, 0.0, 0.003)), 3),
        "program_seconds": round(best(lambda: compile_sheet(sheet, strokes, machine)), 3),
        "vertices_out": sum(len(run.points) for run in program.runs),
        "peak_mib": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024,
    }
    print(json.dumps(report))


if __name__ == "__main__":
    main()
