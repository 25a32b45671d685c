"""A controller that only reads lines, as the firmwares of printers do.

Sources: the public notes on the G-code dialect of such firmwares (line numbers, `*` checksums,
`Resend:`, `rs`, `ok` with more after it, `start`, M110, M114, M115, M211, M400; G4 P in
milliseconds), as the project's facts list them or from memory. Nothing is obeyed at once: a line
waits in the receive buffer, then in a short queue, and a move then waits for its turn among those
that are planned.
"""

from __future__ import annotations

import functools
import math
import operator
import re
from dataclasses import dataclass

from machines_from_notes.board import RECEIVE, Board, arc
from machines_from_notes.head import Block, Head

QUEUED, PLANNED, LONGEST = 4, 15, 96
_WORD = re.compile(rb"([A-Z])([-+]?(?:\d+\.?\d*|\.\d+)?)")
_MOVES, _IGNORED = (0, 1, 2, 3), ("G17", "G21", "G90", "M7", "M8", "M9")


@dataclass
class Habits:
    """In what machines of this kind differ. Times in seconds, lengths in mm."""

    greeting: bytes = b"start"
    glued: bool = False  # the greeting's line end is missing
    boot: float = 0.0
    boots_on_open: bool = False
    deceleration: float = 0.0
    ok: str = "ok"  # "ok", "full" (ok P15 B3) or "number" (ok N12 P15 B3)
    bare_m110: bool = True  # M110 needs no number in front
    tight: bool = False  # no blanks between the places
    ok_first: bool = False  # before the answer to M114
    place_in_ok: bool = False  # "ok C: X:..." as the answer to M114
    again: str = "Resend: "  # or "rs "
    ok_after_again: bool = True
    busy: float = 2.0  # says that it is busy so often; 0: never
    beam: bool = False
    lowest: float = -1000.0  # of Z
    limits: tuple[float, float, float] = (0.0, 0.0, 0.0)  # moves beyond end here; 0: anywhere
    tells_limits: bool = True
    loses_ok: tuple[int, ...] = ()  # of which lines, counted since power
    doubles_ok: tuple[int, ...] = ()
    garbles: tuple[int, ...] = ()  # which lines come damaged
    checks: bool = True
    drops: bool = False  # it has no way to
    speed: float = 1.0


