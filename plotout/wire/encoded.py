"""The encoded polyline of HP-GL/2 (PE), decoded.

Source: HP-GL/2 and HP RTL Reference Guide (Hewlett-Packard), "PE, Polyline Encoded": numbers in
base 64 (or 32 after the flag `7`), least digit first, sign in the lowest bit; flags `<` pen up for
the next pair, `=` the next pair is absolute, `:` pen number, `>` fraction bits.
"""

from __future__ import annotations

from collections.abc import Iterator


def decode(data: bytes, start: tuple[float, float]) -> Iterator[tuple[float, float, bool]]:
    """Give x, y and whether the pen is down for every move; plotter units.

    data: what follows `PE`. start: where the pen is. What is not whole at the end is left out.
    """
    numbers = _Numbers(data)
    x, y = start
    up = absolute = False
    while (flag := numbers.flag()) is not None:
        if flag == ord(";"):
            return
        if flag == ord("<"):
            up = True
        elif flag == ord("="):
            absolute = True
        elif flag == ord("7"):
            numbers.base = 32
        elif flag == ord(":"):
            numbers.number()
        elif flag == ord(">"):
            numbers.fraction = numbers.number() or 0
        else:
            across, along = numbers.number(), numbers.number()
            if across is None or along is None:
                return
            scale = 2.0**-numbers.fraction
            dx, dy = across * scale, along * scale
            x, y = (dx, dy) if absolute else (x + dx, y + dy)
            yield x, y, not up
            up = absolute = False


class _Numbers:
    """Reads flags and numbers off the encoded bytes."""

    def __init__(self, data: bytes) -> None:
        self._data = data.replace(b"\n", b"").replace(b"\r", b"")
        self._at = 0
        self.base = 64
        self.fraction = 0

    def flag(self) -> int | None:
        """Return the next byte, passed, if it is a flag; 0 before a number; None at the end."""
        if self._at >= len(self._data):
            return None
        byte = self._data[self._at]
        if byte in b"<=:>7;":
            self._at += 1
            return byte
        return 0

    def number(self) -> int | None:
        """Return the next number, or None when it is not whole."""
        value, place = 0, 1
        while self._at < len(self._data):
            byte = self._data[self._at]
            if byte in b";<=:>":
                return None
            self._at += 1
            low, high = 63, 191 if self.base == 64 else 95
            last = byte >= high
            value += (byte - (high if last else low)) * place
            place *= self.base
            if last:
                return -(value >> 1) if value & 1 else value >> 1
        return None
