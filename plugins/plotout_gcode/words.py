"""The words of G-code, line by line, and what a line does by them."""

from __future__ import annotations

import re
from collections.abc import Iterator

from plotout import Buffer
from plotout_gcode.reach import STRETCH

_LINE = re.compile(rb"[^\n]+")
_CODE = re.compile(rb"\([^)]*\)|;[^\n]*")
_WORD = re.compile(rb"([A-Z])\s*([-+]?\d*\.?\d+)")
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


def words_of(line: bytes) -> list[Word]:
    """Return a line's words, without comments."""
    text = _CODE.sub(b"", line).upper()
    return [(a, _plain(b)) for a, b in _WORD.findall(text)]


def _plain(number: bytes) -> bytes:
    """Reduce `01` and `1.0` to the word `1`."""
    value = float(number)
    return b"%d" % value if value.is_integer() else number


def motion_of(word: Word) -> bytes:
    """Return the word if it is a motion, else nothing."""
    code = word[0] + word[1]
    return code if code in (b"G0", b"G1", b"G2", b"G3") else b""


def works(words: list[Word]) -> bool:
    """Return whether a line works the stock, as far as its own words show."""
    codes = {a + b for a, b in words}
    across = any(a in (b"X", b"Y") for a, _ in words)
    return bool(codes & {b"G1", b"G2", b"G3"}) or (across and b"G0" not in codes)


def lifts(words: list[Word]) -> bool:
    """Return whether a line lifts the tool or switches it off."""
    codes = {a + b for a, b in words}
    return bool(codes & {b"G0", b"M5", b"S0"})
