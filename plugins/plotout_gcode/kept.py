"""What a control keeps while nobody changes it: its modes ($G), and where its work zero lies.

Source: the public interface notes of the most used open-source three-axis control, version 1.1:
`$#` tells the zeros [G54:x,y,z] to [G59:x,y,z], what G92 shifts them by, and a tool's length, TLO.
"""

from __future__ import annotations

import re

from plotout import Talk
from plotout_gcode.status import work_zero
from plotout_gcode.talking import modes

_SET_ANEW = ("G0", "G1", "G2", "G3", "G80", "G20", "G21", "G90", "G91", "M0")
_ZERO = re.compile(r"^\[(G5[4-9]:[-\d.]+,[-\d.]+|(?:G92|TLO):[-\d.,]+)")


def in_force(talk: Talk) -> str:
    """Return its modes but for those that are set anew, and its zeros along x and y: that along z
    may be another after a blade was changed, but not by what only holds until a reset.
    """
    said = modes(talk).removeprefix("[GC:").rstrip("]").split()
    words = [word for word in said if word not in _SET_ANEW]
    return " ".join([*words, *zeros(talk)])


def zeros(talk: Talk) -> list[str]:
    """Return its zeros along x and y, in words, and what holds only until a reset."""
    found = (_ZERO.match(answer.text) for answer in talk.command(b"$#\n"))
    told = [match[1] for match in found if match]
    if told:
        return told
    zero = work_zero(talk)
    return [] if zero is None else [f"zero {zero[0]:.2f}, {zero[1]:.2f}"]
