"""How long drivers take for a large drawing, and how much memory: run by hand.

    python tests/bench/emit.py [--vertices 1000000] [--smoke]

Each driver runs in a process of its own. "peak" is the whole process's greatest resident size, and
"before" what it had before emitting (Python, the libraries, and the drawing itself). A second
table compares the bytes of curved outlines with those of their chords within half a step, as GEOS
thins them, in the plainest form of the format. A third compares the sample's encoded HP-GL/2 with
the least that its vectors take, as one endless relative instruction.
"""

from __future__ import annotations

import io
import math
import multiprocessing
import resource
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely
from asking import asked
from pypdf import PdfReader

from plotout import FloatArray, Mark, Program, Run, Sheet, Stroke, Tool, ToolKind, Work, plugins
from plotout.geometry.simplify import simplified
from plotout.kit import machine_matrix
from plotout.machine import Bed, Machine
from plotout.tool.tolerance import tolerance

SAMPLE = Path(__file__).parents[2] / "samples" / "beekeepers-smock" / "set.toml"
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


CHORD = {"gcode": "X%.2f Y%.2f\n", "svg": "L%.4f,%.4f", "pdf-page": "%.5f %.5f l\n"}


def outlines() -> dict[str, FloatArray]:
    """Return curves by their equations, mm: a hole, a neck, an armhole, a hem, an outline."""
    turn = np.linspace(0.0, 2.0 * np.pi, 20001)
    circle = np.column_stack([np.cos(turn), np.sin(turn)])
    u = np.linspace(0.0, 1.0, 20001)[:, None]
    corners = np.array([[0.0, 0.0], [110.0, 10.0], [40.0, 150.0], [150.0, 230.0]])
    weights = np.hstack([(1 - u) ** 3, 3 * u * (1 - u) ** 2, 3 * u * u * (1 - u), u**3])
    flat = turn / 25.0 + 1.45
    hem = np.column_stack([np.cos(flat), np.sin(flat)]) * 1500.0 + (0.0, -1400.0)
    wave = 100.0 + 12.0 * np.cos(3.0 * turn) + 6.0 * np.sin(5.0 * turn + 1.0)
    return {
        "hole of 8 mm": circle * 4.0 + 200.0,
        "half-ellipse neck": circle[:10001] * (90.0, 70.0) + 200.0,
        "S-shaped armhole": weights @ corners + 200.0,
        "hem of 1.5 m radius": hem + 200.0,
        "wavy outline": circle * wave[:, None] + 200.0,
    }


def compare_curves() -> None:
    """Print the bytes of curved outlines, uncompressed, in formats with curves."""
    print(f"{'curve':20} {'driver':9} {'chords':>7} {'their bytes':>11} {'bytes':>6} {'ratio':>6}"
          "   wanted <= 0.33")  # fmt: skip
    for title, curve in outlines().items():
        for name, form in CHORD.items():
            step = 0.01 if name != "pdf-page" else 0.025
            line = shapely.LineString(curve).simplify(step / 2.0)
            plain = "".join(form % point for point in line.coords)
            pen = Tool("pen", 1, ToolKind.PEN, (Work.DRAW,), 250.0)
            machine = Machine("b", "B", "pen", name, Bed(900.0, 900.0), (pen,), step=step)
            ends = curve[[0, -1]], simplified(curve, tolerance(pen, step, arcs=True).line)
            made = []
            for points in ends:  # what a file holds beside the curve is taken off
                run = Run(points, pen, Stroke(points, Work.DRAW, Mark.INTERNAL), pen.speed)
                program = Program("bench", machine, 900.0, 900.0, (run,))
                made.append(plugins.driver(name).emit(program, Sheet("b", 1, 900.0, 900.0, ())))
            more = len(unpacked(made[1])) - len(unpacked(made[0]))
            print(f"{title:20} {name:9} {len(line.coords):7} {len(plain):11} {more:6} "
                  f"{more / len(plain):6.2f}")  # fmt: skip


def compare_encoded() -> None:
    """Print the bytes of the sample's sheets in HP-GL/2 beside the least possible: of one polyline,
    in which every stroke begins relative to the end of the one before.
    """
    from plotout import job

    machine = job.load_machine("roll-plotter")
    request = job.Request(job.read_set(SAMPLE), machine, seconds=0.0)
    print(f"{'encoded HP-GL/2':16} {'strokes':>7} {'bytes':>7} {'least':>7} {'ratio':>6}"
          "   wanted <= 1.05")  # fmt: skip
    for sheet in job.plan(request).results:
        options = {"polylines": "encoded"}
        encoded = replace(sheet.program, machine=replace(machine, driver="hpgl2", options=options))
        data = plugins.driver("hpgl2").emit(encoded, sheet.sheet)
        turned = machine_matrix(machine, encoded.width, encoded.height) / machine.step
        steps = []
        for run in encoded.runs:
            path = np.rint(run.points @ turned[:, :2].T + turned[:, 2])
            steps.append(path[np.append(True, np.any(path[1:] != path[:-1], axis=1))])
        least = 0
        at = np.zeros(2)
        for path in steps:
            least += len(b"<") + digits(path[0] - at) + digits(np.diff(path, axis=0))
            at = path[-1]
        print(f"{f'sheet {sheet.sheet.number}':16} {len(steps):7} {len(data):7} {least:7} "
              f"{len(data) / least:6.2f}")  # fmt: skip


def digits(values: FloatArray) -> int:
    """Return how many base-64 digits whole numbers take, with their signs."""
    return sum(max(1, math.ceil((2 * abs(int(v)) + 1).bit_length() / 6)) for v in values.ravel())


def unpacked(data: bytes) -> bytes:
    """Return a PDF's page content; any other file unchanged."""
    if not data.startswith(b"%PDF"):
        return data
    return b"".join(page.get_contents().get_data() for page in PdfReader(io.BytesIO(data)).pages)


def main() -> None:
    """Measure every driver."""
    vertices = asked(__doc__, "vertices", usual=1_000_000, smoke=5_000)
    spawn = multiprocessing.get_context("spawn")
    for name, options in WAYS:
        for runs in (1, max(1, vertices // 100)):
            for smooth in (False, True) if plugins.driver(name).arcs else (False,):
                told = vertices, runs, name, options, smooth
                worker = spawn.Process(target=measure, args=told)
                worker.start()
                worker.join()
    compare_curves()
    compare_encoded()


if __name__ == "__main__":
    main()
