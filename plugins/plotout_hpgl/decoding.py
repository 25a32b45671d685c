"""Decodes the encoded polyline of HP-GL/2 (PE).

Source: HP-GL/2 and HP RTL Reference Guide (Hewlett-Packard), "PE, Polyline Encoded": numbers in
base 64 (or 32 after the flag `7`), least digit first, sign in the lowest bit; flags `<` pen up for
the next pair, `=` the next pair is absolute, `:` pen number, `>` fraction bits.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise

END = ord(";")
FIRST = 63  # digits begin here; lower bytes are flags
MOST = 1 << 62
MOST_FRACTION = 60  # bits
Move = tuple[float, float, bool]


@dataclass(slots=True)
class Encoded:
    """Decodes the bytes after `PE`; plotter units. x, y: where the pen is. pen: chosen last within
    them, if any.
    """

    x: float
    y: float
    pen: int | None = None
    _base: int = 64
    _fraction: int = 0
    _value: int = 0
    _place: int = 1
    _up: bool = False
    _absolute: bool = False
    _asked: int = 0  # the flag whose number comes next
    _pair: list[float] = field(default_factory=list)

    def take(self, byte: int) -> Move | None:
        """Return x, y and whether the pen is down if this byte ends a move, else None."""
        if byte < FIRST:
            self._flag(byte)
            return None
        last = byte >= (191 if self._base == 64 else 95)
        low = (191 if self._base == 64 else 95) if last else FIRST
        if self._place < MOST:  # more digits are too large for any plotter
            self._value += (byte - low) * self._place
            self._place *= self._base
        if not last:
            return None
        number = -(self._value >> 1) if self._value & 1 else self._value >> 1
        self._value, self._place = 0, 1
        return self._number(number)

    def _flag(self, byte: int) -> None:
        if byte == ord("<"):
            self._up = True
        elif byte == ord("="):
            self._absolute = True
        elif byte == ord("7"):
            self._base = 32
        elif byte in b":>":
            self._asked = byte

    def _number(self, number: int) -> Move | None:
        if self._asked:
            if self._asked == ord(">"):
                self._fraction = max(0, min(number, MOST_FRACTION))
            else:
                self.pen = number
            self._asked = 0
            return None
        self._pair.append(number * 2.0**-self._fraction)
        if len(self._pair) < 2:
            return None
        dx, dy = self._pair
        self.x, self.y = (dx, dy) if self._absolute else (self.x + dx, self.y + dy)
        move = (self.x, self.y, not self._up)
        self._up = self._absolute = False
        self._pair.clear()
        return move


def decode(data: bytes, start: tuple[float, float]) -> Iterator[Move]:
    """Give x, y and whether the pen is down for every move; plotter units.

    data: the bytes after `PE`. start: where the pen is. An incomplete end is left out.
    """
    encoded = Encoded(*start)
    for byte in data:
        if byte == END:
            return
        move = encoded.take(byte)
        if move:
            yield move


def pen_after(data: bytes) -> int | None:
    """Return the pen that a polyline chooses last, if any. data: the bytes after `PE`."""
    if b":" not in data:
        return None
    encoded = Encoded(0.0, 0.0)
    for byte in data.partition(b";")[0]:
        encoded.take(byte)
    return encoded.pen


def lifts_first(data: bytes) -> bool:
    """Return whether a polyline begins with a move with the pen up. data: the bytes after `PE`."""
    if data[:1] == b"<" or not data[:1] or data[0] >= FIRST:
        return data[:1] == b"<"
    return not next((down for _, _, down in decode(data, (0.0, 0.0))), True)


def travels_first(data: bytes) -> bool:
    """Return whether a polyline begins with a move with the pen up to a place that does not depend
    on where the pen was. data: the bytes after `PE`.
    """
    here, there = (next(decode(data, start), None) for start in ((0.0, 0.0), (1.0, 1.0)))
    return here is not None and here == there and not here[2]


def lifts_within(data: bytes) -> bool:
    """Return whether a polyline lifts the pen after it was down."""
    if data.find(b"<", 1) < 0:
        return False
    moves = [down for _, _, down in decode(data, (0.0, 0.0))]
    return any(one and not other for one, other in pairwise(moves))
