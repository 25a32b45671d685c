"""One job that is broken off, seen from outside: what a machine truly did, and what was said.

The machine is one of those written from the notes; the sender is plotout's own command line in a
process of its own. A stroke is lost when any of it was not worked, and is cut twice when all of it
was worked more than once.
"""

from __future__ import annotations

import contextlib
import json
import math
import os
import random
import re
import signal
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from machines_from_notes.port import Port

TICK = 0.002  # s
SAMPLE = 0.25  # mm between looks along a stroke
NEAR = 0.06  # mm
HANG = 30.0  # s in which neither the machine nor the sender does anything
ROUNDS = 10

Segment = tuple[float, float, float, float]


@dataclass
class Break:
    """kind: kill, unplug, reset, kill-reset, int, term or hup. after: strokes begun by then, or s
    since the sender began where it is negative; wait: s more.
    """

    kind: str
    after: float
    wait: float


@dataclass
class Result:
    """What came of one trial."""

    lost: int = 0
    twice: int = 0
    twice_untold: int = 0
    hangs: int = 0
    lies: int = 0
    asked: int = 0
    reset: bool = False
    words: list[str] = field(default_factory=list)
    stop_seconds: list[float] = field(default_factory=list)
    overflows: int = 0
    astray: int = 0
    failed: str = ""


