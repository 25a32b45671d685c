"""Stretches of RS-274/NGC (G-code) of which most of a file consists, and which are read at once."""

from __future__ import annotations

import re

LINE = re.compile(rb"[^\n\r]*[\r\n]*")


def _lines(pattern: bytes) -> re.Pattern[bytes]:
    """Compile a pattern of lines, in which N is a number without a sign."""
    return re.compile(pattern.replace(b"N", rb"(?:\d{1,8}(?:\.\d*)?|\.\d+)"))


_FEEDS = rb"X-?N ?Y-?N(?: ?F(?P<feed>N))?\r?\n(?:(?:G0?1 ?)?X-?N ?Y-?N\r?\n){0,5000}"
_THERE = rb"G0?0 X(?P<x>-?N) ?Y(?P<y>-?N)\r?\n"
PLAIN = _lines(rb"(?:G0?1 ?)?" + _FEEDS)  # a stretch of only straight feeds, read at once
TRAVEL = _lines(_THERE)
BURNT = _lines(  # a laser's usual stroke: a travel, then straight feeds with its beam on
    _THERE + rb"M4 S(?P<power>N)\r?\n(?P<feeds>G0?1 ?" + _FEEDS + rb")M5\r?\n"
)
