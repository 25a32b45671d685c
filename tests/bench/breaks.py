"""Jobs broken off at random, at machines written from the notes: what is lost, what is cut twice.

Run by hand: python tests/bench/breaks.py [--smoke] [--language hpgl|gcode|lines] [--count N]
    [--jobs N] [--first SEED] [--minutes M]
Each trial has its own seed, which names it: --first SEED --count 1 --show runs one again and prints
all that was said.
"""

from __future__ import annotations

import argparse
import collections
import json
import os
import random
import sys
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor, as_completed
from itertools import pairwise
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from machines_from_notes import gcode, hpgl, lines  # noqa: E402
from machines_from_notes.simulated import Wire  # noqa: E402
from programs import program  # noqa: E402
from trial import Break, Trial, said_in, strokes_of  # noqa: E402

STEP = 0.025  # mm of an HP-GL plotter unit
GREETINGS = (b"Grind 1.1h ['$' for help]", b"Frase 2.0", b"start", b"Guten Tag")
KINDS = ("kill", "unplug", "reset", "kill-reset", "int", "term", "hup", "q", "close")
LANGUAGES = ("hpgl", "gcode", "lines")
PROFILE = """title = "Trial"
kind = "{kind}"
driver = "{driver}"
step = "{step} mm"
[bed]
length = "400 mm"
width = "300 mm"
[motion]
travel-speed = "1000 mm/s"
[[tools]]
name = "tool"
number = 1
kind = "{tool}"
depth = 1
power = 100
does = ["draw", "cut", "score", "punch"]
speed = "400 mm/s"
{options}
[sending]
flow = "{flow}"
baud = {baud}
buffer = {buffer}
patience = "8 s"
{answers}
"""


def shapes(rng: random.Random, count: int) -> list[list[tuple[float, float]]]:
    """Return closed and open lines that don't touch, mm."""
    lines = []
    for nth in range(count):
        x, y = 10.0 + nth % 6 * 30.0, 10.0 + nth // 6 * 30.0
        w, h = rng.uniform(5.0, 20.0), rng.uniform(5.0, 20.0)
        if rng.random() < 0.6:
            line = [(x, y), (x + w, y), (x + w, y + h), (x, y + h), (x, y)]
        else:
            line = [(x, y), (x + w, y + h / 3.0), (x, y + h / 2.0), (x + w, y + h)]
            line = line[: rng.choice((2, 3, 4))]
        lines.append([(round(a / STEP) * STEP, round(b / STEP) * STEP) for a, b in line])
    return lines


def hpgl_file(rng: random.Random, count: int) -> bytes:
    """Return a plot file; encoded in some, with its strokes begun by PU or as the driver does."""
    encoded = rng.random() < 0.3
    whole = encoded and rng.random() < 0.7
    lines = plotted(shapes(rng, count), encoded, whole)
    return lines + (b"PU0,0;SP0;" if rng.random() < 0.4 else b"PU;SP0;")