class Trial:
    """machine: to be driven; port: where; file: what; strokes: what that means, true mm."""

    def __init__(
        self, machine: Any, port: Port, file: Path, profile: Path, strokes: list[list[Segment]],
        folder: Path, mm: float,
    ) -> None:  # fmt: skip
        self.machine, self.port, self.file, self.profile = machine, port, file, profile
        self.strokes, self.folder, self.mm = strokes, folder, mm
        self.result = Result()
        self.round = 0
        self.work_before = 0

    def run(self, breaks: list[Break]) -> Result:
        """Send, break off, resume, until the job is done."""
        resume_from: int | None = None
        left = list(breaks)
        while self.round < ROUNDS:
            words = ["send", str(self.file), "--machine", str(self.profile), "--port",
                     str(self.port.link), "--yes"]  # fmt: skip
            if self.round:
                words = ["resume", "--yes"]
            if resume_from is not None:
                words += ["--from", str(resume_from)]
            resume_from = None
            code, said = self._round(words, left.pop(0) if left else None)
            self.round += 1
            if code == 0:
                break
            if code is None:
                return self.result
            if "no job has been begun" in said:
                self.round = 0
                continue
            if re.search(r"strokes? (are|is) whole", said):
                self.result.asked += 1
                resume_from = self._first_not_whole() + 1
            if "is done" in said and code == 2 and "job" in said:
                break
            if self.round > len(breaks) + 5:
                self.result.failed = said[-400:]
                break
        self._pass(lambda: self.machine.at_rest, 20.0)
        self._judge()
        return self.result

    def _round(self, words: list[str], broken: Break | None) -> tuple[int | None, str]:
        out = self.folder / f"round-{self.round}.txt"
        out.touch()
        child = self._start(words, out)
        begun, marks_before = time.monotonic(), self._begun()
        broke_at = 0.0
        code: int | None = None
        unplugged_at = due_at = 0.0
        down_until = 0.0
        self.work_before = self.machine.work
        active, before = begun + 30.0, (0, 0, True)
        last = time.monotonic()
        while True:
            now = time.monotonic()
            self.port.serve(now - last)
            last = now
            if broken and not broke_at:
                if not due_at and self._is_due(broken, now - begun, marks_before):
                    due_at = now + broken.wait
                if due_at and now >= due_at:
                    self._break(broken, child)
                    broke_at = now
                    unplugged_at = now if broken.kind == "unplug" else 0.0
            if unplugged_at and now - unplugged_at > 0.3:
                self.port.plug_in()
                unplugged_at = 0.0
            if broke_at and self.machine.tool_down:
                down_until = now
            done, status = os.waitpid(child, os.WNOHANG)
            if done:
                code = os.waitstatus_to_exitcode(status)
                break
            doing = (len(self.machine.head.marks), self.machine.work, self.machine.at_rest)
            if doing != before:
                before, active = doing, now
            if now - max(active, broke_at) > HANG:
                os.kill(child, signal.SIGKILL)
                os.waitpid(child, 0)
                self.result.hangs += 1
                self.result.words.append(f"HANG {broken}: {out.read_text()[-300:]}")
                return None, ""
            time.sleep(TICK)
        if unplugged_at:
            self._pass(lambda: False, 0.35)
            self.port.plug_in()
        said = out.read_text()
        up = "Stopped, tool up" in said or "The tool is up and off" in said
        if up and self.machine.tool_down:
            self.result.lies += 1
            self.result.words.append(f"LIE {broken}: {said[-300:]}")
        if broke_at and broken and broken.kind in ("int", "term", "hup"):
            self.result.stop_seconds.append(max(0.0, down_until - broke_at))
        if broken and broke_at and "reset" in broken.kind:
            self.result.reset = True
            self._pass(lambda: False, self.machine.habits.boot + 0.05)
            self.machine.home()
        elif code is not None and code < 0:
            self._pass(lambda: False, random.Random(self.round).choice([0.0, 0.3]))
        elif "home it" in said.lower() or "locked" in said:
            self.machine.home()
        if re.search(r"may be cut already|will be cut again", said):
            self.result.words.append("told")
        return code, said

    def _start(self, words: list[str], out: Path) -> int:
        child = os.fork()
        if child:
            return child
        code = 70
        try:
            os.setpgid(0, 0)
            self.port.let_go()
            null = os.open(os.devnull, os.O_RDONLY)
            file = os.open(out, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
            os.dup2(null, 0)
            os.dup2(file, 1)
            os.dup2(file, 2)
            os.environ["PLOTOUT_JOBS"] = str(self.folder / "jobs")
            import sys

            from plotout.cli import main

            sys.argv = ["plotout", *words]
            try:
                main()
                code = 0
            except SystemExit as end:
                code = end.code if isinstance(end.code, int) else int(bool(end.code))
            sys.stdout.flush()
            sys.stderr.flush()
        finally:
            os._exit(code)

    def _is_due(self, broken: Break, seconds: float, marks_before: int) -> bool:
        if broken.after < 0:
            return seconds >= -broken.after
        return self._begun() >= broken.after or seconds > 25.0

    def _begun(self) -> int:
        """Return how many strokes have marks."""
        return len(_joined(self.machine.head.marks))

    def _break(self, broken: Break, child: int) -> None:
        kind = broken.kind
        if kind == "unplug":
            self.port.unplug()
        if kind.startswith("kill"):
            os.kill(child, signal.SIGKILL)
        if kind.endswith("reset"):
            self.machine.lose_power()
            if self.machine.work == self.work_before:  # its user homes it before anything moves
                self.machine.home()
        if kind in ("int", "term", "hup"):
            os.kill(child, getattr(signal, f"SIG{kind.upper()}"))

    def _pass(self, until: Any, most: float) -> None:
        begun = last = time.monotonic()
        while not until() and time.monotonic() - begun < most:
            now = time.monotonic()
            self.port.serve(now - last)
            last = now
            time.sleep(TICK)

    def _first_not_whole(self) -> int:
        """Return the first stroke that somebody at the sheet sees not to be whole, from 0."""
        self._pass(lambda: self.machine.at_rest, 20.0)
        covers = coverage(self.strokes, self._true_marks())
        return next((n for n, cover in enumerate(covers) if cover.count(0) > 1), len(covers))

    def _true_marks(self) -> list[Segment]:
        return [tuple(v * self.mm for v in each) for each in self.machine.head.marks]  # type: ignore[misc]

    def _judge(self) -> None:
        result = self.result
        covers = coverage(self.strokes, self._true_marks())
        result.lost = sum(cover.count(0) > 1 for cover in covers)  # 0.25 mm is not seen
        result.twice = sum(min(cover) > 1 for cover in covers)
        result.astray = _astray(self.strokes, self._true_marks())
        result.overflows = self.machine.overflows
        if result.twice and "told" not in result.words:
            result.twice_untold = result.twice


def _joined(marks: list[Segment]) -> list[list[Segment]]:
    strokes: list[list[Segment]] = []
    for each in marks:
        if strokes and math.dist(strokes[-1][-1][2:], each[:2]) < 1e-6:
            strokes[-1].append(each)
        else:
            strokes.append([each])
    return strokes


def strokes_of(marks: list[Segment], mm: float) -> list[list[Segment]]:
    """Return a whole run's marks as strokes, mm."""
    return [[tuple(v * mm for v in each) for each in stroke] for stroke in _joined(marks)]  # type: ignore[misc]


def coverage(strokes: list[list[Segment]], marks: list[Segment]) -> list[list[int]]:
    """Return of each stroke how often each place along it was worked."""
    cells: dict[tuple[int, int], list[Segment]] = {}
    for each in marks:
        x0, x1 = sorted((each[0], each[2]))
        y0, y1 = sorted((each[1], each[3]))
        for i in range(math.floor((x0 - NEAR) / 10), math.floor((x1 + NEAR) / 10) + 1):
            for j in range(math.floor((y0 - NEAR) / 10), math.floor((y1 + NEAR) / 10) + 1):
                cells.setdefault((i, j), []).append(each)
    covers = []
    for stroke in strokes:
        counts = []
        for x0, y0, x1, y1 in stroke:
            far = math.dist((x0, y0), (x1, y1))
            for k in range(max(1, math.ceil(far / SAMPLE))):
                share = (k + 0.5) / max(1, math.ceil(far / SAMPLE))
                x, y = x0 + share * (x1 - x0), y0 + share * (y1 - y0)
                near = cells.get((math.floor(x / 10), math.floor(y / 10)), [])
                counts.append(sum(_on((x, y), (x1 - x0, y1 - y0), each) for each in near))
        covers.append(counts)
    return covers


def _astray(strokes: list[list[Segment]], marks: list[Segment]) -> int:
    """Return how many marks lie where none was meant."""
    meant = [each for stroke in strokes for each in stroke]
    both = meant + [(c, d, a, b) for a, b, c, d in meant]
    middles = [((a + c) / 2.0, (b + d) / 2.0) for a, b, c, d in marks]
    ways = [(c - a, d - b) for a, b, c, d in marks]
    return sum(
        not any(_on(at, way, each) for each in both)
        for at, way in zip(middles, ways, strict=True)
        if math.hypot(*way) > NEAR
    )


def _on(at: tuple[float, float], way: tuple[float, float], segment: Segment) -> bool:
    """Return whether a place lies on a segment that runs the same way."""
    x0, y0, x1, y1 = segment
    dx, dy = x1 - x0, y1 - y0
    length, other = math.hypot(dx, dy), math.hypot(*way)
    if length < 1e-9 or other < 1e-9 or dx * way[0] + dy * way[1] < 0.7 * length * other:
        return False
    along = ((at[0] - x0) * dx + (at[1] - y0) * dy) / length
    aside = abs((at[0] - x0) * dy - (at[1] - y0) * dx) / length
    return -1e-6 <= along <= length + 1e-6 and aside <= NEAR


def said_in(folder: Path) -> str:
    """Return all that the sender said, for a person to read."""
    texts = []
    with contextlib.suppress(OSError):
        texts = [f"--- {path.name}\n{path.read_text()}" for path in sorted(folder.glob("round-*"))]
    return "\n".join(texts)


def as_line(result: Result) -> str:
    """Return a result as a line of JSON."""
    return json.dumps(result.__dict__)
