"""What a file is made of, and what a machine says: the little that sending must know.

A file is cut into units. A unit runs from the lift after one stroke to the end of the next
stroke's work, so that a job can go on at any unit: it begins with the tool up and an absolute
move. The last unit is the file's ending.

Sources: HP 7550A Interfacing and Programming Manual (instructions, `OA`, ESC . device control);
NIST IR 6556 (RS-274/NGC words). `ok`, `error:`, `!`, `?` and control-X of small G-code
controllers are common practice.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from mmap import mmap
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from plotout.wire.encoded import decode

Buffer = bytes | mmap
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Heard:
    """One thing that a machine said.

    kind: "ok", "room" (free bytes), "at" (position after a stroke: it is done), "tally" (units
    done), "status", "error", "reset" or "other". value: free bytes, units done, or the error's
    number. at: machine units. down: whether the tool is down, None where it isn't said.
    """

    kind: str
    text: str = ""
    value: int = 0
    at: Point | None = None
    idle: bool = False
    down: bool | None = None


class Language(Protocol):
    """How one family of machines is spoken to."""

    @property
    def name(self) -> str:
        """Name in a profile's `wire` table."""

    @property
    def by_line(self) -> bool:
        """True when every line is sent whole and answered."""

    @property
    def mark(self) -> bytes:
        """Sent after a stroke; answered when all before it is done."""

    @property
    def tally(self) -> bytes:
        """Asks how many units are done, by what `counted` left with the machine."""

    @property
    def place(self) -> bytes:
        """Asks where the tool is, in its turn."""

    def counted(self, part: bytes, done: int) -> bytes:
        """Return a unit's last part so that the machine, having done it, knows `done` units."""

    @property
    def ask(self) -> bytes:
        """Asks where the machine is and whether it moves, at once."""

    @property
    def who(self) -> bytes:
        """Asks the machine what it is."""

    @property
    def drop(self) -> bytes:
        """Throws away what the machine has not begun, at once."""

    @property
    def park(self) -> bytes:
        """Tool up and off."""

    def opened(self, head: bytes, done: int) -> bytes:
        """Return a preamble so that the machine begins to count at `done` units."""

    def unit_starts(self, data: Buffer) -> NDArray[np.int64]:
        """Return the byte offset of every unit; what lies before the first is the preamble."""

    def state(self, data: Buffer, end: int) -> bytes:
        """Return the settings in force at byte `end`, to be sent before going on there."""

    def work_ends(self, unit: bytes, start: Point) -> tuple[list[Point], list[Point]]:
        """Return where a unit stands before its work begins, and the points of its work."""

    def hear(self, line: str) -> Heard:
        """Return what one line from the machine means."""


_HPGL = re.compile(
    rb"\x1b\.[A-Z](?:[0-9;]*:)?|LB[^\x03]*\x03|PE[^;]*;?|[A-Za-z]{2}[^A-Za-z;\x1b]*;?|[;\s]+"
)
_NUMBERS = re.compile(rb"[-+]?\d+\.?\d*")
_POSITION = re.compile(r"^\s*([-+]?[\d.]+),([-+]?[\d.]+),([01])\s*$")
_TALLY = re.compile(r"^\s*(-?\d+),(-?\d+),(-?\d+),(-?\d+)\s*$")
_SPAN = (701, 709)  # from P1 to P2: says that P1's x is a count of ours
HPGL_ROUND = 30_000  # plotter units are 16 bits in older machines: the count goes round


