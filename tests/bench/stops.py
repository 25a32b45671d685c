"""Stops in every way, flow and deceleration, at machines written from the notes: is the tool up?

Run by hand: python tests/bench/stops.py [--smoke] [--language hpgl|gcode] [--show]
Prints for every flow and way the longest time from the stop until the tool is up for good, less the
machine's deceleration, and what was said. On a simulated clock. Where the port is
gone nothing can reach the machine: the table shows how long it went on with what it held.
"""

from __future__ import annotations

import argparse
import collections
import os
import random
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from breaks import PROFILE, STEP, gcode_file, hpgl_file  # noqa: E402
from line_use import FLOWS  # noqa: E402
from machines_from_notes import gcode, hpgl  # noqa: E402
from machines_from_notes.simulated import Sender, Wire, drain, stop_by  # noqa: E402

WAYS = ("q", "int", "term", "hup", "close", "port gone")
SLOWING = (0.0, 0.05, 0.2, 0.5)  # s
TARGET = 0.1  # s


@dataclass(frozen=True)
class Case:
    """drops: the machine can drop what it holds; tells: the port can, and knows its lines;
    answers: the machine answers. at: the stroke at which it is stopped.
    """

    language: str
    flow: str
    way: str
    slowing: float
    drops: bool
    tells: bool
    answers: bool
    at: int


def cases(language: str, smoke: bool) -> list[Case]:
    """Return all of them, each at a stroke of its own."""
    rng, found = random.Random(f"stops {language}"), []
    kinds = [(True, True, True), (True, False, True)]
    if language == "hpgl":
        kinds += [(False, True, True), (True, True, False), (False, False, False)]
    for flow in FLOWS[language]:
        for way in WAYS:
            for slowing in SLOWING[-1:] if smoke else SLOWING:
                for drops, tells, answers in kinds[:1] if smoke else kinds:
                    if answers or flow not in ("enquiry", "enq-ack"):
                        at = rng.randint(1, 10 if answers else 4)  # while it is still sent
                        found.append(Case(language, flow, way, slowing, drops, tells, answers, at))
    return found


def machine_of(case: Case) -> tuple[Any, dict[str, Any]]:
    """Return a machine, and what its profile says."""
    said: dict[str, Any] = {"step": STEP, "options": "", "flow": case.flow, "driver": case.language}
    if case.language == "gcode":
        said |= {"kind": "knife", "tool": "creaser", "buffer": 128, "answers": "", "baud": 115200}
        return gcode.Controller(gcode.Habits(deceleration=case.slowing)), said
    own = {"xon-xoff": "xon-xoff", "rts-cts": "hardware", "dtr": "hardware"}
    habits = hpgl.Habits(
        answers=case.answers, flow=own.get(case.flow, "enquiry"), drops=case.drops,
        deceleration=case.slowing,
    )  # fmt: skip
    said |= {"kind": "pen", "tool": "pen", "buffer": 1024, "baud": 19200 if case.answers else 9600}
    said["answers"] = f"answers = {str(case.answers).lower()}\ndrops = {str(case.drops).lower()}"
    return hpgl.Plotter(habits), said


