"""A three-axis controller that is fed G-code, after the public interface notes of version 1.1."""

from __future__ import annotations

import functools
import math
import operator
import re
from dataclasses import dataclass, field

from machines_from_notes.board import RECEIVE, Board, arc
from machines_from_notes.head import Block, Head

PLANNED, LONGEST = 15, 80
_WORD = re.compile(rb"([A-Z])([-+]?(?:\d+\.?\d*|\.\d+))")
_SETTINGS = {10: 1, 13: 0, 30: 1000, 31: 0, 32: 0, 110: 60000, 111: 60000, 112: 60000, 120: 3000,
             121: 3000, 122: 3000, 130: 2000, 131: 2000, 132: 200}  # fmt: skip


@dataclass
class Habits:
    """In what machines of this kind differ. Times in seconds, offset in mm."""

    greeting: bytes = b"Grind 1.1h ['$' for help]"
    boot: float = 0.0
    boots_on_open: bool = False
    locked: bool = False
    line_numbers: bool = True
    keeps_number: bool = False  # tells the last line number when it stands, too
    room: bool = True
    work_place: bool = False
    offset: tuple[float, float, float] = (0.0, 0.0, 0.0)
    offset_every: int = 10
    deceleration: float = 0.0
    ok: str = "ok"  # "ok", "full" (ok P15 B3) or "number" (ok N12)
    busy: float = 0.0  # says that it is busy so often
    echo: bool = False
    starts_with: bytes = b""  # its user's own line at the start
    beam: bool = False
    settings: dict[int, float] = field(default_factory=dict)
    loses_ok: tuple[int, ...] = ()  # of which lines, counted since power
    garbles: tuple[int, ...] = ()  # which lines come damaged and are asked for again
    checksums: bool = False  # a line with a number needs the next one, and a checksum
    speed: float = 1.0  # how many times faster than real