@dataclass(frozen=True, slots=True)
class Hpgl:
    """HP-GL and HP-GL/2. `OP` and `OA` are answered in their turn; ESC . B at once.

    The count of units done is left in the scaling point P1 (`IP`), which moves nothing while
    coordinates are plotter units, and is read back by `OP`. P2 follows P1 at the distance that
    `opened` sets; a machine that was reset has another.
    """

    name: str = "hpgl"
    by_line: bool = False
    mark: bytes = b"OP;"
    tally: bytes = b"OP;"
    place: bytes = b"OA;"
    ask: bytes = b"\x1b.B"
    who: bytes = b"OI;"
    drop: bytes = b"\x1b.K"
    park: bytes = b";PU;SP0;"

    def counted(self, part: bytes, done: int) -> bytes:
        """See Language."""
        return part + b"IP%d,0;" % (done % HPGL_ROUND)

    def opened(self, head: bytes, done: int) -> bytes:
        """See Language."""
        at = done % HPGL_ROUND
        return head + b"IP%d,0,%d,%d;" % (at, at + _SPAN[0], _SPAN[1])

    def unit_starts(self, data: Buffer) -> NDArray[np.int64]:
        """A unit begins at the first PU after the pen was down."""
        starts: list[int] = []
        down = True  # so that the first PU begins the first unit
        for found in _HPGL.finditer(data):
            word = bytes(found[0][:2]).upper()
            if word == b"PU":
                if down:
                    starts.append(found.start())
                down = False
            elif word in (b"PD", b"PE"):
                down = True
        return np.array(starts, dtype=np.int64)

    def state(self, data: Buffer, end: int) -> bytes:
        """The last of each instruction that draws nothing, in the order of their last use."""
        last: dict[bytes, bytes] = {}
        for found in _HPGL.finditer(data, 0, end):
            text = bytes(found[0])
            word = text[:2].upper()
            moves = word in (b"PU", b"PD", b"PE", b"LB", b"OA") or not word.isalpha()
            if not moves and not (word in (b"PA", b"PR") and _NUMBERS.search(text)):
                last.pop(word, None)
                last[word] = text if text.endswith(b";") else text + b";"
        return b"".join([last.pop(b"IN", b""), *last.values()])

    def work_ends(self, unit: bytes, start: Point) -> tuple[list[Point], list[Point]]:
        """Follow PU, PD, PA, PR and PE."""
        before: list[Point] = []
        work: list[Point] = []
        at, down, relative = start, False, False
        for found in _HPGL.finditer(unit):
            text = bytes(found[0])
            word = text[:2].upper()
            relative = word == b"PR" or (relative and word != b"PA")
            if word == b"PE":
                for x, y, pen in decode(text[2:], at):
                    at = (x, y)
                    (work if pen else before).append(at)
                continue
            down = word == b"PD" or (down and word != b"PU")
            if word in (b"PU", b"PD", b"PA", b"PR"):
                numbers = [float(n) for n in _NUMBERS.findall(text)]
                if word == b"PD" and not numbers:
                    work.append(at)  # a dot, or the first point of what follows
                for x, y in zip(numbers[::2], numbers[1::2], strict=False):
                    at = (at[0] + x, at[1] + y) if relative else (x, y)
                    (work if down else before).append(at)
        return before, work

    def hear(self, line: str) -> Heard:
        """A whole number is free room; three numbers are a position; four are P1 and P2."""
        points = _TALLY.match(line)
        if points:
            x, y, far_x, far_y = (int(each) for each in points.groups())
            ours = (far_x - x, far_y - y) == _SPAN
            return Heard("tally", line, value=x if ours else -1)
        found = _POSITION.match(line)
        if found:
            at = (float(found[1]), float(found[2]))
            return Heard("at", line, at=at, down=found[3] == "1")
        if line.strip().isdigit():
            return Heard("room", line, value=int(line))
        return Heard("other", line)


