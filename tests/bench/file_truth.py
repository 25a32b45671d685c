"""Whether what machines do is what was drawn, in an order that works: every shipped machine.

python tests/bench/file_truth.py [--smoke] [--pictures FOLDER]

A set of 48 small cards with acute corners, slits, cut-outs and holes is laid, worked and read back.
The reference walks through each program by itself: shapely says which card each cut lies on, and
none may come after that card's outline. The time is beside that of an integration of the file
(tests/tool/test_file_time.py). --pictures: one sheet in order of work, as a strip of frames.
"""

from __future__ import annotations

import argparse
import io
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent), str(HERE.parent / "tool")]

from proof.test_sequence import small_card  # noqa: E402
from test_file_time import gcode_seconds, hpgl_seconds  # noqa: E402

from plotout import job  # noqa: E402
from plotout.geometry.strokes import Mark, Work  # noqa: E402
from plotout.model import Program, Sheet  # noqa: E402
from plotout.pattern.model import PatternSet  # noqa: E402

CUTTERS = ("craft-cutter", "gantry-knife", "router", "laser")
OTHERS = ("roll-plotter", "home-a4", "copy-shop", "svg-file", "dxf-file")


def late(program: Program, sheet: Sheet) -> tuple[int, int]:
    """Return how many cuts lie on a card whose outline was finished before, and of how many."""
    last = {}
    for nth, run in enumerate(program.runs):
        if run.stroke.mark is Mark.OUTLINE and run.tool.tabs == 0:
            last[run.stroke.card] = nth
    wrong = whole = 0
    for placed in sheet.placed:
        area = shapely.Polygon(placed.outline).buffer(-program.machine.reach - 0.1)
        for nth, run in enumerate(program.runs):
            if run.stroke.mark is Mark.OUTLINE or run.stroke.work is not Work.CUT:
                continue
            line = shapely.LineString(run.points) if len(run.points) > 1 else None
            if line is not None and area.intersects(line):
                whole += 1
                wrong += nth > last.get(placed.card.id, len(program.runs))
    return wrong, whole


def seconds_of(data: bytes, program: Program) -> float | None:
    machine = program.machine
    if machine.driver == "gcode":
        return gcode_seconds(data, machine)
    if machine.driver in ("hpgl", "hpgl2"):
        return hpgl_seconds(data, machine)
    return None


def strip(program: Program, sheet: Sheet, count: int = 6) -> bytes:
    """Draw the sheet after each sixth of its work, side by side, as PNG."""
    from PIL import Image

    from plotout.proof.picture import program_scene
    from plotout.proof.rendering import to_png
    from plotout.proof.scene import framed, scene

    numbers = np.array(program.stroke_numbers)
    frames = []
    for nth in range(1, count + 1):
        upto = int(np.searchsorted(numbers, program.strokes * nth // count, side="right"))
        part = replace(program, runs=program.runs[:upto])
        lines = [line for line in program_scene(part, sheet).lines if line.kind != "travel"]
        title = f"{program.strokes * nth // count} of {program.strokes} strokes"
        frames.append(Image.open(io.BytesIO(to_png(framed(scene(title, lines)), 700))))
    across = 3
    wide, tall = max(f.width for f in frames), max(f.height for f in frames)
    whole = Image.new("RGB", (wide * across, tall * -(-count // across)), "white")
    for nth, each in enumerate(frames):
        whole.paste(each, (wide * (nth % across), tall * (nth // across)))
    out = io.BytesIO()
    whole.save(out, "PNG")
    return out.getvalue()


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--smoke", action="store_true")
    asked.add_argument("--pictures", type=Path)
    options = asked.parse_args()
    count = 8 if options.smoke else 48
    cards = tuple(small_card(nth) for nth in range(count))
    names = ("laser",) if options.smoke else CUTTERS + OTHERS
    bad = 0
    for name in names:
        machine = job.load_machine(name)
        if machine.driver == "hpgl2":
            machine = replace(machine, options=dict(machine.options) | {"polylines": "absolute"})
        empty = PatternSet(name="Small", style="S-48", size="M", date="", pieces=())
        made = job.plan(job.Request(job.Finished(empty, cards), machine, seconds=0.0))
        faults = [text for each in made.results for text in each.faults]
        wrong = whole = 0
        off = 0.0
        for each in made.results:
            if name in CUTTERS:
                pair = late(each.program, each.sheet)
                wrong, whole = wrong + pair[0], whole + pair[1]
            there = seconds_of(each.data, each.program)
            if there:
                off = max(off, abs(each.program.seconds / there - 1.0), key=abs)
        bad += bool(faults) + wrong
        print(
            f"{name:13} {len(made.results):2} sheets  {wrong} of {whole} cuts too late  "
            f"time off by {100 * off:.2f} %  read back: {faults[0] if faults else 'as meant'}"
        )
        if options.pictures and name in CUTTERS:
            options.pictures.mkdir(parents=True, exist_ok=True)
            first = made.results[0]
            path = options.pictures / f"{name}-in-order.png"
            path.write_bytes(strip(first.program, first.sheet))
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
