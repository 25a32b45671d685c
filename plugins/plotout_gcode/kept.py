"""What a control keeps while nobody changes it: its modes ($G), and where its work zero lies.

Source: the public interface notes of the most used open-source three-axis control, version 1.1:
`$#` tells the zeros [G54:x,y,z] to [G59:x,y,z], what G92 shifts them by, and a tool's length, TLO.
"""

from __future__ import annotations

import re

from plotout import Talk
from plotout_gcode.in_force import GROUPS
from plotout_gcode.status import ask, modes, work_zero, zeros
from plotout_gcode.words import words_of

_OTHERS = re.compile(r"G5[5-9]")  # in which no job is sent
_NUMBERED = re.compile(rb"[FST]-?[\d.]")  # not a tool's length, TLO
_ALONG_Z = re.compile(r"^(G5[4-9]:[-\d.]+,[-\d.]+|zero [-\d.]+, [-\d.]+),.*")


def in_force(talk: Talk) -> str:
    """Return its modes, and its zeros along x and y: that along z may be another after a blade was
    changed, but not by what only holds until a reset.
    """
    words = modes(talk).removeprefix("[GC:").rstrip("]").split()
    words = [word for word in words if word != "M0"]  # only of a program that waits
    return " ".join([*words, *(_ALONG_Z.sub(r"\1", one) for one in _zeros(talk))])


def apart_from(in_force: str, message: bytes) -> str:
    """Return what is in force without the words of those kinds that a message has itself."""
    own = {_kind(letter + number) for letter, number in words_of(message)} - {b""}
    return " ".join(word for word in in_force.split() if _kind(word.encode()) not in own)


def _kind(word: bytes) -> bytes:
    """Return what a word is of: its modal group, its letter or the coolant; b"" of another."""
    if _NUMBERED.match(word):
        return word[:1]
    if word in (b"M7", b"M8", b"M9"):
        return b"coolant"
    return b"%d" % GROUPS[word] if word in GROUPS else b""


def zero(talk: Talk) -> str:
    """Return where the zero of work lies, also along z, and what holds only until a reset."""
    return " ".join(one for one in _zeros(talk) if not _OTHERS.match(one))


def _zeros(talk: Talk) -> list[str]:
    found = zeros(talk).items()
    told = [f"{name}:{numbers}" for name, numbers in found if numbers and "." not in name]
    if told:
        return told
    status = ask(talk)
    if status is None or status.state != "Idle":
        return []  # on hold it answers no line
    work = work_zero(talk)
    return [] if work is None else ["zero " + ", ".join(f"{value:.2f}" for value in work[:3])]
