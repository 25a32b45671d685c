"""A plotter or cutter that is fed HP-GL, after Hewlett-Packard's 7550A manual of 1984-86.

PE is after the HP-GL/2 reference guide.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from machines_from_notes.head import Block, Head

ESC, ETX, XON, XOFF = 0x1B, 0x03, 0x11, 0x13
NOT_EMPTY, EMPTY, PAUSED = 0, 8, 16
INITIALIZED, READY = 8, 16  # of the status: since it was last asked (OS); paper is in
_NUMBER = re.compile(rb"[-+]?(?:\d+\.?\d*|\.\d+)")
_SILENT = set(
    b"IN DF SP VS FS AS IP SC RO IW PT LT NP WU PW SA SS CS SI SR DI DR TR PS NR PG AF AH FR EC BP"
    b" IM VN".split()
)


@dataclass
class Habits:
    """In what machines of this kind differ. Times in seconds."""

    identity: bytes = b"7550A"
    buffer: int = 1024
    answers: bool = True
    flow: str = "enquiry"  # "xon-xoff": it stops the line by itself; "hardware": it stops taking
    boot: float = 0.0
    boots_on_open: bool = False
    deceleration: float = 0.0
    drops: bool = True  # ESC.K empties its buffer
    waits_to_tell_size: bool = False  # ESC.L answers when the buffer is empty, as older ones do
    loses_ack: tuple[int, ...] = ()
    full_for_ever: int = 0  # after so many bytes it works nothing more
    speed: float = 1.0  # how many times faster than real


class Plotter:
    """Fed bytes, told of time; speaks through `out`. It counts in plotter units."""

    def __init__(self, habits: Habits) -> None:
        self.habits = habits
        self.head = Head([0.0, 0.0], lambda _head, working: working)
        self.out = b""
        self.overflows = 0
        self._spilt = 0  # of these, since it last worked anything: dropping all makes up for them
        self.resets = 0
        self.taken = 0
        self.acks = 0
        self.errors: list[str] = []
        self.log: list[bytes] = []
        self.now = 0.0
        self._power_up(0.0)

    @property
    def tool_down(self) -> bool:
        """Whether the pen is on the stock."""
        return self.pen

    @property
    def awake(self) -> bool:
        """Whether it is on and has started."""
        return self.now >= self._awake_at

    @property
    def work(self) -> int:
        """Return how much it has been given."""
        return self.taken

    @property
    def at_rest(self) -> bool:
        """Whether nothing moves and nothing waits to be worked."""
        return not self.head.queue and not self.received and self._pen_until <= self.now

    @property
    def room(self) -> int:
        """Return how many bytes may come before some are lost."""
        return self.habits.buffer - len(self.received)

    def lose_power(self) -> None:
        """Switch off and on: the pen goes up, and it forgets its handshake, scale and buffer."""
        self._power_up(self.habits.boot)

    def push_reset(self) -> None:
        """Its user presses reset at the panel."""
        self.lose_power()

    def opened(self) -> None:
        """Its port was opened."""
        if self.habits.boots_on_open:
            self.lose_power()

    def home(self) -> None:
        """Its user sends it to its origin with the pen up, at the panel."""
        self.head.drop()
        self.pen = False
        self.head.place, self.head.slip = [0.0, 0.0], [0.0, 0.0]
        self._sync()

    def feed(self, data: bytes) -> None:
        """Take bytes from the line."""
        if self.now < self._awake_at:
            return
        for byte in data:
            self._take(byte)

    def advance(self, seconds: float) -> None:
        """Let time pass."""
        self.now += seconds
        if self.now < self._awake_at:
            return
        if self.head.slowing:
            if self.head.run_slowing(seconds * self.habits.speed):
                self.head.drop()
                self._sync()
        else:
            self.head.run(seconds * self.habits.speed)
        while self._work():
            pass
        if self.habits.flow == "xon-xoff" and self.stopped and self.room > self.habits.buffer // 2:
            self.stopped = False
            self.out += bytes([XON])
        self._acknowledge()
        if self._size_asked and self.at_rest:
            self._size_asked = False
            self._say(b"%d" % self.habits.buffer)

    # within

    def _power_up(self, boot: float) -> None:
        self.head.drop()
        self.head.place, self.head.slip = [0.0, 0.0], [0.0, 0.0]  # it finds its corner by itself
        self._awake_at = self.now + boot
        self.received = b""
        self._escape: bytes | None = None
        self.stopped = self._size_asked = False
        self._enquiry, self._block, self._ack, self._asked = 0, 80, b"", 0
        self._device_error = 0
        self._pen_until = 0.0
        self._initialize()
        self.pen = False
        self._commanded_pen = False
        self._sync()

    def _initialize(self) -> None:
        self.p1p2 = [0, 0, 10000, 7200]
        self.scale: list[float] = []
        self.terminator = ETX
        self.relative = False
        self.velocity = 38.1  # cm/s
        self.error = 0
        self.status = INITIALIZED | READY

    def _sync(self) -> None:
        self._planned = list(self.head.place)

    def _say(self, answer: bytes) -> None:
        if self.habits.answers:
            self.out += answer + b"\r"

    def _take(self, byte: int) -> None:
        if self._escape is not None:
            self._escape += bytes([byte])
            self._device_control()
        elif byte == ESC:
            self._escape = b""
        elif self._enquiry and byte == self._enquiry:
            self._asked += 1
            self._acknowledge()
        elif self.room <= 0:
            self.overflows += 1
            self._spilt += 1
            self._device_error = 16
        else:
            self.received += bytes([byte])
            self.taken += 1
            if (
                self.habits.flow == "xon-xoff"
                and not self.stopped
                and self.room < self.habits.buffer // 4
            ):
                self.stopped = True
                self.out += bytes([XOFF])

    def _acknowledge(self) -> None:
        while self._asked and self.room >= self._block:
            self._asked -= 1
            self.acks += 1
            if self.acks not in self.habits.loses_ack:
                self.out += self._ack

    def _device_control(self) -> None:
        text = self._escape or b""
        if not text.startswith(b"."):
            if text:
                self._escape = None
            return
        if len(text) < 2:
            return
        letter = text[1:2]
        if letter in b"@HIMNPST" and letter != b"S":
            if not text.endswith(b":"):
                if len(text) > 60:
                    self._escape, self._device_error = None, 11
                return
            self._parameters(letter, text[2:-1].split(b";"))
        elif letter == b"B":
            self._say(b"%d" % max(0, self.room))
        elif letter == b"L":
            if self.habits.waits_to_tell_size:
                self._size_asked = True
            else:
                self._say(b"%d" % self.habits.buffer)
        elif letter == b"E":
            self._say(b"%d" % self._device_error)
            self._device_error = 0
        elif letter == b"O":
            self._say(b"%d" % (EMPTY if self.at_rest else NOT_EMPTY))
        elif letter == b"A":
            self._say(self.habits.identity + b",1")
        elif letter == b"K":
            if self.habits.drops:
                self.received = b""
                self.overflows, self._spilt = self.overflows - self._spilt, 0
                if self.habits.deceleration and self.head.queue:
                    if not self.head.slowing:
                        self.head.slow_down(self.habits.deceleration)
                else:
                    self.head.drop()
                    self._sync()
        elif letter == b"R":
            self._enquiry, self._block, self._ack, self._asked = 0, 80, b"", 0
        elif letter not in b"JYZ()":
            self._device_error = 10
        self._escape = None

    def _parameters(self, letter: bytes, fields: list[bytes]) -> None:
        numbers = [int(f) if f.strip().isdigit() else 0 for f in fields] + [0] * 10
        if letter in b"HI":
            self._block, self._enquiry = numbers[0] or 80, numbers[1]
            self._ack = bytes(n for n in numbers[2:12] if n)
        self._escape = None

    def _work(self) -> bool:
        """Work the next instruction when the one before is done; return whether one was."""
        stuck = self.habits.full_for_ever and self.taken >= self.habits.full_for_ever
        if self.head.queue or self._pen_until > self.now or self.head.slowing or stuck:
            return False
        self._commanded_pen = self.pen
        taken = self._instruction()
        if taken is None:
            return False
        name, rest = taken
        self._spilt = 0
        self.log.append(name + rest)
        self._execute(name, rest)
        return True

    def _instruction(self) -> tuple[bytes, bytes] | None:
        """Take one whole instruction out of the buffer: its name, and what follows it."""
        self.received = self.received.lstrip(b"; \r\n\t,")
        data = self.received
        if len(data) < 2:
            return None
        name = data[:2].upper()
        if not name.isalpha():
            self.error = self.error or 1
            self.errors.append(repr(data[:8]))
            self.received = data[1:]
            return self._instruction()
        if name == b"LB":
            end = data.find(bytes([self.terminator]), 2)
            if end < 0:
                return None
            self.received = data[end + 1 :]
            return name, data[2:end]
        if name == b"DT":
            if len(data) < 4:
                return None
            self.received = data[3:]
            return name, data[2:3]
        if name == b"PE":
            end = data.find(b";", 2)
            if end < 0:
                return None
            self.received = data[end + 1 :]
            return name, data[2:end]
        for k in range(2, len(data)):
            if data[k : k + 1] == b";" or data[k : k + 1].isalpha():
                self.received = data[k:]
                return name, data[2:k]
        return None

    def _execute(self, name: bytes, rest: bytes) -> None:
        numbers = [float(v) for v in _NUMBER.findall(rest)]
        if name in (b"IN", b"DF"):
            self._initialize()
            if name == b"IN":
                self._set_pen(False)
        elif name in (b"PU", b"PD"):
            self._set_pen(name == b"PD")
            self._draw(numbers)
        elif name in (b"PA", b"PR"):
            self.relative = name == b"PR"
            self._draw(numbers)
        elif name == b"PE":
            self._encoded(rest)
        elif name == b"AA" and len(numbers) >= 3:
            self._arc(numbers)
        elif name == b"VS":
            self.velocity = numbers[0] if numbers and numbers[0] > 0 else 38.1
        elif name == b"SP":
            self._set_pen(False)
        elif name == b"IP":
            self._scaling_points([round(v) for v in numbers[:4]])
        elif name == b"SC":
            self.scale = numbers[:4]
        elif name == b"DT":
            self.terminator = rest[0] if rest and rest != b";" else ETX
        elif name in (b"OA", b"OC", b"OE", b"OF", b"OH", b"OI", b"OP", b"OS", b"OW", b"OO"):
            self._output(name)
        elif name not in _SILENT and name != b"LB":
            self.error = 1
            self.errors.append(name.decode())

    def _scaling_points(self, numbers: list[int]) -> None:
        """P2 follows P1 at the distance that it had, where only P1 is given."""
        if len(numbers) == 2:
            x, y, far_x, far_y = self.p1p2
            numbers = [*numbers, numbers[0] + far_x - x, numbers[1] + far_y - y]
        self.p1p2 = numbers if len(numbers) == 4 else [0, 0, 10000, 7200]

    def _output(self, name: bytes) -> None:
        x, y = (round(v) for v in self.head.place)
        answers = {
            b"OA": b"%d,%d,%d" % (x, y, self.pen),
            b"OC": b"%d,%d,%d" % (x, y, self.pen),
            b"OE": b"%d" % self.error,
            b"OF": b"40,40",
            b"OH": b"0,0,40000,24000",
            b"OI": self.habits.identity,
            b"OO": b"0,1,0,0,1,0,0,0",
            b"OP": b"%d,%d,%d,%d" % tuple(self.p1p2),
            b"OS": b"%d" % (self.status + self.pen + (32 if self.error else 0)),
            b"OW": b"0,0,40000,24000",
        }
        if name == b"OE":
            self.error = 0
        elif name == b"OS":
            self.status &= ~INITIALIZED
        self._say(answers[name])

    def _set_pen(self, down: bool) -> None:
        if self.pen != down:
            self._pen_until = self.now + 0.03 / self.habits.speed
        self.pen = down

    def _user(self, x: float, y: float, relative: bool) -> tuple[float, float]:
        """Return a vertex in plotter units."""
        if not self.scale:
            return (self._planned[0] + x, self._planned[1] + y) if relative else (x, y)
        x0, x1, y0, y1 = self.scale
        a, b, c, d = self.p1p2
        kx, ky = (c - a) / (x1 - x0), (d - b) / (y1 - y0)
        if relative:
            return self._planned[0] + x * kx, self._planned[1] + y * ky
        return a + (x - x0) * kx, b + (y - y0) * ky

    def _draw(self, numbers: list[float]) -> None:
        if len(numbers) % 2:
            self.error = 2
            self.errors.append("odd count of coordinates")
            numbers = numbers[:-1]
        for x, y in zip(numbers[::2], numbers[1::2], strict=True):
            self._go(self._user(x, y, self.relative), self.pen)

    def _go(self, to: tuple[float, float], down: bool) -> None:
        units = self.velocity * 10.0 / 0.025
        seconds = math.dist(self._planned, to) / units
        self.head.queue.append(Block(to, max(seconds, 1e-5), down))
        self._planned = list(to)

    def _arc(self, numbers: list[float]) -> None:
        cx, cy = self._user(numbers[0], numbers[1], self.relative)
        sweep = math.radians(numbers[2])
        x, y = self._planned
        radius, first = math.hypot(x - cx, y - cy), math.atan2(y - cy, x - cx)
        count = max(
            1, math.ceil(abs(numbers[2]) / (numbers[3] if len(numbers) > 3 and numbers[3] else 5.0))
        )
        for k in range(1, count + 1):
            angle = first + sweep * k / count
            self._go((cx + radius * math.cos(angle), cy + radius * math.sin(angle)), self.pen)

    def _encoded(self, rest: bytes) -> None:
        """Work an encoded polyline: flags : < > = 7, pairs in base 64 or 32, low digit first."""
        base, seven, down, absolute, fraction = 64, False, True, False, 0
        numbers: list[float] = []
        value, weight, want = 0, 1, "pair"
        for sign in rest:
            byte = sign & 0x7F if seven else sign
            if want == "pair" and weight == 1 and not numbers and chr(byte) in ":<>=7":
                flag = chr(byte)
                if flag == "7":
                    base, seven = 32, True
                elif flag == "<":
                    down = False
                elif flag == "=":
                    absolute = True
                else:
                    want = flag
                continue
            last, digit = _digit(byte, base)
            if digit is None:
                continue
            value += digit * weight
            weight *= base
            if not last:
                continue
            number = -(value >> 1) if value & 1 else value >> 1
            value, weight = 0, 1
            if want == ">":
                fraction, want = number, "pair"
                continue
            if want == ":":
                want = "pair"
                continue
            numbers.append(number / 2.0**fraction)
            if len(numbers) == 2:
                to = self._user(numbers[0], numbers[1], not absolute)
                numbers = []
                self._pen_in_polyline(down)
                self._go(to, down)
                down, absolute = True, False
        self.pen = self._polyline_pen if rest else self.pen

    _polyline_pen = False

    def _pen_in_polyline(self, down: bool) -> None:
        self._polyline_pen = down


def _digit(byte: int, base: int) -> tuple[bool, int | None]:
    """Return whether a byte ends a number, and its digit (None: the byte is to be ignored)."""
    if base == 64:
        if 63 <= byte <= 126:
            return False, byte - 63
        if 191 <= byte <= 254:
            return True, byte - 191
    elif 63 <= byte <= 94:
        return False, byte - 63
    elif 95 <= byte <= 126:
        return True, byte - 95
    return False, None
