"""Pauses at random moments, at machines written from the notes: what is still worked, what is said.

Run by hand: python tests/bench/pauses.py [--smoke] [--language hpgl|gcode|lines] [--count N]
    [--first SEED] [--minutes M]
After the key a machine may work only the strokes whose bytes were out by then, and the one that was
being sent. "Paused at rest" must be true: nothing moves afterwards, the tool is up, and as many
strokes were worked as it says. After the second key the rest is worked, nothing lost or twice. On a
simulated clock.
"""

from __future__ import annotations

import argparse
import random
import re
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from breaks import PROFILE, STEP, gcode_file, hpgl_file, whole  # noqa: E402
from line_use import FLOWS as OF_LINES  # noqa: E402
from machines_from_notes import gcode, hpgl, lines  # noqa: E402
from machines_from_notes.simulated import Sender, Wire  # noqa: E402
from trial import coverage  # noqa: E402

FLOWS = {**OF_LINES, "lines": ("ok",)}
PAUSE = 8.0  # s between the keys
SEEN = 2.0  # s of real time for a key to be heard


@dataclass
class Pause:
    """pressed: when; out: bytes sent by then; at_rest: when it said so, and the work by then."""

    pressed: float = 0.0
    out: int = 0
    went_on: float = 0.0
    rested: int = -1
    moved: bool = False
    down: bool = False
    strokes: int = 0
    worked: int = 0
    sent: int = 0
    faults: list[str] = field(default_factory=list)


def machine_of(language: str, rng: random.Random) -> tuple[Any, dict[str, Any]]:
    """Return a machine that answers, and what its profile says."""
    flow = rng.choice(FLOWS[language])
    said: dict[str, Any] = {"step": STEP, "options": "", "flow": flow, "driver": language}
    if language == "gcode":
        said |= {"kind": "knife", "tool": "creaser", "buffer": 128, "answers": "", "baud": 115200}
        habits = gcode.Habits(line_numbers=rng.random() < 0.6, room=rng.random() < 0.7)
        return gcode.Controller(habits), said
    if language == "lines":
        said |= {"kind": "knife", "tool": "creaser", "buffer": 128, "baud": 115200}
        said |= {"driver": "gcode", "answers": 'language = "gcode-lines"'}
        return lines.LineReader(lines.Habits(busy=rng.choice((0.0, 2.0)))), said
    own = {"xon-xoff": "xon-xoff", "rts-cts": "hardware", "dtr": "hardware"}
    buffer = rng.choice((256, 1024))
    said |= {"kind": "pen", "tool": "pen", "buffer": buffer, "baud": 19200}
    said["answers"] = "answers = true"
    return hpgl.Plotter(hpgl.Habits(buffer=buffer, flow=own.get(flow, "enquiry"))), said


def one(language: str, seed: int) -> Pause:
    """Pause a job once; return what came of it."""
    rng = random.Random(f"pause {language} {seed}")
    machine, said = machine_of(language, rng)
    count = rng.randint(20, 40)
    data = hpgl_file(rng, count) if language == "hpgl" else gcode_file(rng, count, beam=False)
    after = rng.randint(2, count * 2)  # segments
    wait = rng.uniform(0.0, 0.1)
    wire, pause, due = Wire(machine, said["baud"], said["flow"]), Pause(), 0.0
    mm = STEP if language == "hpgl" else 1.0
    meant = whole(language, machine, data)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "trial.toml").write_text(PROFILE.format(**said))
        (folder / "job.txt").write_bytes(data)
        (folder / "port").touch()
        out = folder / "said.txt"
        words = ["send", str(folder / "job.txt"), "--machine", str(folder / "trial.toml"),
                 "--port", str(folder / "port"), "--yes"]  # fmt: skip
        sender = Sender(words, wire, out, folder / "jobs", terminal=True)
        marks = machine.head.marks

        def on_tick() -> None:
            nonlocal due
            if not due and len(marks) > after:
                due = wire.now + wait
            if due and not pause.pressed and wire.now >= due:
                pause.pressed, pause.out = wire.now, wire.sent + len(wire.queue)
                _press(sender, out, "Pausing")
            if pause.rested < 0 and pause.pressed and "Paused at rest" in out.read_text():
                pause.rested = len(marks)
                found = re.search(r"at rest: (\d+) of", out.read_text())
                pause.strokes = int(found[1]) if found else -1
            if pause.rested >= 0 and not pause.went_on:
                pause.moved |= len(marks) != pause.rested
                pause.down |= machine.tool_down
            if pause.pressed and not pause.went_on and wire.now > pause.pressed + PAUSE:
                _judge_pause(pause, coverage(meant, _true(marks, mm)), data, language)
                pause.went_on = wire.now
                _press(sender, out, "Resuming")

        code = sender.run(on_tick)
        if code != 0:
            pause.faults.append(f"exit {code}: {out.read_text()[-200:]}")
    worked = coverage(meant, _true(marks, mm))
    if any(cover.count(0) > 1 for cover in worked):
        pause.faults.append("strokes were lost")
    if any(min(cover) > 1 for cover in worked):
        pause.faults.append("strokes were worked twice")
    return pause


def _press(sender: Sender, out: Path, words: str) -> None:
    sender.press(b"p")
    until = time.perf_counter() + SEEN
    while words not in out.read_text() and time.perf_counter() < until:
        pass


def _true(marks: list[Any], mm: float) -> list[Any]:
    return [tuple(value * mm for value in each) for each in marks]


def _judge_pause(pause: Pause, covers: list[list[int]], data: bytes, language: str) -> None:
    """Compare what was worked by the end of the pause with what was out at the key."""
    begun = rb"PU\d|PE<" if language == "hpgl" else rb"G0 Z5.000\nG0"
    # commands of our own count as the file's: more seem to be out than are
    out = sum(match.start() < pause.out for match in re.finditer(begun, data))
    worked = sum(any(cover) for cover in covers)
    whole = sum(cover.count(0) <= 1 for cover in covers)
    pause.worked, pause.sent = worked, out
    if worked > out + 1:
        pause.faults.append(f"{worked} strokes worked, {out} were out")
    if worked != whole:
        pause.faults.append(f"{worked} strokes begun, {whole} whole")
    if pause.rested >= 0 and (pause.moved or pause.down):
        pause.faults.append("it was not at rest with the tool up")
    if pause.rested >= 0 and pause.strokes != whole:
        pause.faults.append(f"{whole} strokes worked, {pause.strokes} told")


def main() -> None:
    """Print a table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--smoke", action="store_true")
    parser.add_argument("--show", action="store_true")
    parser.add_argument("--language", choices=tuple(FLOWS))
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--minutes", type=float, default=600.0, help="begin no trial later")
    asked = parser.parse_args()
    for language in (asked.language,) if asked.language else tuple(FLOWS):
        sums: Counter[str] = Counter()
        begun = time.perf_counter()
        for seed in range(asked.first, asked.first + (3 if asked.smoke else asked.count)):
            if time.perf_counter() - begun > 60.0 * asked.minutes:
                break
            pause = one(language, seed)
            sums["pressed"] += bool(pause.pressed)
            sums["told at rest"] += pause.rested >= 0
            if asked.show:
                print(f"  {language} {seed}: {pause}")
            sums["bad"] += bool(pause.faults)
            for fault in pause.faults:
                print(f"  {language} {seed}: {fault}", flush=True)
        print(f"{language}: {sums['pressed']} pauses, {sums['told at rest']} told to be at rest, "
              f"{sums['bad']} with a fault (target 0)")  # fmt: skip


if __name__ == "__main__":
    main()