class Controller(Board):
    """Fed bytes, told of time; speaks through `out`."""

    def __init__(self, habits: Habits) -> None:
        super().__init__()
        self.habits = habits
        self.surface = habits.offset[2]
        self._awake_at = math.inf
        self._power_up(0.0)

    # what a bystander sees

    @property
    def tool_down(self) -> bool:
        """Whether the tool touches the stock, or its beam is on."""
        if self.habits.beam:
            return (self.power and self.state in ("Run", "Hold") and bool(self.head.queue)) or (
                self.power and not self._laser_mode
            )  # fmt: skip
        return self.head.true_place()[2] < self.surface - 0.01

    @property
    def work(self) -> int:
        """Return how much it has been given."""
        return self.lines

    @property
    def at_rest(self) -> bool:
        """Whether nothing moves and nothing waits to be worked."""
        return not self.head.queue and b"\n" not in self.received and not self._waiting

    # what may happen to it

    def home(self) -> None:
        """Its user homes it at its own panel: its count is true again, and the tool is high."""
        self.head.drop()
        self.head.place, self.head.slip = [0.0, 0.0, max(0.0, self.surface)], [0.0, 0.0, 0.0]
        self._sync()
        if self.state == "Alarm":
            self.state = "Idle"

    def push_reset(self) -> None:
        """Its user presses the board's button."""
        self.lose_power()

    def feed(self, data: bytes) -> None:
        """Take bytes from the line."""
        if self.now < self._awake_at:
            return
        for byte in data:
            self._take(bytes([byte]))

    def advance(self, seconds: float) -> None:
        """Let time pass."""
        self.now += seconds
        if self._awake_at > self.now:
            return
        if not self._greeted:
            self._greet()
        if self.state == "Run":
            self.head.run(seconds * self.habits.speed)
            if not self.head.queue:
                self.state = "Idle"
        elif self.state == "Hold" and not self._resting:
            self._resting = self.head.run_slowing(seconds * self.habits.speed)
        self._asked_at = min(self._asked_at, self.now + 0.02)
        if self._asked and self.now >= self._asked_at:
            self._report()
        if self.habits.busy and not self.at_rest and self.now >= self._busy_at:
            self._busy_at = self.now + self.habits.busy
            self._say(b"echo:busy: processing")
        while self._work_line():
            pass

    # within

    def _in_stock(self, head: Head, working: bool) -> bool:
        if self.habits.beam:
            return working
        return head.true_place()[2] < self.surface - 0.01

    @property
    def _laser_mode(self) -> bool:
        return bool(self._setting(32))

    def _setting(self, number: int) -> float:
        return self.habits.settings.get(number, _SETTINGS[number])

    def _power_up(self, boot: float) -> None:
        self._forget()
        self.state = "Alarm" if self.habits.locked else "Idle"
        self._awake_at = self.now + boot
        self._greeted = False

    def _forget(self) -> None:
        self.received = b""
        self._waiting = b""
        self._asked = False
        self._asked_at = math.inf
        self._resting = True
        self._reports = 0
        self._busy_at = self.now + (self.habits.busy or math.inf)
        self.power = False
        self._last_number = 0
        self._modal = {
            "motion": 0,
            "absolute": True,
            "scale": 1.0,
            "feed": 0.0,
            "line": 0,
            "s": 0.0,
        }
        self._sync()

    def _sync(self) -> None:
        self._planned = list(self.head.place)

    def _greet(self) -> None:
        self._greeted = True
        self.out += b"\r\n"
        self._say(self.habits.greeting)
        if self.state == "Alarm":
            self._say(b"[MSG:'$H'|'$X' to unlock]")
        elif self.habits.starts_with:
            self._say(b">" + self.habits.starts_with + b":ok")

    def _say(self, line: bytes) -> None:
        self.out += line + b"\r\n"

    def _take(self, byte: bytes) -> None:
        if byte == b"?":
            if not self._asked:
                self._asked, self._asked_at = True, self.now + 0.005
        elif byte == b"!":
            if self.state == "Run":
                self.state, self._resting = "Hold", False
                self.head.slow_down(self.habits.deceleration)
                if not self.habits.deceleration:
                    self._resting = True
        elif byte == b"~":
            if self.state == "Hold" and self._resting:
                self.state = "Run" if self.head.queue else "Idle"
        elif byte == b"\x18":
            self._soft_reset()
        elif byte[0] >= 0x80 or byte == b"\r":
            return
        elif len(self.received) >= RECEIVE:
            self.overflows += 1
        else:
            self.received += byte

    def _soft_reset(self) -> None:
        self.resets += 1
        moving = self.state in ("Run", "Home") or (self.state == "Hold" and not self._resting)
        was_locked = self.state == "Alarm"
        self.head.drop()
        if moving:  # stopped dead: some steps are lost
            self.head.slip = [self.head.slip[0] + 0.4, self.head.slip[1] - 0.3, self.head.slip[2]]
        self._forget()
        self.state = "Idle"
        if moving:
            self._say(b"ALARM:3")
        if moving or (was_locked and self.habits.locked):
            self.state = "Alarm"
        self._greet()

    def alarm(self, number: int) -> None:
        """Raise an alarm: 1 a hard limit, 2 a target beyond the travel."""
        self.head.drop()
        if number == 1:
            self.head.slip = [self.head.slip[0] + 1.0, *self.head.slip[1:]]
        self._forget()
        self._say(b"ALARM:%d" % number)
        self._say(b"[MSG:Reset to continue]")
        self.state = "Alarm"

    def _report(self) -> None:
        self._asked, self._asked_at = False, math.inf
        inches = 25.4 if self._setting(13) else 1.0
        name = self.state + ((":0" if self._resting else ":1") if self.state == "Hold" else "")
        less = self.habits.offset if self.habits.work_place else (0.0, 0.0, 0.0)
        place = [a - b for a, b in zip(self.head.place, less, strict=True)]
        parts = [
            name,
            f"{'W' if self.habits.work_place else 'M'}Pos:"
            + ",".join(f"{v / inches:.3f}" for v in place),
        ]
        if self.habits.room:
            parts.append(f"Bf:{PLANNED - len(self.head.queue)},{self.room}")
        number = self.head.queue[0].number if self.head.queue else 0
        if self.habits.keeps_number and not number:
            number = int(self._modal["line"])
        if self.habits.line_numbers and number:
            parts.append(f"Ln:{number}")
        parts.append(f"FS:{self._modal['feed']:g},{self._modal['s']:g}")
        if self._reports % self.habits.offset_every == 0:
            parts.append("WCO:" + ",".join(f"{v / inches:.3f}" for v in self.habits.offset))
        self._reports += 1
        self._say(("<" + "|".join(parts) + ">").encode())

    def _work_line(self) -> bool:
        """Work the next line, if one is there and there is room; return whether one was."""
        if not self._waiting:
            if b"\n" not in self.received:
                return False
            if len(self.head.queue) >= PLANNED:
                return False
            self._waiting, _, self.received = self.received.partition(b"\n")
            if self.habits.echo and self._waiting:
                self._say(b"[echo: " + self._waiting + b"]")
            if not self._waiting:
                self._answer(b"ok")
                return True
        if self._waits_for_rest(self._waiting) and (self.head.queue or self.state == "Hold"):
            return False
        line, self._waiting = self._waiting, b""
        self._execute(line)
        return True

    def _waits_for_rest(self, line: bytes) -> bool:
        words = _WORD.findall(_clean(line))
        return any(
            (k == b"M" and float(v) in (0, 2, 3, 4, 5, 6, 30)) or (k == b"G" and float(v) == 4)
            for k, v in words
        )

    def _execute(self, raw: bytes) -> None:
        self.lines += 1
        self.log.append(raw.decode("latin-1"))
        if self.habits.checksums and not self._checked(raw):
            return
        if raw.startswith(b"$"):
            self._answer(self._system(raw.strip().upper()))
            return
        line = _clean(raw)
        if self.state == "Alarm":
            self._answer(b"error:9")
        elif len(raw) > LONGEST:
            self._answer(b"error:11")
        elif self.lines in self.habits.garbles and line.startswith(b"N"):
            number = int(float(_WORD.match(line).group(2)))  # type: ignore[union-attr]
            self._say(b"Error:checksum mismatch, Last Line: %d" % (number - 1))
            self._say(b"Resend: %d" % number)
            self._answer(b"ok")
        else:
            self._answer(self._block(line))

    def _checked(self, raw: bytes) -> bool:
        """Return whether a line with a number is sound and in turn; else ask for it again."""
        if self.lines in self.habits.garbles:
            raw = raw.replace(b"0", b"8", 1) if b"0" in raw else raw[1:]
        body, star, check = raw.partition(b"*")
        number = re.match(rb"(?:M110 )?N(\d+)", body)
        if not number and not star:
            return True
        last, wrong = self._last_number, ""
        if not star:
            wrong = "No Checksum with line number"
        elif functools.reduce(operator.xor, body, 0) != int(check or b"0"):
            wrong = "checksum mismatch"
        elif not number:
            wrong = "No Line Number with checksum"
        elif int(number[1]) != last + 1 and not body.startswith(b"M110"):
            wrong = "Line Number is not Last Line Number+1"
        if not wrong and number:
            self._last_number = int(number[1])
            if body.startswith(b"M110"):
                self._answer(b"ok")
            return not body.startswith(b"M110")
        self.received = b""
        self._say(f"Error:{wrong}, Last Line: {last}".encode())
        self._say(b"Resend: %d" % (last + 1))
        self._say(b"ok")
        return False

    def _answer(self, answer: bytes) -> None:
        if self.lines in self.habits.loses_ok and answer == b"ok":
            return
        if answer == b"ok" and self.habits.ok == "full":
            answer = b"ok P%d B%d" % (PLANNED - len(self.head.queue), 3)
        elif answer == b"ok" and self.habits.ok == "number":
            answer = b"ok N%d" % self._modal["line"]
        self._say(answer)

    def _system(self, line: bytes) -> bytes:
        if line == b"$X":
            if self.state == "Alarm":
                self._say(b"[MSG:Caution: Unlocked]")
                self.state = "Idle"
        elif line == b"$H":
            self.home()
        elif line in (b"$$", b"$I", b"$#", b"$N", b"$G"):
            if line != b"$G" and self.state not in ("Idle", "Alarm"):
                return b"error:8"
            if line == b"$$":
                for number in sorted(_SETTINGS):
                    self._say(f"${number}={self._setting(number):g}".encode())
            elif line == b"$I":
                self._say(b"[VER:1.1h.20190830:]")
                self._say(b"[OPT:V,15,128]")
            elif line == b"$#":
                self._say(b"[G54:" + b",".join(b"%.3f" % v for v in self.habits.offset) + b"]")
            elif line == b"$G":
                self._say(self._modes())
        else:
            return b"error:3"
        return b"ok"

    def _modes(self) -> bytes:
        modal = self._modal
        units, way = (
            ("G20" if modal["scale"] != 1.0 else "G21"),
            "G90" if modal["absolute"] else "G91",
        )
        power = "M3" if self.power else "M5"
        feed = modal["feed"] / modal["scale"]
        return (
            f"[GC:G{modal['motion']} G54 G17 {units} {way} G94 {power} M9 T0 F{feed:.0f} "
            f"S{modal['s']:.0f}]"
        ).encode()

    def _block(self, line: bytes) -> bytes:
        words = [(k.decode(), float(v)) for k, v in _WORD.findall(line)]
        if b"".join(b"%s%s" % pair for pair in _WORD.findall(line)) != line:
            return b"error:1"
        modal, values, once, number = self._modal, {}, False, 0
        for letter, value in words:
            if letter == "G":
                if value in (0, 1, 2, 3):
                    modal["motion"] = int(value)
                elif value in (90, 91):
                    modal["absolute"] = value == 90
                elif value in (20, 21):
                    modal["scale"] = 25.4 if value == 20 else 1.0
                elif value == 53:
                    once = True
                elif value not in (4, 17, 40, 49, 54, 61, 80, 94):
                    return b"error:20"
            elif letter == "M":
                if value in (3, 4, 5):
                    self.power = value != 5
                elif value in (0, 6):
                    self.state, self._resting = "Hold", True
                elif value in (2, 30):
                    self.power = False
                elif value not in (7, 8, 9):
                    return b"error:20"
            elif letter in "XYZIJ":
                values[letter] = value * modal["scale"]
            elif letter == "F":
                modal["feed"] = value * modal["scale"]
            elif letter == "S":
                modal["s"] = value
            elif letter == "N":
                modal["line"] = number = int(value)
        if any(axis in values for axis in "XYZ"):
            return self._plan(values, once, number)
        return b"ok"

    def _plan(self, values: dict[str, float], once: bool, number: int) -> bytes:
        modal = self._modal
        offset = (0.0, 0.0, 0.0) if once else self.habits.offset
        start, end = list(self._planned), list(self._planned)
        for axis, letter in enumerate("XYZ"):
            if letter in values:
                base = offset[axis] if modal["absolute"] else start[axis]
                end[axis] = base + values[letter]
        rapid = modal["motion"] == 0
        speed = (100.0 if rapid else modal["feed"] / 60.0) or 0.0
        if not speed:
            return b"error:22"
        beam = self.power and modal["s"] > 0.0 and not (rapid and self._laser_mode)
        if self.habits.beam and rapid and beam:
            self.burns += 1
        points = [tuple(end)]
        if modal["motion"] in (2, 3):
            points = arc(start, end, values, modal["motion"] == 2)
            if not points:
                return b"error:33"
        for point in points:
            seconds = math.dist(start, point) / speed
            self.head.queue.append(Block(point, max(seconds, 1e-4), beam, number))
            start = list(point)
        self._planned = end
        if self.state == "Idle":
            self.state = "Run"
        return b"ok"


def _clean(line: bytes) -> bytes:
    line = re.sub(rb"\([^)]*\)|;.*|[ \t]", b"", line)
    return re.sub(rb"\*\d+$", b"", line).upper()
