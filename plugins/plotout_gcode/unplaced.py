"""Work that begins before a program has said where: it would begin wherever the tool is."""

from __future__ import annotations

from plotout import Buffer
from plotout_gcode.words import Going, blocks


def unplaced(data: Buffer) -> int | None:
    """Return the offset of the line in which the tool works though X or Y was never given; None if
    there is none.

    A tool works at zero or below, and as a beam while it is on.
    """
    missing, going = {b"X", b"Y"}, Going(by_z=False)
    for at, words in blocks(data):
        before = going.height
        going.works(words)
        moves = {b"X", b"Y", b"Z"} & dict(words).keys()
        deep = any(z is not None and z <= 0.0 for z in (before, going.height))
        burns = going.height is None and going.is_lit
        dot = burns and (b"G", b"4") in words
        if dot or (moves and (deep or (burns and going.motion != b"G0"))):
            return at
        missing -= moves
        if not missing:
            return None
    return None
