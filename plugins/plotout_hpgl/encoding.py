"""Encoded polylines of HP-GL/2 (PE): written with many strokes each, sent with one.

Source: HP-GL/2 and HP RTL Reference Guide (Hewlett-Packard), "PE, Polyline Encoded"; see
`decoding`. A file is shortest if one instruction holds all strokes, each begun relative to the end
of the one before. But a byte lost on the way would displace all that follow, and a job could be
resumed at none: so an instruction has a limit, and begins at an absolute place; and what is sent
has one stroke to each.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from plotout import Buffer
from plotout_hpgl.decoding import FIRST, Encoded
from plotout_hpgl.pieces import INSTRUCTION

Steps = NDArray[np.int64]

MOST = 512  # bytes of strokes after which an instruction ends
LAST = 191  # added to those of a number's last character
_DIGIT = 63
_LIFTED = b"<="  # for the next pair: with the pen up, to an absolute place
_OTHER_FLAGS = b"7:>"  # which change what numbers mean
_FAR = 2**31  # units: no plotter's


def encode(values: Iterable[int]) -> bytes:
    """Return whole numbers as characters of an encoded polyline, in base 64.

    The sign goes into the lowest bit; six bits per character, the lowest first; a number's last
    character is marked.
    """
    text = bytearray()
    for value in values:
        left = 1 - 2 * value if value < 0 else 2 * value
        while left > _DIGIT:
            text.append(FIRST + (left & _DIGIT))
            left >>= 6
        text.append(LAST + left)
    return bytes(text)


@dataclass(eq=False)
class Polylines:
    """Collects strokes into instructions. _end: where the last one ended, units.

    A stroke has a few points, for which arrays take several times as long.
    """

    _open: list[bytes] = field(default_factory=list)
    _end: list[int] = field(default_factory=lambda: [0, 0])

    def add(self, path: Steps, *, follows: bool) -> bytes:
        """Add a stroke, (n, 2), n > 1; return instructions that are done, if any.

        follows: it goes on from the end of the one before, with the pen down.
        """
        done = self.finished() if self._is_full(follows=follows) else b""
        places: list[list[int]] = path.tolist()
        flags, before = (b"<", [self._end]) if self._open else (_LIFTED, [[0, 0]])
        if follows:
            flags, before = b"", []
        steps = (
            ahead - here
            for place, other in pairwise([*before, *places])
            for here, ahead in zip(place, other, strict=True)
        )
        self._open.append(flags + encode(steps))
        self._end = places[-1]
        return done

    def _is_full(self, *, follows: bool) -> bool:
        """Return whether a stroke needs an instruction of its own: no other can follow one that
        doesn't begin at an absolute place.
        """
        unplaced = bool(self._open) and not self._open[0].startswith(_LIFTED)
        return sum(map(len, self._open)) >= MOST or (unplaced and not follows)

    def finished(self) -> bytes:
        """Return the instruction with all strokes since the last that was done, if any."""
        strokes, self._open = b"".join(self._open), []
        return b"PE" + strokes + b";\n" if strokes else b""


def apart(data: Buffer) -> Iterator[tuple[int, int, bytes]]:
    """Give the instructions that hold several strokes, and what does the same with one to each:
    start and end in bytes, and the instructions to put there.

    Left as they are: those that don't begin at an absolute place, or with a base, a fraction or a
    pen of their own.
    """
    for match in INSTRUCTION.finditer(data):
        text = bytes(match[0])
        if text[:2].upper() == b"PE" and text.startswith(_LIFTED, 2) and b"<" in text[4:]:
            one_each = _one_each(text[2:].partition(b";")[0])
            if one_each:
                yield match.start(), match.end(), one_each


def _one_each(polyline: bytes) -> bytes:
    """Return a polyline as one instruction for each stroke; b"" where it can't be told."""
    if any(flag in polyline for flag in _OTHER_FLAGS):
        return b""
    made, pen = [], Encoded(0.0, 0.0)
    for stroke in polyline.split(b"<")[1:]:
        begin = _begin(pen, stroke)
        if begin is None or max(abs(pen.x), abs(pen.y)) > _FAR:
            return b""
        at, rest = (int(pen.x), int(pen.y)), stroke[begin:]
        made.append(b"PE" + _LIFTED + encode(at) + rest + b";")
        for byte in rest:
            pen.take(byte)
    return b"".join(made)


def _begin(pen: Encoded, stroke: bytes) -> int | None:
    """Move the pen to a stroke's begin; return how many bytes say where, None if they don't."""
    return next((nth for nth, byte in enumerate(stroke, 1) if pen.take(byte)), None)