class LineReader(Board):
    """Fed bytes, told of time; speaks through `out`."""

    def __init__(self, habits: Habits) -> None:
        super().__init__()
        self.habits = habits
        self.read = self.moves = 0
        self._power_up(0.0)

    # what a bystander sees

    @property
    def tool_down(self) -> bool:
        """Whether the tool touches the stock, or its beam is on."""
        return self.power if self.habits.beam else self.head.true_place()[2] < -0.01

    @property
    def work(self) -> int:
        """Return how many moves it has been given."""
        return self.moves

    @property
    def at_rest(self) -> bool:
        """Whether nothing moves and nothing waits to be worked."""
        return not self.head.queue and not self.queue and b"\n" not in self.received

    # what may happen to it

    def home(self) -> None:
        """Its user homes it at its own panel: its count is true again, and the tool is high."""
        self.head.drop()
        self.head.place, self.head.slip = [0.0, 0.0, 5.0], [0.0, 0.0, 0.0]
        self._planned = list(self.head.place)

    def feed(self, data: bytes) -> None:
        """Take bytes from the line."""
        if self.now < self._awake_at:
            return
        for byte in data:
            if len(self.received) >= RECEIVE:
                self.overflows += 1
            else:
                self.received += bytes([byte])

    def advance(self, seconds: float) -> None:
        """Let time pass."""
        self.now += seconds
        if self._awake_at > self.now:
            return
        if not self._greeted:
            self._greeted = True
            self.out += self.habits.greeting + (b"" if self.habits.glued else b"\n")
            self._say(b"echo:Printed circuit 1.4 2019-02-01")
            self._say(b"echo: Free Memory: 3215  PlannerBufferBytes: 1232")
        self.head.run(seconds * self.habits.speed)
        while self._read_line() or self._work_line():
            pass
        if self.habits.busy and self.queue and self.now >= self._busy_at:
            self._busy_at = self.now + self.habits.busy
            self._say(b"echo:busy: processing")

    # within

    def _in_stock(self, head: Head, working: bool) -> bool:
        return working if self.habits.beam else head.true_place()[2] < -0.01

    def _power_up(self, boot: float) -> None:
        self.received = b""
        self.queue: list[bytes] = []
        self._awake_at, self._greeted = self.now + boot, False
        self._busy_at = self.now + self.habits.busy
        self._last, self.power, self._s = 0, False, 0.0
        self._feed, self._until = 25.0, 0.0
        self._planned = list(self.head.place)

    def _say(self, line: bytes) -> None:
        self.out += line + b"\n"

    def _read_line(self) -> bool:
        """Read the next line into the queue, if there is room; it is checked here."""
        if len(self.queue) >= QUEUED or b"\n" not in self.received:
            return False
        line, _, self.received = self.received.partition(b"\n")
        line = line.strip()
        if not line:
            return True
        self.read += 1
        if self.read in self.habits.garbles:
            line = line.replace(b"0", b"8", 1) if b"0" in line else line[1:]
        wrong = self._wrong(line)
        if wrong:
            self.received = b""
            self._say(f"Error:{wrong}, Last Line: {self._last}".encode())
            self._say(f"{self.habits.again}{self._last + 1}".encode())
            if self.habits.ok_after_again:
                self._say(b"ok")
        else:
            self.queue.append(re.sub(rb"\*\d*$", b"", line))
        return True

    def _wrong(self, line: bytes) -> str:
        body, star, check = line.rpartition(b"*") if b"*" in line else (line, b"", b"")
        sets = b"M110" in body
        number = re.search(rb"N(-?\d+)", body[body.find(b"M110") :] if sets else body[:12])
        if not self.habits.checks:
            return ""
        if not number or not (sets or body.startswith(b"N")):
            return "No Line Number with checksum" if star else ""
        if sets and not (body.startswith(b"N") or self.habits.bare_m110):
            return "No Line Number with checksum"
        if int(number[1]) != self._last + 1 and not sets:
            return "Line Number is not Last Line Number+1"
        if not star:
            return "No Checksum with line number"
        if functools.reduce(operator.xor, body, 0) != int(check or b"0"):
            return "checksum mismatch"
        self._last = int(number[1])
        return ""

    def _work_line(self) -> bool:
        """Work the line at the front of the queue, unless it has to wait."""
        if not self.queue or self.now < self._until:
            return False
        line = re.sub(rb"^N\d+ ?|;.*", b"", self.queue[0]).replace(b" ", b"").upper()
        words = [(k.decode(), float(v) if v not in (b"", b"-") else 0.0)
                 for k, v in _WORD.findall(line)]  # fmt: skip
        code = f"{words[0][0]}{words[0][1]:g}" if words else ""
        values = dict(words[1:])
        if code in ("M400", "G4", "M3", "M4", "M5", "M0") and self.head.queue:
            return False
        if code in ("G0", "G1", "G2", "G3") and len(self.head.queue) >= PLANNED:
            return False
        if code == "M0":
            return False  # until somebody presses its button
        if code == "G4" and not self._until and (values.get("P") or values.get("S")):
            self._until = self.now + values.get("P", 0.0) / 1000.0 + values.get("S", 0.0)
            return False
        self._until = 0.0
        raw = self.queue.pop(0)
        self.lines += 1
        self.log.append(raw.decode("latin-1"))
        self._busy_at = self.now + self.habits.busy
        self._execute(code, values, raw, raw.startswith(b"N"))
        return True

    def _execute(self, code: str, values: dict[str, float], raw: bytes, numbered: bool) -> None:
        if code in ("G0", "G1", "G2", "G3"):
            self._move(int(code[1:]), values)
        elif code in ("M3", "M4", "M5"):
            self.power = code != "M5"
            self._s = values.get("S", self._s)
        elif code == "M114":
            place = " ".join(f"{k}:{v:.2f}" for k, v in zip("XYZ", self._planned, strict=True))
            steps = " ".join(
                f"{k}:{v * 80:.0f}" for k, v in zip("XYZ", self.head.place, strict=True)
            )
            if self.habits.place_in_ok:
                self._answer(f"C: {place} E:0.00".encode())
                return
            place = place.replace(" ", "") if self.habits.tight else place + " "
            answer = f"{place}E:0.00 Count {steps}".encode()
            if self.habits.ok_first:
                self._answer(b"", raw)
                self._say(answer)
                return
            self._say(answer)
        elif code == "M115":
            self._say(b"FIRMWARE_NAME:Printed circuit 1.4 PROTOCOL_VERSION:1.0 EXTRUDER_COUNT:1")
        elif code == "M211" and self.habits.tells_limits and any(self.habits.limits):
            most = " ".join(f"{k}{v:.2f}" for k, v in zip("XYZ", self.habits.limits, strict=True))
            self._say(b"echo:Soft endstops: On  Min: X0.00 Y0.00 Z-10.00   Max: " + most.encode())
        elif code not in (*_IGNORED, "M400", "G4", "M110"):
            text = re.sub(rb"^N\d+ ?", b"", raw)
            self._say(b'echo:Unknown command: "' + text + b'"')
        self._answer(b"", raw)

    def _answer(self, more: bytes, raw: bytes = b"") -> None:
        if self.lines in self.habits.loses_ok and not more:
            return
        number = re.match(rb"N\d+", raw)
        state = b"P%d B%d" % (PLANNED - len(self.head.queue), QUEUED - len(self.queue))
        if not more and self.habits.ok != "ok":
            named = number[0] + b" " if number and self.habits.ok == "number" else b""
            more = named + state
        for _ in range(2 if self.lines in self.habits.doubles_ok else 1):
            self._say(b"ok " + more if more else b"ok")

    def _move(self, motion: int, values: dict[str, float]) -> None:
        self.moves += 1
        start, end = list(self._planned), list(self._planned)
        for axis, letter in enumerate("XYZ"):
            if letter in values:
                most = self.habits.limits[axis]
                end[axis] = min(values[letter], most) if most else values[letter]
        end[2] = max(end[2], self.habits.lowest)
        if "F" in values:
            self._feed = values["F"] / 60.0
        beam = self.power and self._s > 0.0
        if self.habits.beam and motion == 0 and beam:
            self.burns += 1
        points: list[tuple[float, ...]] = [tuple(end)]
        if motion in (2, 3):
            points = arc(start, end, values, motion == 2) or points
        for point in points:
            if math.dist(start, point) > 0.0:
                self.head.queue.append(Block(point, math.dist(start, point) / self._feed, beam))
            start = list(point)
        self._planned = end
