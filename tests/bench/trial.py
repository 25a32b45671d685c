"""One job that is broken off, seen from outside: what a machine truly did, and what was said.

The machine is one of those written from the notes; the sender is plotout's own command line in a
process of its own, on a clock that nobody waits for. A stroke is lost when any of it was not
worked, and is cut twice when all of it was worked more than once.
"""

from __future__ import annotations

import contextlib
import itertools
import json
import math
import random
import re
import signal
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from machines_from_notes.simulated import Sender, Wire, drain, stop_by

SAMPLE = 0.25  # mm between looks along a stroke
NEAR = 0.06  # mm
TWICE = 2  # looks along a stroke: less than that worked again is not seen
HANG = 30.0  # s in which neither the machine nor the sender does anything
ROUNDS = 10
UNSEEN = 3  # exit code: sent, but not seen done
AWAY = 0.3  # s that a cable stays out
STOPS = ("int", "term", "hup", "q", "close")

Segment = tuple[float, float, float, float]


@dataclass
class Break:
    """kind: kill, unplug, reset, kill-reset, int, term, hup, q (a key) or close (the terminal).

    after: strokes begun by then, or s since the sender began where it is negative; wait: s more.
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
    part_untold: int = 0


class Trial:
    """wire: to the machine; file: what; strokes: what that means, true mm."""

    def __init__(
        self, wire: Wire, file: Path, profile: Path, strokes: list[list[Segment]],
        folder: Path, mm: float,
    ) -> None:  # fmt: skip
        self.sending, self.machine, self.file, self.profile = wire, wire.machine, file, profile
        self.strokes, self.folder, self.mm = strokes, folder, mm
        self.result = Result()
        self.round = 0
        self.work_before = 0
        self._seen = self._joins = 0

    def run(self, breaks: list[Break]) -> Result:
        """Send, break off, resume, until the job is done."""
        resume_from: int | None = None
        left, refused = list(breaks), 0
        while self.round < ROUNDS:
            words = ["send", str(self.file), "--machine", str(self.profile), "--port",
                     str(self.folder / "port"), "--yes"]  # fmt: skip
            if self.round:
                words = ["resume", "--yes"]
            if resume_from is not None:
                words += ["--from", str(resume_from)]
            resume_from = None
            code, said = self._round(words, left.pop(0) if left else None)
            self.round += 1
            if code == 0:
                break
            if code == UNSEEN:  # its user is told to look at the sheet
                resume_from = self._first_not_whole() + 1
                if resume_from > len(self.strokes):
                    break
                self.result.asked += 1
                continue
            if code is None:
                return self.result
            if "no job has been started" in said or "there is no job to resume" in said:
                self.round, refused = 0, refused + 1
                if refused < ROUNDS:
                    continue
                self.result.failed = said[-400:]
                break
            if re.search(r"strokes? (are|is) complete|To resume at stroke N", said):
                self.result.asked += 1
                resume_from = self._first_not_whole() + 1
            if self.round > len(breaks) + 5:
                self.result.failed = said[-400:]
                break
        drain(self.sending, lambda: self.machine.at_rest and not self.sending.queue, 20.0)
        self._judge()
        return self.result

    def _round(self, words: list[str], broken: Break | None) -> tuple[int | None, str]:
        out = self.folder / f"round-{self.round}.txt"
        out.touch()
        wire, machine = self.sending, self.machine
        at_terminal = broken is not None and broken.kind in ("q", "close") and not self.round
        sender = Sender(words, wire, out, self.folder / "jobs", at_terminal)
        self.work_before = machine.work
        begun = active = wire.now
        before: tuple[int, int, bool] = (0, 0, True)
        broke_at = due_at = unplugged_at = down_until = 0.0
        hung = False

        def on_tick() -> None:
            nonlocal active, before, broke_at, due_at, unplugged_at, down_until, hung
            now = wire.now
            if broken and not broke_at:
                if not due_at and self._is_due(broken, now - begun):
                    due_at = now + broken.wait
                if due_at and now >= due_at:
                    broke_at = now
                    unplugged_at = now if broken.kind == "unplug" else 0.0
                    self._break(broken, sender)
            if unplugged_at and now - unplugged_at > AWAY:
                wire.plug_in()
                unplugged_at = 0.0
            if broke_at and machine.tool_down:
                down_until = now
            doing = (len(machine.head.marks), machine.work, machine.at_rest)
            if doing != before:
                before, active = doing, now
            if not hung and now - max(active, broke_at) > HANG:
                hung = True
                sender.signal(signal.SIGKILL)

        code = sender.run(on_tick)
        said = out.read_text()
        if hung:
            self.result.hangs += 1
            self.result.words.append(f"HANG {broken}: {said[-300:]}")
            return None, ""
        if unplugged_at:
            drain(wire, lambda: False, AWAY + 0.05)
            wire.plug_in()
        up = "Stopped, tool up" in said or "The tool is up and off" in said
        if up and machine.tool_down:
            self.result.lies += 1
            self.result.words.append(f"LIE {broken}: {said[-300:]}")
        if broke_at and broken and broken.kind in STOPS and code == 1:
            self.result.stop_seconds.append(max(0.0, down_until - broke_at))
        if broken and broke_at and "reset" in broken.kind:
            self.result.reset = True
            drain(wire, lambda: False, machine.habits.boot + 0.05)
            machine.home()
        elif "switch the machine off and on" in said.lower():
            self.result.reset = True
            machine.lose_power()
            drain(wire, lambda: False, machine.habits.boot + 0.05)
            machine.home()
        elif code < 0:
            drain(wire, lambda: False, random.Random(self.round).choice([0.0, 0.3]))
        elif "home it" in said.lower() or "locked" in said:
            machine.home()
        if re.search(r"may already be cut|will be cut again", said):
            self.result.words.append("told")
        if "is cut in part" in said:
            self.result.words.append("part")
        return code, said

    def _is_due(self, broken: Break, seconds: float) -> bool:
        if broken.after < 0:
            return seconds >= -broken.after
        return self._begun() >= broken.after or seconds > 25.0

    def _begun(self) -> int:
        """Return how many strokes have marks."""
        marks = self.machine.head.marks
        for nth in range(self._seen, len(marks)):
            joins = nth and math.dist(marks[nth - 1][2:], marks[nth][:2]) < 1e-6
            self._joins += not joins
        self._seen = len(marks)
        return self._joins

    def _break(self, broken: Break, sender: Sender) -> None:
        kind = broken.kind
        if kind == "unplug":
            self.sending.unplug()
        if kind.startswith("kill"):
            sender.signal(signal.SIGKILL)
        if kind.endswith("reset"):
            self.machine.lose_power()
            if self.machine.work == self.work_before:  # its user homes it before anything moves
                self.machine.home()
        if kind in STOPS:
            stop_by(sender, kind if sender.master >= 0 or kind not in ("q", "close") else "int")

    def _first_not_whole(self) -> int:
        """Return the first stroke that somebody at the sheet sees not to be whole, from 0."""
        drain(self.sending, lambda: self.machine.at_rest and not self.sending.queue, 20.0)
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
        told = "told" in result.words
        if result.twice and not told:
            result.twice_untold = result.twice
        again = [_longest([count > 1 for count in cover]) for cover in covers]
        part = sum(TWICE < n < len(cover) - TWICE for n, cover in zip(again, covers, strict=True))
        if part > result.words.count("part") and not (told or result.asked):
            result.part_untold = part


def _longest(flags: list[bool]) -> int:
    """Return the length of the longest row of true ones; ends of marks give single ones."""
    return max((len(list(row)) for true, row in itertools.groupby(flags) if true), default=0)


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
    covers = []
    there = np.array(marks, dtype=float).reshape(-1, 4)
    for stroke in strokes:
        at, ways = _samples(stroke)
        low, high = at.min(axis=0) - NEAR, at.max(axis=0) + NEAR
        least, most = np.minimum(there[:, :2], there[:, 2:]), np.maximum(there[:, :2], there[:, 2:])
        near = there[((least <= high) & (most >= low)).all(axis=1)]
        covers.append(_on(at, ways, near).sum(axis=1).tolist())
    return covers


def _samples(stroke: list[Segment]) -> tuple[Any, Any]:
    """Return places along a stroke, (n, 2), and which way it runs there, (n, 2)."""
    at, ways = [], []
    for x0, y0, x1, y1 in stroke:
        count = max(1, math.ceil(math.dist((x0, y0), (x1, y1)) / SAMPLE))
        shares = (np.arange(count) + 0.5) / count
        at.append(np.array([x0, y0]) + shares[:, None] * np.array([x1 - x0, y1 - y0]))
        ways.append(np.tile([x1 - x0, y1 - y0], (count, 1)))
    return np.vstack(at), np.vstack(ways)


def _astray(strokes: list[list[Segment]], marks: list[Segment]) -> int:
    """Return how many marks lie where none was meant."""
    meant = np.array([each for stroke in strokes for each in stroke])
    both = np.vstack([meant, meant[:, [2, 3, 0, 1]]])
    there = np.array(marks, dtype=float).reshape(-1, 4)
    ways = there[:, 2:] - there[:, :2]
    right = _on((there[:, :2] + there[:, 2:]) / 2.0, ways, both).any(axis=1)
    return int((~right & (np.hypot(*ways.T) > NEAR)).sum())


def _on(at: Any, ways: Any, segments: Any) -> Any:
    """Return which place, (n, 2), lies on which segment, (m, 4), that runs the same way: (n, m)."""
    start, along = segments[:, :2], segments[:, 2:] - segments[:, :2]
    lengths = np.maximum(np.hypot(*along.T), 1e-12)
    unit = along / lengths[:, None]
    ahead = ways @ unit.T > 0.7 * np.hypot(*ways.T)[:, None]
    off = at[:, None, :] - start[None, :, :]
    far = (off * unit).sum(axis=2)
    aside = np.abs(off[..., 0] * unit[:, 1] - off[..., 1] * unit[:, 0])
    return ahead & (far >= -1e-6) & (far <= lengths + 1e-6) & (aside <= NEAR) & (lengths > 1e-9)


def said_in(folder: Path) -> str:
    """Return all that the sender said, for a person to read."""
    texts = []
    with contextlib.suppress(OSError):
        texts = [f"--- {path.name}\n{path.read_text()}" for path in sorted(folder.glob("round-*"))]
    return "\n".join(texts)


def as_line(result: Result) -> str:
    """Return a result as a line of JSON."""
    return json.dumps(result.__dict__)
