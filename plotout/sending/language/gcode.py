"""RS-274/NGC (G-code), as far as sending must know it.

Source: NIST IR 6556 (words, modal groups). `ok`, `error:`, `!`, `~`, `?` and control-X: common
practice of small controls.
"""

from __future__ import annotations

import re
from array import array
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from plotout.sending.language.meanings import ALARMS, ERRORS
from plotout.sending.language.model import Buffer, Heard, Point
from plotout.sending.window import Window

_LINE = re.compile(rb"[^\n]+")
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
    hold: bytes = b"!"
    go_on: bytes = b"~"
    drop: bytes = b"\x18"
    park: bytes = b"M5\n"

    def counted(self, part: bytes, done: int) -> bytes:
        """See Language."""
        return b"N%d " % done + part if part[:1] in b"GXYZMF" else part

    def awaits_hand(self, part: bytes) -> bool:
        """See Language: M0, a stop in the program."""
        return any(word == (b"M", b"0") for _, words in _lines(part) for word in words)

    def opened(self, head: bytes, done: int) -> bytes:
        """See Language. First of all, so that no number of an earlier job is taken for ours."""
        return b"N%d G4 P0\n" % done + head

    def unit_starts(self, data: Buffer) -> array[int]:
        """A unit begins at the first line that lifts or switches off after work was done."""
        starts = array("q")
        window = Window(data)
        worked = True
        for at, words in _lines(data):
            if _works(words):
                worked = True
            elif worked and _lifts(words):
                starts.append(at)
                worked = False
            window.passed(at)
        return starts

    def state(self, data: Buffer, end: int) -> bytes:
        """The preamble as it is, then the modes, tool, feed and spindle in force.

        A spindle that ran while the tool was lifted by Z runs again; a beam stays off.
        """
        head = next((at for at, words in _lines(data) if _lifts(words)), end)
        modes: dict[str, bytes] = {}
        tool = power = spindle = b""
        lifted_by_z = False
        for at, words in _lines(data, end):
            if at < head:
                continue
            for letter, number in words:
                word = letter + number
                if word in _MODES:
                    modes[_MODES[word]] = word
                elif letter == b"T":
                    tool = word + b" M6"
                elif word == b"M0" and tool and b"M0" not in tool:
                    tool += b"\nM0"
                elif letter == b"F":
                    modes["feed rate"] = word
                elif letter == b"S":
                    power = word
                elif word in (b"M3", b"M4", b"M5"):
                    spindle = word
                lifted_by_z = lifted_by_z or letter == b"Z"
        running = [power, spindle] if lifted_by_z and spindle in (b"M3", b"M4") else []
        lines = [line for line in (*modes.values(), tool, *running) if line]
        return bytes(data[:head]) + b"".join(line + b"\n" for line in lines)

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
            value = int(digits[0]) if digits else 0
            meanings = ERRORS if text.lower().startswith("error") else ALARMS
            return Heard("error", text, value, means=meanings.get(value, ""))
        found = _STATUS.match(text)
        if found:
            at = (float(found[2]), float(found[3]))
            spindle = _SPINDLE.search(text)
            on = bool(spindle and float(spindle[1]) > 0)
            down = on or float(found[4] or 0.0) < 0.0
            number = _NUMBER.search(text)
            value = int(number[1]) if number else -1
            word = found[1]
            if word in ("Alarm", "Door"):
                return Heard("error", text)
            return Heard("status", text, value, at, word == "Idle", word in ("Hold", "Idle"), down)
        if "ready" in text.lower() or text.lower().startswith("start"):
            return Heard("reset", text)
        return Heard("other", text)


def _lines(data: Buffer, end: int | None = None) -> Iterator[tuple[int, list[tuple[bytes, bytes]]]]:
    """Give each line's offset and its words, comments left out, as far as byte `end`."""
    for found in _LINE.finditer(data, 0, len(data) if end is None else end):
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