_CODE = re.compile(rb"\([^)]*\)|;[^\n]*")
_WORD = re.compile(rb"([A-Z])\s*([-+]?\d*\.?\d+)")
_STATUS = re.compile(r"^<(\w+)[^|>]*\|.*?MPos:([-\d.]+),([-\d.]+)(?:,([-\d.]+))?")
_SPINDLE = re.compile(r"\|FS:[\d.]+,([\d.]+)")
_NUMBER = re.compile(r"\|Ln:(\d+)")
_MODES = {b"G17": "plane", b"G18": "plane", b"G19": "plane", b"G20": "units", b"G21": "units",
          b"G90": "distance", b"G91": "distance", b"G93": "feed", b"G94": "feed"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Gcode:
    """RS-274/NGC sent line by line. A dwell of no length is answered when all motion is done.

    The count of units done is a line number (N) on each unit's last line; controls that report
    line numbers (`Ln:` in their status, common practice) give it back.
    """

    name: str = "gcode"
    by_line: bool = True
    mark: bytes = b"G4 P0\n"
    tally: bytes = b"?"
    place: bytes = b"?"
    ask: bytes = b"?"
    who: bytes = b"$I\n"
    drop: bytes = b"\x18"
    park: bytes = b"M5\n"

    def counted(self, part: bytes, done: int) -> bytes:
        """See Language."""
        return b"N%d " % done + part if part[:1] in b"GXYZMF" else part

    def opened(self, head: bytes, done: int) -> bytes:
        """See Language: line numbers need no beginning."""
        return head

    def unit_starts(self, data: Buffer) -> NDArray[np.int64]:
        """A unit begins at the first line that lifts or switches off after work was done."""
        starts: list[int] = []
        worked = True
        for at, words in _lines(data):
            if _works(words):
                worked = True
            elif worked and _lifts(words):
                starts.append(at)
                worked = False
        return np.array(starts, dtype=np.int64)

    def state(self, data: Buffer, end: int) -> bytes:
        """The preamble as it is, then the modes, tool and feed in force."""
        starts = self.unit_starts(data[:end])
        head = int(starts[0]) if len(starts) else end
        modes: dict[str, bytes] = {}
        for _, words in _lines(data[head:end]):
            for letter, number in words:
                word = letter + number
                if word in _MODES:
                    modes[_MODES[word]] = word
                elif letter in (b"F", b"S"):
                    modes[letter.decode()] = word
                elif letter == b"T":
                    modes["tool"] = word + b" M6"
        return bytes(data[:head]) + b"".join(word + b"\n" for word in modes.values())

    def work_ends(self, unit: bytes, start: Point) -> tuple[list[Point], list[Point]]:
        """Follow X and Y of G0 to G3, in the file's own units."""
        before: list[Point] = []
        work: list[Point] = []
        x, y = start
        motion = b"G0"
        for _, words in _lines(unit):
            values: Mapping[bytes, bytes] = dict(words)
            motion = next((_motion(w) for w in words if _motion(w)), motion)
            if b"X" in values or b"Y" in values:
                x, y = float(values.get(b"X", x)), float(values.get(b"Y", y))
                (before if motion == b"G0" else work).append((x, y))
        return before, work

    def hear(self, line: str) -> Heard:
        """`ok`, `error:n`, `ALARM:n`, a status in angle brackets, or a greeting after a reset."""
        text = line.strip()
        if text == "ok":
            return Heard("ok", text)
        if text.lower().startswith(("error", "alarm")):
            digits = re.search(r"\d+", text)
            return Heard("error", text, value=int(digits[0]) if digits else 0)
        found = _STATUS.match(text)
        if found:
            at = (float(found[2]), float(found[3]))
            spindle = _SPINDLE.search(text)
            on = bool(spindle and float(spindle[1]) > 0)
            down = on or float(found[4] or 0.0) < 0.0
            number = _NUMBER.search(text)
            value = int(number[1]) if number else -1
            return Heard("status", text, value, at, found[1] == "Idle", down)
        if "ready" in text.lower() or text.lower().startswith("start"):
            return Heard("reset", text)
        return Heard("other", text)


def _lines(data: Buffer) -> Iterator[tuple[int, list[tuple[bytes, bytes]]]]:
    """Give each line's offset and its words, comments left out."""
    for found in re.finditer(rb"[^\n]+", data):
        text = _CODE.sub(b"", bytes(found[0])).upper()
        yield found.start(), [(a, _plain(b)) for a, b in _WORD.findall(text)]


def _plain(number: bytes) -> bytes:
    """`01` and `1.0` are the word `1`."""
    value = float(number)
    return b"%d" % value if value.is_integer() else number


def _motion(word: tuple[bytes, bytes]) -> bytes:
    code = word[0] + word[1]
    return code if code in (b"G0", b"G1", b"G2", b"G3") else b""


def _works(words: list[tuple[bytes, bytes]]) -> bool:
    codes = {a + b for a, b in words}
    across = any(a in (b"X", b"Y") for a, _ in words)
    return bool(codes & {b"G1", b"G2", b"G3"}) or (across and b"G0" not in codes)


def _lifts(words: list[tuple[bytes, bytes]]) -> bool:
    codes = {a + b for a, b in words}
    return bool(codes & {b"G0", b"M5", b"S0"})


LANGUAGES: Mapping[str, Language] = {"hpgl": Hpgl(), "gcode": Gcode()}
