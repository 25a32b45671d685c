"""Work that begins before a plot has said where: it would begin wherever the pen happens to be."""

from __future__ import annotations

from plotout import Buffer
from plotout_hpgl.decoding import travels_first
from plotout_hpgl.pieces import INSTRUCTION, NUMBERS

UNPLACED = (
    "it works before it has said where in X and Y: that begins wherever the pen happens to be, "
    "also when it is resumed"
)


def is_unplaced(data: Buffer) -> bool:
    """Return whether a plot draws a line, a dot or a label before its first coordinates."""
    down = False
    for match in INSTRUCTION.finditer(data):
        word, text = match[0][:2].upper(), bytes(match[0][2:])
        if word == b"LB":
            return True
        if word == b"PE":
            return not travels_first(text)
        if down and word == b"PU":
            return True  # a dot
        down = word == b"PD" or (down and word != b"IN")
        if word in (b"PU", b"PD", b"PA", b"PR") and len(NUMBERS.findall(text)) > 1:
            return down
    return False
