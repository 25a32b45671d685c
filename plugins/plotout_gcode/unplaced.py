"""Work that begins before a program has said where: it would begin wherever the tool is."""

from __future__ import annotations

from plotout import Buffer
from plotout_gcode.words import Word, blocks, motion_of


def unplaced(data: Buffer) -> int | None:
    """Return the offset of the line in which the tool works though X or Y was never given; None if
    there is none.

    A tool works at zero or below, and as a beam while it is on.
    """
    missing, motion = {b"X", b"Y"}, b""
    height: float | None = None
    on, power = False, True
    for at, words in blocks(data):
        motion = next(filter(None, map(motion_of, words)), motion)
        on, power = _switched(words, on, power)
        given = dict(words)
        moves = {b"X", b"Y", b"Z"} & given.keys()
        before = height
        if b"Z" in given:
            height = float(given[b"Z"])
        deep = any(z is not None and z <= 0.0 for z in (before, height))
        burns = height is None and on and power
        dot = burns and (b"G", b"4") in words
        if dot or (moves and (deep or (burns and motion != b"G0"))):
            return at
        missing -= moves
        if not missing:
            return None
    return None


def _switched(words: list[Word], on: bool, power: bool) -> tuple[bool, bool]:
    """Return whether the spindle or the beam is on after a line, and whether it has power."""
    for letter, number in words:
        if letter == b"M" and number in (b"3", b"4", b"5"):
            on = number != b"5"
        if letter == b"S":
            power = float(number) > 0.0
    return on, power
