"""Whether what machines do is what was drawn, in an order that works: every shipped machine.

python tests/bench/file_truth.py [--smoke] [--machine NAME] [--pictures FOLDER]

The sample, and a set of 48 small cards with acute corners, slits, cut-outs and holes, are laid,
worked and read back.
The reference walks through each program by itself: shapely says which card each cut lies on, and
none may come after that card's outline. The time is beside that of an integration of the file
(tests/tool/test_file_time.py). --pictures: one sheet in order of work, as a strip of frames;
samples/guides/pictures/in-order.png is that of the smoke run's laser.
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
from plotout.proof.scene import PAPER  # noqa: E402

CUTTERS = ("craft-cutter", "gantry-knife", "router", "laser")
SAMPLE = HERE.parent.parent / "samples" / "beekeepers-smock" / "set.toml"
MOST_OFF = 0.05  # of the time
OTHERS = ("roll-plotter", "home-a4", "home-letter", "copy-shop", "svg-file", "dxf-file")


def late(program: Program, sheet: Sheet) -> tuple[int, int]:
    """Return how many cuts lie on a card whose outline was finished before, and of how many."""
    last = {}
    for nth, run in enumerate(program.runs):
        if run.stroke.mark is Mark.OUTLINE and run.tool.tabs == 0:
            last[run.stroke.card] = nth
    wrong = whole = 0
    for placed in sheet.placed:
        area = shapely.Polygon(placed.outline).buffer(-0.1)
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


def instants(program: Program) -> list[tuple[int, str]]:
    """Return how many runs are done at moments that tell the order, and what is seen then."""
    last = {}
    for nth, run in enumerate(program.runs):
        if run.stroke.mark is Mark.OUTLINE:
            last[run.stroke.card] = nth + 1
    done = sorted(last.values())
    begun = [
        next(nth for nth, run in enumerate(program.runs)
             if run.stroke.mark is Mark.OUTLINE and last[run.stroke.card] == end)
        for end in done
    ]  # fmt: skip
    words = ("what is drawn, and holes", "slits and cut-outs first",
             "the first card's outline", "slits of the next card", "its outline")  # fmt: skip
    cut = next(nth for nth, run in enumerate(program.runs) if run.stroke.work is Work.CUT)
    moments = [cut, begun[0], done[0], begun[1], done[1]]
    return [*zip(moments, words, strict=True), (len(program.runs), "all of it")]


def strip(program: Program, sheet: Sheet) -> bytes:
    """Draw the cards of a sheet at moments of its work, side by side, as PNG.

    What was worked since the moment before is in its colour, the rest in grey.
    """
    from PIL import Image

    from plotout.proof.rendering import to_png
    from plotout.proof.scene import SceneLine, framed, scene

    labels, before, frames = program.stroke_numbers, 0, []
    corners = np.vstack([placed.outline for placed in sheet.placed])
    (left, bottom), (right, top) = corners.min(axis=0) - 4.0, corners.max(axis=0) + 4.0
    frame_of = np.array(
        [[left, bottom], [right, bottom], [right, top], [left, top], [left, bottom]]
    )
    for number, (upto, words) in enumerate(instants(program), start=1):
        lines = [SceneLine(frame_of, "stock")]
        for nth, run in enumerate(program.runs[:upto]):
            old = nth < before and upto < len(program.runs)
            kind = "stock" if old else run.stroke.work.value
            lines.append(SceneLine(run.points, kind, run.stroke.size))
        done = labels[upto - 1] if upto else 0
        note = f"{done} of {labels[-1]} strokes"
        picture = framed(scene(f"{number}. {words}", lines, (note,)))
        frames.append(Image.open(io.BytesIO(to_png(picture, 440))))
        before = upto
    across = 3
    wide, tall = max(f.width for f in frames), max(f.height for f in frames)
    whole = Image.new("RGB", (wide * across, tall * -(-len(frames) // across)), PAPER)
    for nth, frame in enumerate(frames):
        whole.paste(frame, (wide * (nth % across), tall * (nth // across)))
    out = io.BytesIO()
    whole.save(out, "PNG", optimize=True)
    return out.getvalue()


def measured(
    name: str, machine: job.Machine, work: job.Finished | PatternSet, title: str
) -> tuple[int, job.Made]:
    """Make a set on a machine; print what is wrong with it, and return how much that is."""
    made = job.plan(job.Request(work, machine, seconds=0.0))
    faults = [text for result in made.results for text in result.faults]
    wrong = whole = 0
    off = 0.0
    for result in made.results:
        if name in CUTTERS:
            pair = late(result.program, result.sheet)
            wrong, whole = wrong + pair[0], whole + pair[1]
        there = seconds_of(result.data, result.program)
        if there:
            off = max(off, abs(result.program.seconds / there - 1.0), key=abs)
    print(
        f"{title:8} {name:13} {len(made.results):2} sheets  {wrong} of {whole} cuts too late  "
        f"time off by {100 * off:.2f} %  read back: {faults[0] if faults else 'as meant'}",
        flush=True,
    )
    return len(faults) + wrong + (abs(off) > MOST_OFF), made


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--smoke", action="store_true")
    asked.add_argument("--pictures", type=Path)
    asked.add_argument("--machine", choices=CUTTERS + OTHERS, help="only this one")
    options = asked.parse_args()
    cards = tuple(small_card(nth) for nth in range(8 if options.smoke else 48))
    empty = PatternSet(name="Small", style="S-48", size="M", date="", pieces=())
    bad = 0
    every = ("laser",) if options.smoke else CUTTERS + OTHERS
    for name in (options.machine,) if options.machine else every:
        machine = job.load_machine(name)
        if machine.driver == "hpgl2":
            machine = replace(machine, options=dict(machine.options) | {"polylines": "absolute"})
        wrong, made = measured(name, machine, job.Finished(empty, cards), "small")
        bad += wrong
        if options.pictures and name in CUTTERS:
            options.pictures.mkdir(parents=True, exist_ok=True)
            first = made.results[0]
            path = options.pictures / f"{name}-in-order.png"
            path.write_bytes(strip(first.program, first.sheet))
        if not options.smoke:
            bad += measured(name, machine, job.read_set(SAMPLE), "sample")[0]
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
