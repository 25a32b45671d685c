"""HP-GL and HP-GL/2, as far as sending must know them.

Source: HP 7550A Interfacing and Programming Manual (Hewlett-Packard).
"""

from __future__ import annotations

import re
from array import array
from dataclasses import dataclass

from plotout.sending.encoded import decode
from plotout.sending.language.model import Buffer, Heard, Point
from plotout.sending.window import Window

_HPGL = re.compile(
    rb"\x1b\.[A-Z](?:[0-9;]*:)?|\x1b%-?\d+[A-Z]|LB[^\x03]*\x03|PE[^;]*;?|[A-Za-z]{2}[^A-Za-z;\x1b]*;?|[;\s]+"
)
_NUMBERS = re.compile(rb"[-+]?\d+\.?\d*")
_POSITION = re.compile(r"^\s*([-+]?[\d.]+),([-+]?[\d.]+),([01])\s*$")
_TALLY = re.compile(r"^\s*(-?\d+),(-?\d+),(-?\d+),(-?\d+)\s*$")
_LAST_PAIR = re.compile(rb"PD(?:([-+\d.,]*),)?([-+\d.]+,[-+\d.]+|);\s*$")
_NUMBER = rb"[\x3f-\x7e]*[\xbf-\xfe]"  # of a PE, in base 64
_LAST_MOVE = re.compile(rb"PE([^;]*?)([<=]*" + _NUMBER + _NUMBER + rb");\s*$")
_SETS_POINTS = re.compile(rb"IN;|PS[^;]*;")
_MOVE = (b"PU", b"PD", b"PE", b"LB", b"OA", b"FR", b"PG")
_SPAN = (701, 709)  # from P1 to P2: says that P1's x is a count of ours
_MOST_ERROR = 8
_ERRORS = {
    1: "an instruction that it does not know",
    2: "a wrong number of parameters",
    3: "a parameter out of range",
    5: "an unknown character set",
    6: "a place too far away to be reached",
    7: "a shape too large for its memory",
}  # HP 7550A manual, OE; from memory
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
    mark: bytes = b"OE;OP;"
    tally: bytes = b"OP;"
    place: bytes = b"OA;"
    ask: bytes = b"\x1b.B"
    who: bytes = b"OI;"
    hold: bytes = b""
    go_on: bytes = b""
    drop: bytes = b"\x1b.K"
    park: bytes = b";PU;SP0;"

    def counted(self, part: bytes, done: int) -> bytes:
        """See Language. The count is left just before the last move, and not after it: wherever
        a line is cut, the count and the place together say whether the unit was finished.
        """
        at = done % HPGL_ROUND
        if b"FR;" in part:  # which may set the points anew
            return part + b"IP%d,0,%d,%d;" % (at, at + _SPAN[0], _SPAN[1])
        count = b"IP%d,0;" % at
        pairs = _LAST_PAIR.search(part)
        if pairs:
            before = b"PD" + pairs[1] + b";" if pairs[1] else b""
            return part[: pairs.start()] + before + count + b"PD" + pairs[2] + b";"
        encoded = _LAST_MOVE.search(part)
        if encoded and not any(flag in encoded[0] for flag in (b">", b"7")):
            before = b"PE" + encoded[1] + b";" if encoded[1] else b""
            return part[: encoded.start()] + before + count + b"PE" + encoded[2] + b";"
        return part + count

    def awaits_hand(self, part: bytes) -> bool:
        """See Language: nothing in HP-GL does."""
        return False

    def opened(self, head: bytes, done: int) -> bytes:
        """See Language. As early as can be, just after what sets the points itself: whatever a
        reset takes with it (the pen, say), it takes the span too, and is noticed.
        """
        at = done % HPGL_ROUND
        begin = b"IP%d,0,%d,%d;" % (at, at + _SPAN[0], _SPAN[1])
        cut = max((found.end() for found in _SETS_POINTS.finditer(head)), default=0)
        return head[:cut] + begin + head[cut:]

    def unit_starts(self, data: Buffer) -> array[int]:
        """A unit begins at the first PU after the pen was down; an advance of a roll is one."""
        starts = array("q")
        window = Window(data)
        down = True  # so that the first PU begins the first unit
        for found in _HPGL.finditer(data):
            word = bytes(found[0][:2]).upper()
            if word == b"PU":
                if down:
                    starts.append(found.start())
                down = False
            elif word in (b"PD", b"PE", b"FR"):
                down = True
            window.passed(found.start())
        return starts

    def state(self, data: Buffer, end: int) -> bytes:
        """The last of each instruction that draws and feeds nothing, by their last use."""
        last: dict[bytes, bytes] = {}
        entered = b""
        for found in _HPGL.finditer(data, 0, end):
            text = bytes(found[0])
            word = text[:2].upper()
            entered = text if word == b"\x1b%" else entered
            moves = word in _MOVE or not word.isalpha()
            if not moves and not (word in (b"PA", b"PR") and _NUMBERS.search(text)):
                last.pop(word, None)
                last[word] = text if text.endswith(b";") else text + b";"
        return b"".join([entered, last.pop(b"IN", b""), *last.values()])

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
        """Three numbers are a position; four are P1 and P2. One is an error's number (`OE`) up to
        8, else free room: senders leave more room than that, so that the two are told apart.
        """
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
            number = int(line)
            if 0 < number <= _MOST_ERROR:
                return Heard("error", line.strip(), number, means=_ERRORS.get(number, ""))
            return Heard("room" if number else "other", line, value=number)
        return Heard("other", line)