def one(case: Case, show: bool = False) -> dict[str, Any]:
    """Stop a job; return when the tool was up, and whether what was said is true."""
    rng = random.Random(repr(case))
    machine, said = machine_of(case)
    count = 14 if case.answers else 50  # a sender without answers ends when all is sent
    data = hpgl_file(rng, count) if case.language == "hpgl" else gcode_file(rng, count, beam=False)
    wire = Wire(machine, said["baud"], case.flow, tells=case.tells)
    stopped_at, down_until = 0.0, 0.0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "trial.toml").write_text(PROFILE.format(**said))
        (folder / "job.txt").write_bytes(data)
        (folder / "port").touch()
        words = ["send", str(folder / "job.txt"), "--machine", str(folder / "trial.toml"),
                 "--port", str(folder / "port")]  # fmt: skip
        terminal = case.way in ("q", "close")
        sender = Sender([*words, "--yes"], wire, folder / "said.txt", folder / "jobs", terminal)

        def on_tick() -> None:
            nonlocal stopped_at, down_until
            strokes = sum(
                not n or marks[n - 1][2:] != marks[n][:2] for n in range(len(marks))
            ) if not stopped_at else 0  # fmt: skip
            if not stopped_at and strokes > case.at and machine.tool_down:
                stopped_at = wire.now
                if case.way == "port gone":
                    wire.unplug()
                else:
                    stop_by(sender, case.way)
            if stopped_at and machine.tool_down:
                down_until = wire.now

        marks = machine.head.marks
        code = sender.run(on_tick)
        out = (folder / "said.txt").read_text()
        claimed = "tool up." in out or "The tool is up and off" in out
        false = claimed and machine.tool_down
        ended = len(marks)

        def resting() -> bool:
            nonlocal down_until
            down_until = wire.now if machine.tool_down else down_until
            return machine.at_rest and not machine.tool_down

        drain(wire, resting, 30.0)
        drain(wire, lambda: resting() and False, 0.5)
        if show:
            print(case, code, out)
    ran_on = claimed and len(marks) > ended
    return {
        "case": case, "seconds": max(0.0, down_until - stopped_at) - case.slowing,
        "claimed": claimed, "false": false or ran_on, "stopped": bool(stopped_at), "code": code,
        "down": machine.tool_down,
        "by hand": any(word in out for word in ("look", "Lift", "lift", "Go to it", "see that")),
    }  # fmt: skip


def main() -> None:
    """Print a table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--smoke", action="store_true")
    parser.add_argument("--every", type=int, default=1, help="take only every so many")
    parser.add_argument("--show", action="store_true")
    parser.add_argument("--language", choices=tuple(FLOWS))
    parser.add_argument("--jobs", type=int, default=2 * (os.cpu_count() or 1))
    asked = parser.parse_args()
    for language in (asked.language,) if asked.language else tuple(FLOWS):
        measure(language, asked.jobs, asked.smoke, asked.every, asked.show)


def measure(
    language: str, jobs: int, smoke: bool = False, every: int = 1, show: bool = False
) -> None:
    """Stop in every way, and print a table."""
    todo = cases(language, smoke)[::every]
    with ProcessPoolExecutor(jobs) as pool:
        table(language, list(pool.map(one, todo)), show)


def table(language: str, results: list[dict[str, Any]], show: bool) -> None:
    """Print what came of it; with `show` also every job over the target."""
    print(f"{language}: {len(results)} stops; longest s to tool up over deceleration")
    print("flow      drops answers " + "".join(f"{way:>10}" for way in WAYS) + "  false unsaid")
    groups: dict[tuple[Any, ...], list[dict[str, Any]]] = collections.defaultdict(list)
    for each in results:
        case = each["case"]
        groups[case.flow, case.drops, case.answers].append(each)
    for (flow, drops, answers), group in groups.items():
        cells = ""
        for way in WAYS:
            times = [e["seconds"] for e in group if e["case"].way == way and e["stopped"]]
            cells += f"{max(times, default=float('nan')):10.3f}"
        false = sum(e["false"] for e in group)
        unsaid = sum(not e["claimed"] and not e["by hand"] for e in group)
        print(f"{flow:10}{drops!s:6}{answers!s:8}{cells}{false:7d}{unsaid:7d}")
        missed = sum(not e["stopped"] for e in group)
        if missed:
            print(f"  {missed} jobs had ended before they could be stopped")
    for each in results:
        reachable = each["case"].way != "port gone" and each["case"].drops
        if show and (each["false"] or (each["seconds"] > TARGET and reachable)):
            print("  ", each)


if __name__ == "__main__":
    main()
