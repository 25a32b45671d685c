"""Divides HP-GL into pieces that are given to the port whole.

A line that breaks in the middle of a number leaves the machine with a different number: what comes
next ends the instruction, and a wrong vector is drawn. So a piece ends with an instruction, or in a
long list between two pairs. A label (LB) runs to its ETX and an encoded polyline (PE) to its
semicolon.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

from plotout_hpgl.decoding import Encoded

INSTRUCTION = re.compile(
    rb"\x1b%-12345X(?:@PJL[^\n]*\n)*|\x1b\.[A-Z](?:[0-9;]*:)?|\x1b%-?\d+[A-Z]|\x1bE|(?i:LB)[^\x03]*\x03|(?i:PE)[^;]*;?|[A-Za-z]{2}[^A-Za-z;\x1b]*;?|[;\s]+"
)
NUMBERS = re.compile(rb"[-+]?(?:\d+\.?\d*|\.\d+)")
_PAIR = re.compile(rb"[A-Za-z]*[\s,]*[-+.\d]+[\s,]+[-+.\d]+")
_MOVES = (b"PU", b"PD", b"PA", b"PR")


def in_pieces(data: bytes, most: int, first: Callable[[bytes], bool]) -> Iterator[bytes]:
    """Give `data` in pieces of at most `most` bytes.

    most: at least 32, which holds any instruction except a list or a label. first: whether an
    instruction is the first of its piece.
    """
    begun = end = 0
    for match in INSTRUCTION.finditer(data):
        if match.start() > begun and first(match[0]):
            yield data[begun : match.start()]
            begun = match.start()
        if match.end() - begun > most:
            if end > begun:
                yield data[begun:end]
                begun = end
            if match.end() - begun > most:
                *some, last = _long(data[begun : match.end()], most)
                yield from some
                begun = match.end() - len(last)
        end = match.end()
    if begun < len(data):
        yield data[begun:]


def parted(begun: bytes, rest: bytes) -> tuple[bytes, bytes] | None:
    """Return what ends the instruction that `begun` ends in, and what then does the same as `rest`;
    None within a label, or an encoded polyline with a base or a fraction of its own.
    """
    last = b""
    for match in INSTRUCTION.finditer(begun):
        last = match[0]
        if last[:2].upper() == b"LB" and not last.endswith(b"\x03"):
            return None
    word, whole = last[:2].upper(), last.endswith((b";", b"\x03")) or not last.strip()
    ended = whole or rest[:1] in (b";", b"\x1b")
    if word == b"PE" and not ended:  # whose numbers may be letters
        sound = not any(flag in last for flag in b"7>")
        return (b";", b"PE" + rest) if sound else None
    if ended or rest[:1].isalpha():
        return (b"" if whole else b";"), rest
    return (b";", word + rest.lstrip(b", \t\r\n")) if word in _MOVES else None


def _long(text: bytes, most: int) -> Iterator[bytes]:
    """Cut an instruction longer than that where it may be cut."""
    begun = end = 0
    for place in [*_places(text), len(text)]:
        if place - begun > most and end > begun:
            yield text[begun:end]
            begun = end
        end = place
    yield text[begun:]


def _places(text: bytes) -> Iterator[int]:
    """Give the places where an instruction may be cut: between its pairs; in a label anywhere."""
    if text[:2].upper() == b"PE":
        encoded = Encoded(0.0, 0.0)
        yield from (nth for nth, byte in enumerate(text[2:], 3) if encoded.take(byte))
    elif text[:2].upper() in _MOVES:
        yield from (pair.end() for pair in _PAIR.finditer(text))
    elif text[:2].upper() == b"LB":
        yield from range(3, len(text))
    else:
        yield from (comma.end() for comma in re.finditer(b",", text))
