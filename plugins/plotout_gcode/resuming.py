"""What a G-code job begins with when it is resumed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from plotout import Buffer
from plotout_gcode.in_force import InForce
from plotout_gcode.words import Going, Word, blocks, is_by_z

_LEAD = 64 << 10  # bytes that hold what comes before a stroke


def resumed(data: Buffer, end: int, to_start: bytes) -> bytes:
    """See `Language.resumed`: what runs is switched on when the tool is where its work begins;
    after a ramp out of the stock, at the ramp's height: the next may go down again from there.
    """
    force = _in_force(data, end)
    coming = _coming(data, end, force)
    settings, switches = force.settings(coming), force.switches(coming)
    height = force.going.height if to_start and force.going.is_up else None
    lowered = b"" if height is None else b"G0 Z%.5f\n" % height
    return _lines(settings) + to_start + lowered + _lines(switches)


def not_restored(data: Buffer, end: int) -> tuple[str, ...]:
    """See `Language.not_restored`."""
    return tuple(word.decode() for word in _in_force(data, end).others)


def _in_force(data: Buffer, end: int) -> InForce:
    """Return what a program has put in force up to a byte."""
    force = InForce(Going(is_by_z(data)))
    for at, words in blocks(data, end, stretches=True):
        force.take(words, bytes(data[at : (data.find(b"\n", at) + 1) or len(data)]))
    return force


def _coming(data: Buffer, end: int, force: InForce) -> list[list[Word]]:
    """Return what a program does from a byte on up to its next work, with the line that begins it.

    force: what is in force there.
    """
    going, coming = replace(force.going), []
    for _, words in blocks(bytes(data[end : end + _LEAD])):
        coming.append(words)
        if going.works(words):
            break
    return coming


def _lines(lines: Sequence[bytes]) -> bytes:
    return b"".join(line + b"\n" for line in lines)