def plotted(lines: list[list[tuple[float, float]]], encoded: bool, whole: bool = False) -> bytes:
    """Return lines, mm, as the beginning of a plot file, up to its last stroke.

    whole: an encoded stroke is one instruction, with the move to its start.
    """
    parts = [b"IN;SP1;VS40;PA;"]
    for line in lines:
        units = [(round(x / STEP), round(y / STEP)) for x, y in line]
        if not whole:
            parts.append(b"PU%d,%d;" % units[0])
        if encoded:
            steps = [(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(units)]
            steps = [units[0], *steps] if whole else steps
            parts.append(
                b"PE" + b"<=" * whole + b"".join(_coded(v) for step in steps for v in step) + b";"
            )
        else:
            parts.append(b"PD" + b",".join(b"%d,%d" % each for each in units[1:]) + b";")
    return b"".join(parts)


def _coded(value: int) -> bytes:
    left = 2 * value if value >= 0 else 1 - 2 * value
    out = bytearray()
    while left >= 64:
        out.append(63 + left % 64)
        left //= 64
    return bytes([*out, 191 + left])


def gcode_file(rng: random.Random, count: int, beam: bool, ramps: bool = False) -> bytes:
    """Return a program for a knife that Z lets down, or for a beam; some lines are arcs. ramps: the
    knife comes out of the stock along a stroke's last line.
    """
    lines = ["(sheet trial)", "G21", "G90", "G17", "G94", "M5"]
    for line in shapes(rng, count):
        (x, y), *rest = line
        lines += ["M5"] if beam else ["G0 Z5.000"]
        lines.append(f"G0 X{x:.3f} Y{y:.3f}")
        lines += ["M4 S500"] if beam else ["G1 Z-1.000 F3000"]
        feed = " F15000"
        for nth, (a, b) in enumerate(rest):
            arc = nth == 1 and rng.random() < 0.4
            bend = f" I{(a - rest[0][0]) / 2.0:.4f} J{(b - rest[0][1]) / 2.0:.4f}" if arc else ""
            out = " Z1.000" if ramps and nth == len(rest) - 1 else ""
            lines.append(f"{'G3' if arc else 'G1'} X{a:.3f} Y{b:.3f}{out}{bend}{feed}")
            feed = ""
    lines += ["M5"] if beam else ["G0 Z5.000"]
    if rng.random() < 0.4:
        lines.append("G0 X0.000 Y0.000")
    return ("\n".join([*lines, "M5", "M2"]) + "\n").encode()


def breaks(rng: random.Random, count: int, flow: str) -> list[Break]:
    """Return what goes wrong, and when."""
    told = []
    for nth in range(rng.choice((1, 1, 2, 3))):
        after = rng.choice((0, 1, count - 1, count, rng.randint(1, count), rng.randint(1, count)))
        if nth and rng.random() < 0.4:
            after = -rng.uniform(0.1, 2.0)
        told.append(Break(rng.choice(KINDS), after, rng.choice((0.0, rng.uniform(0.0, 0.1)))))
    return told


def machine_of(language: str, rng: random.Random) -> tuple[Any, dict[str, Any]]:
    """Return a machine with habits of its own, and what its profile says."""
    slows = rng.choice((0.0, 0.0, 0.05, 0.2, 0.5))
    boot = rng.choice((0.0, 0.0, 0.2, 1.0, 5.0))
    said = {"step": STEP, "options": "", "answers": "", "baud": 115200}
    if language == "lines":
        return _line_reader(rng, boot, said)
    if language == "gcode":
        beam = rng.random() < 0.3
        checks = rng.random() < 0.2
        garbled = tuple(rng.sample(range(4, 90), 3)) if checks and rng.random() < 0.7 else ()
        habits = gcode.Habits(
            greeting=rng.choice(GREETINGS),
            boot=boot, boots_on_open=rng.random() < 0.25, line_numbers=rng.random() < 0.6,
            keeps_number=rng.random() < 0.3, room=rng.random() < 0.7,
            work_place=rng.random() < 0.2, deceleration=slows,
            offset=rng.choice(((0.0, 0.0, 0.0), (0.0, 0.0, 0.0), (31.0, -12.5, -2.0))),
            offset_every=rng.choice((10, 30)), ok=rng.choice(("ok", "ok", "full", "number")),
            busy=rng.choice((0.0, 0.0, 0.2)), echo=rng.random() < 0.15, beam=beam,
            starts_with=rng.choice((b"", b"", b"G54")),
            settings={32: 1} if beam else {}, loses_ok=rng.choice(((), (), (), (23,))),
            checksums=checks, garbles=garbled,  # without a checksum nobody can find a line damaged
        )  # fmt: skip
        flow = "ok" if rng.random() < 0.9 else "rts-cts"
        said |= {"kind": "laser" if beam else "knife", "driver": "gcode", "buffer": 128,
                 "tool": "beam" if beam else "creaser", "flow": flow,
                 "options": '[options]\ntool = "laser"' if beam else ""}  # fmt: skip
        return gcode.Controller(habits), said
    flow = rng.choice(("enquiry", "enquiry", "enq-ack", "xon-xoff", "rts-cts"))
    own = {"xon-xoff": "xon-xoff", "rts-cts": "hardware"}.get(flow, "enquiry")
    answers = flow in ("enquiry", "enq-ack") or rng.random() < 0.5
    habits = hpgl.Habits(
        buffer=rng.choice((256, 1024)), answers=answers, flow=own, boot=boot,
        deceleration=slows, drops=rng.random() < 0.8, waits_to_tell_size=rng.random() < 0.3,
        loses_ack=rng.choice(((), (), (3,))),
    )  # fmt: skip
    said |= {"kind": "pen", "driver": "hpgl", "buffer": habits.buffer, "tool": "pen", "flow": flow,
             "answers": _wire(answers, habits.drops), "baud": 19200}  # fmt: skip
    return hpgl.Plotter(habits), said


def _line_reader(rng: random.Random, boot: float, said: dict[str, Any]) -> Any:
    """Return a machine that only reads lines, and what its profile says."""
    beam = rng.random() < 0.3
    garbled = tuple(rng.sample(range(8, 150), 3)) if rng.random() < 0.3 else ()
    odd = rng.choice(((), (), tuple(range(20, 150, 25)), tuple(rng.sample(range(15, 120), 3))))
    habits = lines.Habits(
        greeting=rng.choice(GREETINGS), glued=rng.random() < 0.3, boot=boot,
        boots_on_open=rng.random() < 0.25, ok=rng.choice(("ok", "ok", "full", "number")),
        place_in_ok=rng.random() < 0.2, again=rng.choice(("Resend: ", "Resend:", "rs ", "rs N")),
        ok_after_again=rng.random() < 0.7, busy=rng.choice((0.0, 0.5, 2.0)), beam=beam,
        limits=rng.choice(((0.0, 0.0, 0.0), (400.0, 300.0, 50.0))),
        tells_limits=rng.random() < 0.5, bare_m110=rng.random() < 0.5, tight=rng.random() < 0.2,
        ok_first=rng.random() < 0.15, garbles=garbled,
        loses_ok=rng.choice(((), (), (23,), odd)), doubles_ok=rng.choice(((), (), odd)),
    )  # fmt: skip
    said |= {"kind": "laser" if beam else "knife", "driver": "gcode", "buffer": 128,
             "answers": 'language = "gcode-lines"', "tool": "beam" if beam else "creaser",
             "flow": "ok", "options": '[options]\ntool = "laser"' if beam else ""}  # fmt: skip
    return lines.LineReader(habits), said


def _wire(answers: bool, drops: bool) -> str:
    words = f"answers = {str(answers).lower()}"
    return words if drops else f"{words}\ndrops = false"  # its user knows its manual


def whole(language: str, machine: Any, data: bytes) -> list[Any]:
    """Return the strokes that a machine of the same habits makes of the file, all going well."""
    other = type(machine)(type(machine.habits)(**_plain(machine.habits)))
    at = 0
    while at < len(data) or not other.at_rest:
        if at < len(data) and other.room > 64:
            other.feed(data[at : at + 32])
            at += 32
        other.advance(0.05)
    assert not other.overflows
    return strokes_of(other.head.marks, STEP if language == "hpgl" else 1.0)


def _plain(habits: Any) -> dict[str, Any]:
    values = {name: getattr(habits, name) for name in habits.__dataclass_fields__}
    sound = {"boot": 0.0, "boots_on_open": False, "locked": False, "loses_ok": (), "garbles": (),
             "checksums": False, "deceleration": 0.0, "doubles_ok": ()}  # fmt: skip
    return values | {name: value for name, value in sound.items() if name in values}


def one(language: str, seed: int, show: bool = False) -> dict[str, Any]:
    """Run one trial; return its figures."""
    rng = random.Random(f"{language}-{seed}")
    machine, said = machine_of(language, rng)
    count = rng.randint(8, 14)
    beam = said["tool"] == "beam"
    if language == "hpgl":
        data = hpgl_file(rng, count)
    elif language == "gcode" and rng.random() < 0.5:
        data = program(rng, shapes(rng, count), beam)
    else:  # machines that only read lines want a motion in each
        data = gcode_file(rng, count, beam, ramps=not beam and rng.random() < 0.4)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        file, profile = folder / "job.txt", folder / "trial.toml"
        file.write_bytes(data)
        profile.write_text(PROFILE.format(**said))
        wire = Wire(machine, said["baud"], said["flow"], tells=rng.random() < 0.5)
        (folder / "port").touch()
        mm = STEP if language == "hpgl" else 1.0
        trial = Trial(wire, file, profile, whole(language, machine, data), folder, mm)
        plan = breaks(rng, count, said["flow"])
        begun = time.perf_counter()
        result = trial.run(plan)
        told = result.__dict__ | {
            "language": language, "seed": seed, "flow": said["flow"], "strokes": count,
            "breaks": [each.__dict__ for each in plan], "seconds": time.perf_counter() - begun,
            "answers": said["answers"], "errors": getattr(machine, "errors", [])[:5],
            "decel": machine.habits.deceleration,
            "drops": getattr(machine.habits, "drops", True),
            "reset": result.reset or getattr(machine.habits, "boots_on_open", False),
        }  # fmt: skip
        if show:
            print(machine.habits, said, plan)
            print(data.decode("latin-1")[:3000])
            print(said_in(folder))
    return told


def main() -> None:
    """Run trials and print a table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--smoke", action="store_true")
    parser.add_argument("--show", action="store_true")
    parser.add_argument("--language", choices=LANGUAGES)
    parser.add_argument("--count", type=int, default=1000)
    parser.add_argument("--jobs", type=int, default=2 * (os.cpu_count() or 1))
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--minutes", type=float, default=600.0, help="begin no trial later")
    parser.add_argument("--breaks", type=int, help="begin no trial after so many breaks")
    asked = parser.parse_args()
    count = 3 if asked.smoke else asked.count
    for language in (asked.language,) if asked.language else LANGUAGES:
        seeds = range(asked.first, asked.first + count)
        measure(language, seeds, asked.jobs, asked.breaks, asked.minutes, asked.show)


def measure(
    language: str, seeds: range, jobs: int, most: int | None = None, minutes: float = 600.0,
    show: bool = False,
) -> None:  # fmt: skip
    """Run trials and print a table. most: begin none after so many breaks."""
    begun, made = time.monotonic(), 0
    one(language, 0)  # so that all is loaded once, before forking
    with ProcessPoolExecutor(jobs) as pool:
        waiting = [pool.submit(one, language, seed, show) for seed in seeds]
        results = []
        for each in as_completed(waiting):
            if each.cancelled():
                continue
            results.append(_shown(each.result()))
            made += len(results[-1]["breaks"])
            if not len(results) % 20:
                print(f"  so far {len(results)} jobs, {made} breaks", flush=True)
            if made >= (most or made + 1) or time.monotonic() - begun > 60.0 * minutes:
                for other in waiting:
                    other.cancel()
    print(f"seeds from {seeds.start}")
    table(language, results, time.monotonic() - begun)


def _shown(each: dict[str, Any]) -> dict[str, Any]:
    """Print what went wrong in a trial, if anything did, at once."""
    bad = any(
        each[key] for key in ("lost", "hangs", "lies", "failed", "twice_untold", "part_untold")
    )
    if bad or (not each["reset"] and (each["twice"] or each["astray"])):
        print("  bad:", json.dumps(each)[:900], flush=True)
    slow = each["drops"] and any(up - each["decel"] > 0.1 for up in each["stop_seconds"])
    if slow or each["overflows"]:
        print("  look:", json.dumps(each)[:900], flush=True)
    return each


def table(language: str, results: list[dict[str, Any]], seconds: float) -> None:
    """Print what came of it."""
    made = sum(len(each["breaks"]) for each in results)
    strokes = sum(each["strokes"] for each in results)
    sums: collections.Counter[str] = collections.Counter()
    for each in results:
        for key in ("lost", "hangs", "lies", "asked", "overflows"):
            sums[key] += each[key]
        sums["astray"] += 0 if each["reset"] else each["astray"]
        sums["after reset"] += each["twice"] if each["reset"] else 0
        sums["twice"] += 0 if each["reset"] else each["twice"]
        sums["untold"] += each["twice_untold"]
        sums["part untold"] += each["part_untold"]
        sums["failed"] += bool(each["failed"])
    print(f"{language}: {len(results)} jobs, {made} breaks, {strokes} strokes, {seconds:.0f} s")
    print(f"  strokes lost                        {sums['lost']:5d}   target 0")
    print(f"  cut twice, machine stayed on        {sums['twice']:5d}   target 0")
    print(f"  cut twice after a reset             {sums['after reset']:5d}   all told")
    print(f"    of these not told                 {sums['untold']:5d}   target 0")
    print(f"  cut again in part, not told         {sums['part untold']:5d}   target 0")
    print(f"  marks where none was meant          {sums['astray']:5d}   target 0")
    print(f"  hangs over 30 s                     {sums['hangs']:5d}   target 0")
    print(f"  'tool up' with the tool down        {sums['lies']:5d}   target 0")
    print(f"  jobs that could not be ended        {sums['failed']:5d}   target 0")
    print(f"  bytes that the machine had no room  {sums['overflows']:5d}   target 0")
    print(f"  user asked where to go on           {sums['asked']:5d}")
    for drops, of in ((True, "that drop what they hold (target 0.1)"), (False, "of the others")):
        stopped = [each for each in results if each["drops"] == drops]
        ups = sorted(up - each["decel"] for each in stopped for up in each["stop_seconds"])
        if ups:
            print(f"  s to tool up less deceleration: median {ups[len(ups) // 2]:.3f}, greatest "
                  f"{ups[-1]:.3f}, {len(ups)} stops of machines {of}")  # fmt: skip


if __name__ == "__main__":
    main()
