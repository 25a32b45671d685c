"""What a set of many pieces takes: CPU, memory and wall time of `make` without time for laying.

    python tests/bench/many.py [--pieces 500] [--smoke]

The pieces are invented, of 60 to 300 mm, to cut twice: quadrilaterals and hexagons from tables of
corners; and others whose top and foot are curves of nine pricks, 0.15 mm off (one sigma), every two
of them sewn together. A first run is not counted. Every figure is beside that of a tenth of the
pieces, and the exponent of growth between them: 1 is as much per piece. "CPU" is that of all
processes, memory the greatest of any process.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
from asking import asked

PRICKS, SCATTER = 9, 0.15  # of a curve; mm
SEWN = ("right", "left")  # the edges of two pieces


def written(folder: Path, pieces: int, *, curves: bool = False) -> Path:
    """Write a set of so many pieces with their drawings; return its file."""
    lines = ['[set]\nname = "Many"\nstyle = "MA-01"\nsize = "one size"\n']
    for index, rows in enumerate((_curved if curves else _straight)(pieces)):
        (folder / f"{index}.csv").write_text("\n".join(["x,y,run,kind", *rows]) + "\n")
        lines.append(
            f'[[piece]]\nname = "Piece {index}"\nfrom = {{ file = "{index}.csv" }}\n'
            'cut = [{ cloth = "self", count = 2 }]\n'
        )
    for index in range(0, pieces - 1 if curves else 0, 2):
        sides = [f'{{ piece = "Piece {index + k}", edges = "{e}" }}' for k, e in enumerate(SEWN)]
        lines.append(f'[[seam]]\nname = "{index}"\nfirst = {sides[0]}\nsecond = {sides[1]}\n')
    (folder / "set.toml").write_text("\n".join(lines))
    return folder / "set.toml"


def _straight(pieces: int) -> Iterator[list[str]]:
    """Yield the tables' rows of pieces with straight edges."""
    random = np.random.default_rng(5)
    for index in range(pieces):
        wide, tall = random.uniform(60.0, 300.0, 2).round(1)
        corners = [(0.0, 0.0), (wide, 0.0), (wide - random.uniform(0.0, 20.0), tall), (0.0, tall)]
        if index % 2:
            corners[3:3] = [(wide / 2.0, tall + 15.0)]
            corners[1:1] = [(wide / 2.0, -15.0)]
        rows = []
        for side, (x, y) in enumerate(corners):
            to_x, to_y = corners[(side + 1) % len(corners)]
            rows += [f"{x:.2f},{y:.2f},side {side},straight"]
            rows += [f"{to_x:.2f},{to_y:.2f},side {side},straight"]
        yield rows


def _curved(pieces: int) -> Iterator[list[str]]:
    """Yield the tables' rows of pieces with a curve at the top and the foot."""
    random = np.random.default_rng(5)
    tall = 0.0
    for index in range(pieces):
        wide, new = random.uniform(60.0, 300.0, 2).round(1)
        tall = tall if index % 2 else new
        rise, sag = random.uniform(5.0, 25.0, 2)
        x = np.linspace(0.0, wide, PRICKS)
        foot = np.column_stack([x, -sag * 4.0 * (x / wide) * (1.0 - x / wide)])
        top = np.column_stack([x, tall + rise * np.sin(np.pi * x / wide)])[::-1]
        for curve in (foot, top):
            curve[1:-1] += random.normal(0.0, SCATTER, curve[1:-1].shape)
        edges = {"foot": foot, "right": ((wide, 0.0), (wide, tall)),
                 "top": top, "left": ((0.0, tall), (0.0, 0.0))}  # fmt: skip
        yield [
            f"{x:.2f},{y:.2f},{name},{'straight' if name in SEWN else 'curve'}"
            for name, points in edges.items()
            for x, y in points
        ]


def taken(folder: Path, words: Sequence[object]) -> tuple[float, float, float]:
    """Return the CPU and wall seconds and the MiB that a command of plotout takes in a folder."""
    code = (
        "import resource, sys\nfrom plotout.cli import main\n"
        "try:\n    main()\nfinally:\n"
        "    own, others = (resource.getrusage(who).ru_maxrss for who in "
        "(resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))\n"
        "    print('most', max(own, others), file=sys.stderr)\n"
    )
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", code, *map(str, words)], cwd=folder, env=os.environ,
        capture_output=True,
    )  # fmt: skip
    wall = time.perf_counter() - start
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    told = done.stderr.decode()
    assert done.returncode == 0, told
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return cpu, wall, int(told.rsplit("most ", 1)[1]) / 1024.0


def made(pieces: int, *, curves: bool) -> tuple[float, float, float]:
    """Return the CPU and wall seconds and the MiB that making such a set takes."""
    with tempfile.TemporaryDirectory() as name:
        set_file = written(Path(name), pieces, curves=curves)
        words = ("make", set_file, "--machine", "laser", "--seconds", "0", "--out", "out")
        return taken(Path(name), words)


if __name__ == "__main__":
    many = asked(__doc__, "pieces", usual=500, smoke=20)
    made(2, curves=False)  # compiled loops are kept from then on
    print("edges     pieces       CPU      wall    memory   exponent   target")
    few = max(many // 10, 2)
    for curves in (False, True):
        earlier = 0.0
        for pieces in (few, many):
            cpu, wall, memory = made(pieces, curves=curves)
            exponent = f"{np.log(cpu / earlier) / np.log(many / few):8.2f}" if earlier else " " * 8
            target = "40 s CPU, 500 MiB for 500" if pieces == 500 else ""
            print(
                f"{'curves' if curves else 'straight':8} {pieces:7} {cpu:7.1f} s {wall:7.1f} s "
                f"{memory:5.0f} MiB {exponent}     {target}"
            )
            earlier = cpu
