"""What a control says, line by line.

Source: the public interface notes of the most used open-source three-axis control, version 1.1;
those of controls that only read lines (`Resend:`, `busy`): common practice.
"""

from __future__ import annotations

import re

from plotout import Heard
from plotout_gcode import talking
from plotout_gcode.meanings import ALARMS, ERRORS
from plotout_gcode.status import parse

_AGAIN = re.compile(r"(?:resend:|^rs) *n?(\d{1,9})(?!\d)|last line: *(\d{1,9})(?!\d)")
_WORDS = re.compile(r"[a-z]{4}")  # an `ok` that arrived damaged has none
_CHATTER = re.compile(
    r"^(\[|<|\$|//|;|>|echo|wait|[a-z]+[\d.]*:|[gmnstxyzf]-?\d)|\|"
)  # common practice
_SAID = [
    (kind, re.compile(pattern))
    for kind, pattern in (
        ("ok", r"^(ok)+( |$)"),  # also two that ran together
        ("busy", r"busy"),
        ("locked", r"to unlock\]"),
        ("setting", r"^\$\d+="),
        (
            "reset",  # a greeting, or one of the lines that its user has it work at the start
            r"^[a-z]\S* v?\d+\.\d+\S*( .*)?$|\['\$' for help\]$|^start|^>.*:(ok|error)"
            r"|^(?!\[|echo).*\bready\W*$",
        ),
    )
]


def hear(line: str) -> Heard:
    """Read `ok`, `error:n`, `ALARM:n`, a status in angle brackets, or a reset's greeting."""
    text = line.strip()
    low = text.lower()
    status = parse(text)
    if status is not None:
        return talking.heard(status, text)
    again = _AGAIN.search(low)
    if again:
        return Heard("again", text, int(again[1] or 0) or int(again[2] or 0) + 1)
    if low.startswith(("error", "alarm")):
        digits = re.search(r"(?<!\d)\d{1,9}(?!\d)", text)
        value = int(digits[0]) if digits else 0
        meanings = ERRORS if low.startswith("error") else ALARMS
        return Heard("error", text, value, means=meanings.get(value, ""))
    if low.startswith("[gc:"):
        no_feed = talking.has_no_feed_in(text) is True
        return Heard("turn", text, talking.speed_in(text), halted=no_feed)
    unknown = "strange" if _WORDS.search(low) and not _CHATTER.search(low) else "other"
    return Heard(next((kind for kind, said in _SAID if said.search(low)), unknown), text)
