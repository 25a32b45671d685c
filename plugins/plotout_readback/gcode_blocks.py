"""Divides a line of RS-274/NGC (G-code) into its words: see `gcode`."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import NamedTuple

_WORD = re.compile(rb"([A-Za-z])([-+]?(?:\d+\.?\d*|\.\d+))")
_COMMENT = re.compile(rb"\([^()\n]*\)|;.*$", re.DOTALL)
_SHORT = 64  # bytes: longer lines are rarely repeated
_FARTHEST = 1e9


class Block(NamedTuple):
    """A line's words. unknown: what is wrong in it; sound: False if it can't be obeyed.

    on: those of its M words that are obeyed before it moves, as a spindle's are (NIST IR 6556,
    table 8); off: those obeyed after.
    """

    words: Mapping[str, float]
    gs: Sequence[float]
    on: list[float]
    off: list[float]
    unknown: Sequence[str]
    sound: bool = True


def _read(line: bytes) -> Block:
    plain = _COMMENT.sub(b"", line).strip(b"\x00\r\n").translate(None, b" \t\r\n")
    text = plain.lstrip(b"%")
    words: dict[str, float] = {}
    gs: list[float] = []
    on: list[float] = []
    off: list[float] = []
    unknown: list[str] = []
    block = Block(words, gs, on, off, unknown)
    if text.startswith(b"/"):
        unknown.append("a block that a switch of the machine leaves out (/)")
    elif text and text != plain:
        unknown.append("words after %, which not every control obeys")
    if not text or unknown:
        return block._replace(sound=False)
    at = 0
    while found := _WORD.match(text, at):
        letter, value = found[1].decode().upper(), float(found[2])
        at = found.end()
        if not abs(value) < _FARTHEST:
            unknown.append(f"a number too large after {letter}")
            return block._replace(sound=False)
        if letter == "G":
            gs.append(value)
        elif letter == "M":
            (on if value in (3.0, 4.0, 5.0) else off).append(value)
        elif letter in words:
            unknown.append(f"two {letter} words in one block")
        else:
            words[letter] = value
    if text[at:].strip():
        unknown.append(f"a block with {text[at : at + 16].decode('latin-1')!r}")
        return block._replace(sound=False)
    return block


_kept = lru_cache(maxsize=256)(_read)
"""Half of a file's lines say no more than to lift or to lower."""


def block_of(line: bytes) -> Block:
    """Return a line's words."""
    return _kept(line) if len(line) < _SHORT else _read(line)
