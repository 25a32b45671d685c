"""A virtual G-code machine: a small line-by-line control.

Source: NIST IR 6556 (words, modal groups, arcs by I and J). `ok`, `error:n`, `?`, `!`, `~`,
control-X, `$G` (the modes in force) and the 128-byte receive buffer: common practice of small
controls.
"""

from __future__ import annotations

import math
import re
from collections import deque
from dataclasses import dataclass, field

from plotout.kit import Head
from plotout_gcode.arcs import to_centre

_WORD = re.compile(r"([A-Z])([-+]?(?:\d+\.?\d*|\.\d+))")
_KNOWN_G = {0, 1, 2, 3, 4, 17, 20, 21, 28, 40, 49, 54, 80, 90, 91, 94}
_KNOWN_M = {0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 30}
_KNOWN_LETTERS = set("ABCFGIJKMNPRSTXYZ")
ARC_STEP = math.radians(1)


@dataclass(slots=True)
class GcodeMachine:
    """The machine's state.

    buffer: bytes of its receive buffer. z: None until a Z word: then the tool is a beam. spindle: 3
    or 4 while it is on. awaits_hand: it waits at M0. hands: how often it did.
    """

    buffer: int = 128
    name: str = "plotout virtual"
    head: Head = field(default_factory=Head)
    held: bytearray = field(default_factory=bytearray)
    answers: deque[bytes] = field(default_factory=deque)
    overruns: int = 0
    fail_line: int = 0
    lines: int = 0
    mode: int = 0
    scale: float = 1.0
    relative: bool = False
    z: float | None = None
    spindle: int = 0
    power: float = 0.0
    feed: float = 0.0
    stopped: bool = False
    awaits_hand: bool = False
    hands: int = 0
    number: int = 0
    greeting: bytes = b"ready\r\n"
    unit: float = 1.0

    def receive(self, data: bytes) -> None:
        """Receive bytes: obey `?`, `!`, `~` and control-X at once, and hold the rest."""
        for byte in data:
            if byte == ord("?"):
                self.answers.append(self._status())
            elif byte == ord("!"):
                self.stopped = True
                self.head.halt()  # the rest of the move is not resumed
            elif byte == ord("~"):
                self._go_on()
            elif byte == 0x18:
                self._soft_reset()
            elif len(self.held) >= self.buffer:
                self.overruns += 1
            else:
                self.held.append(byte)

    def _status(self) -> bytes:
        moving = b"\n" in self.held
        x, y = self.head.here()
        power = self.power if self.spindle else 0.0
        word = "Run" if moving or self.head.left > 0.0 else "Idle"
        word = "Hold:0" if self.stopped or self.awaits_hand else word
        place = f"WPos:{x:.3f},{y:.3f},{self.z or 0.0:.3f}"
        return f"<{word}|{place}|FS:0,{power:.0f}|Ln:{self.number}>\r\n".encode()

    def _modes(self) -> str:
        units, way = "G21" if self.scale == 1.0 else "G20", "G91" if self.relative else "G90"
        power = f"M{self.spindle or 5} M9 T{self.head.tool} F{self.feed:g} S{self.power:g}"
        return f"[GC:G{self.mode} G54 G17 {units} {way} G94 {power}]"

    def _go_on(self) -> None:
        self.stopped = False
        if self.awaits_hand:
            self.awaits_hand = False
            self.answers.append(b"ok\r\n")

    def _soft_reset(self) -> None:
        self.head.break_off()
        self.held.clear()
        self.spindle, self.stopped, self.awaits_hand, self.number = 0, False, False, 0
        self.mode, self.scale, self.relative = 0, 1.0, False
        self.power = self.feed = 0.0
        self._settle()
        self.answers.append(self.greeting)

    def step(self) -> float | None:
        """Do the next line that is held. Return its seconds, None if there is none."""
        end = self.held.find(b"\n")
        if end < 0 or self.stopped or self.awaits_hand:
            return None
        line = bytes(self.held[:end]).decode("latin-1")
        del self.held[: end + 1]
        self.lines += 1
        if self.lines == self.fail_line:
            self.answers.append(b"error:1\r\n")
            return 0.0
        try:
            seconds = self._do(line)
        except ValueError as fault:
            self.answers.append(b"error:%d\r\n" % int(str(fault) or 1))
            return 0.0
        if not self.awaits_hand:
            self.answers.append(b"ok\r\n")
        return seconds

    def _do(self, line: str) -> float:
        text = re.sub(r"\([^)]*\)|;.*", "", line).upper().replace(" ", "")
        if text.startswith("$"):
            said = self._modes() if text.strip() == "$G" else f"[{self.name}]"
            self.answers.append(f"{said}\r\n".encode())
            return 0.0
        words = _WORD.findall(text)
        if "".join(a + b for a, b in words) != text.strip().strip("%"):
            raise ValueError("2")
        if not {a for a, _ in words} <= _KNOWN_LETTERS:
            raise ValueError("20")
        values = {a: float(b) for a, b in words if a not in "GM"}
        self.number = int(values.get("N", self.number))
        dwell = False
        for code in [float(b) for a, b in words if a == "G"]:
            dwell = self._g(code) or dwell
        for code in [float(b) for a, b in words if a == "M"]:
            self._m(code)
        if "S" in values:
            self.power = values["S"]
        self.feed = values.get("F", self.feed)
        if "T" in values:
            self.head.tool = int(values["T"])
        if dwell:
            self.head.to_next_mark()
            self._settle()
            return values.get("P", 0.0)
        return self._move(values)

    def _g(self, code: float) -> bool:
        if code not in _KNOWN_G:
            raise ValueError("20")
        if code in (0, 1, 2, 3):
            self.mode = int(code)
        elif code in (20, 21):
            self.scale = 25.4 if code == 20 else 1.0
        elif code in (90, 91):
            self.relative = code == 91
        return code == 4

    def _m(self, code: float) -> None:
        if code not in _KNOWN_M:
            raise ValueError("20")
        if code == 0:
            self.awaits_hand = True
            self.hands += 1
        elif code in (3, 4):
            self.spindle = int(code)
        elif code in (2, 5, 30):
            self.spindle = 0

    def _move(self, values: dict[str, float]) -> float:
        if "Z" in values:
            z = values["Z"] * self.scale
            self.z = (self.z or 0.0) + z if self.relative else z
        self._settle()
        if not {"X", "Y"} & values.keys():
            return 0.0
        at = self.head.at
        base = at if self.relative else (0.0, 0.0)
        to = (
            base[0] + values["X"] * self.scale if "X" in values else at[0],
            base[1] + values["Y"] * self.scale if "Y" in values else at[1],
        )
        if self.mode in (2, 3):
            i, j = values.get("I", 0.0) * self.scale, values.get("J", 0.0) * self.scale
            if "R" in values:
                i, j = to_centre(at, to, values["R"] * self.scale, anticlockwise=self.mode == 3)
            return self._arc(to, i, j)
        return self.head.go(to)

    def _settle(self) -> None:
        """Set whether the tool works: by Z, from the stock's surface, 0, down; as a beam, while it
        is on and, with M4, moves at feed.
        """
        if self.z is not None:
            working = self.z <= 0.0
        else:
            shines = self.spindle == 3 or (self.spindle == 4 and self.mode != 0)
            working = self.power > 0.0 and shines
        if working:
            self.head.lower()
        else:
            self.head.lift()

    def _arc(self, to: tuple[float, float], i: float, j: float) -> float:
        at = self.head.at
        centre = (at[0] + i, at[1] + j)
        radius = math.dist(at, centre)
        if abs(radius - math.dist(to, centre)) > 0.01:
            raise ValueError("33")
        begin = math.atan2(at[1] - centre[1], at[0] - centre[0])
        end = math.atan2(to[1] - centre[1], to[0] - centre[0])
        turn = (end - begin) % math.tau or math.tau
        turn = turn if self.mode == 3 else turn - math.tau or -math.tau
        steps = max(1, math.ceil(abs(turn) / ARC_STEP))
        seconds = 0.0
        for step in range(1, steps):
            angle = begin + turn * step / steps
            x, y = centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)
            seconds += self.head.go((x, y))
        return seconds + self.head.go(to)

    def stumble(self) -> None:
        """Answer the next line with an error."""
        self.fail_line = self.lines + 1

    def reset(self) -> None:
        """Switch off and on."""
        self.held.clear()
        self.answers.clear()
        self.head.reset()
        self.mode, self.scale, self.relative = 0, 1.0, False
        self.number = 0
        self.z, self.spindle, self.power, self.feed = None, 0, 0.0, 0.0
        self.stopped = self.awaits_hand = False
        self.answers.append(self.greeting)
