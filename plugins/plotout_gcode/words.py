"""The words of G-code, line by line, and what a line does by them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from plotout import Buffer
from plotout_gcode.reach import STRETCH

_LINE = re.compile(rb"[^\n]+")
_CODE = re.compile(rb"\([^)]*\)|;[^\n]*")
_WORD = re.compile(rb"([A-Z])\s*([-+]?\d*\.?\d+)")
_HEIGHT = re.compile(rb"(?m)^[^(;\n]*?[Zz]\s*([-+]?\d*\.?\d+)")
_WITH_HEIGHT = re.compile(rb"(?m)^[^\n]*[Zz][^\n]*")
_MOTION = re.compile(rb"[Gg]\s*0*([0-3])(?![\d.])")
Word = tuple[bytes, bytes]


def blocks(
    data: Buffer, end: int | None = None, *, stretches: bool = False
) -> Iterator[tuple[int, list[Word]]]:
    """Yield each line's offset and its words, without comments, up to byte `end`.

    stretches: of straight feeds one after another, only the first.
    """
    pattern = STRETCH if stretches else _LINE
    for line in pattern.finditer(data, 0, len(data) if end is None else end):
        text = bytes(line[0])
        yield line.start(), words_of(text[: text.find(b"\n")] if text.endswith(b"\n") else text)


def heights(data: Buffer) -> Iterator[bytes]:
    """Yield the number of each Z, without those in comments."""
    for line in _WITH_HEIGHT.finditer(data):
        yield from (number for letter, number in words_of(line[0]) if letter == b"Z")


def words_of(line: bytes) -> list[Word]:
    """Return a line's words, without comments."""
    text = _CODE.sub(b"", line).upper()
    return [(a, _plain(b)) for a, b in _WORD.findall(text)]


def comment_of(line: bytes) -> bytes:
    """Return the comments in a line."""
    return b" ".join(_CODE.findall(line)).strip()


def _plain(number: bytes) -> bytes:
    """Reduce `01` and `1.0` to the word `1`."""
    value = float(number)
    return b"%d" % value if value.is_integer() else number


def motion_of(word: Word) -> bytes:
    """Return the word if it is a motion, else nothing."""
    code = word[0] + word[1]
    return code if code in (b"G0", b"G1", b"G2", b"G3") else b""


def last_motion(data: bytes) -> bytes:
    """Return the last motion in a program, or nothing."""
    found = _MOTION.findall(_CODE.sub(b"", data))
    return b"G" + found[-1] if found else b""


def lifts(words: list[Word]) -> bool:
    """Return whether a line lifts the tool or switches it off."""
    codes = {a + b for a, b in words}
    return bool(codes & {b"G0", b"M5", b"S0"})


def dwell_of(words: Sequence[Word]) -> list[bytes]:
    """Return a dwell's own words, or nothing. NIST IR 6556, 3.5.4: P, s; many controls of printers
    also take S, s (common practice, from memory).
    """
    if (b"G", b"4") not in words:
        return []
    time = [word for word in words if word[0] == b"P"] or [
        word for word in words if word[0] == b"S"
    ]
    return [b"G4", *(letter + number for letter, number in time[:1])]


def is_out(before: float | None, height: float | None) -> bool:
    """Return whether a move from one height to another comes out of the stock."""
    return before is not None and height is not None and before < 0.0 < height


def is_by_z(data: Buffer) -> bool:
    """Return whether a program lowers its tool into the stock, and lifts it, by Z."""
    seen = set()
    for found in _HEIGHT.finditer(data):
        seen.add(float(found[1]) > 0.0)
        if len(seen) > 1:
            return True
    return False


def has_heights(part: bytes) -> bool:
    """Return whether a part of a program sets Z."""
    return _HEIGHT.search(part) is not None


@dataclass(slots=True)
class Going:
    """How a program goes along. by_z: see `is_by_z`. motion: G0 to G3; height: of Z, where it has
    been told; file units. _switch: the number of the last M3, M4 or M5.
    """

    by_z: bool
    motion: bytes = b""
    height: float | None = None
    _switch: bytes = b""
    _no_power: bool = False

    def works(self, words: Sequence[Word]) -> bool:
        """Follow a line; return whether it goes into the stock, feeds across it, comes out of it
        along a ramp, or burns a dot (M3 does so at a standstill, M4 does not).
        """
        before = self.height
        self.motion = next(filter(None, map(motion_of, words)), self.motion)
        for letter, number in words:
            if letter == b"Z":
                self.height = float(number)
            elif letter == b"S":
                self._no_power = float(number) == 0.0
            elif letter == b"M" and number in (b"3", b"4", b"5"):
                self._switch = number
        moves = any(letter in b"XYIJR" for letter, _ in words)
        if self.by_z and self.height is not None:
            if moves and self.motion != b"G0" and is_out(before, self.height):
                return True
            return self.height <= 0.0 and (moves or any(letter == b"Z" for letter, _ in words))
        feeds = moves and self.motion != b"G0" and self._switch != b"5"
        return (feeds and not self._no_power) or self._is_dot(words)

    def burns_dot(self, words: Sequence[Word]) -> bool:
        """Follow a line; return whether a beam that is on waits in it."""
        self.works(words)
        return self._is_dot(words)

    def _is_dot(self, words: Sequence[Word]) -> bool:
        burns = self.is_lit and self._switch == b"3" and not self.by_z
        return burns and (b"G", b"4") in words

    @property
    def is_lit(self) -> bool:
        """Whether M3 or M4 has switched on what has power, as a beam."""
        return self._switch in (b"3", b"4") and not self._no_power

    @property
    def is_up(self) -> bool:
        """Whether Z is above the stock."""
        return self.by_z and self.height is not None and self.height > 0.0
