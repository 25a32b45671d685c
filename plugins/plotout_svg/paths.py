"""Divides a path's data into its subpaths, which svgpathtools reads.

Source: W3C SVG 1.1 (second edition), 8.3. svgpathtools gives a path's segments in one list, which
doesn't show where subpaths begin, so every subpath is read separately.
"""

from __future__ import annotations

import cmath
import re
import warnings
from collections.abc import Iterator
from typing import Any

from svgpathtools import Arc, Line, parse_path

_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_PARTS = re.compile(r"[Mm][^MmZz]*[Zz]?|[^MmZz]+[Zz]?|[Zz]")
_COMMANDS = re.compile(r"([LlHhVvCcSsQqTtAaMm])([^A-DF-Za-df-z]*)")
_BARE_DOT = re.compile(r"(\d)\.(?!\d)")
_NUMBERS = re.compile(_NUMBER)
_ARC = re.compile(  # flags may be written without a space after them
    rf"[\s,]*({_NUMBER})[\s,]*({_NUMBER})[\s,]*({_NUMBER})[\s,]*([01])[\s,]*([01])"
    rf"[\s,]*({_NUMBER})[\s,]*({_NUMBER})"
)
_IN_NUMBERS = tuple("0123456789.+-")
_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2}


_NO_ARC = "an arc in it ends where it begins, or has almost no radius"


class BadPathError(ValueError):
    """A path's data is not valid SVG; the text says where."""


def subpaths(data: str) -> Iterator[tuple[list[Any], bool]]:
    """Give the segments of the subpaths, and whether they are closed by Z.

    A closed one's last segment ends where its first begins, unless it has none. Raises
    BadPathError.
    """
    if data.strip()[:1] not in ("", "M", "m"):
        raise BadPathError("it doesn't begin with M")
    here = start = 0j
    for part in _PARTS.findall(data):
        if not part.strip():
            continue
        closed = part[-1] in "Zz"
        text = part[:-1] if closed else part
        if text[:1] not in (
            "M",
            "m",
        ):  # it continues after a Z, from the point to which that returned
            if text.strip(" \t\r\n\f,")[:1] in _IN_NUMBERS:
                raise BadPathError(f"numbers follow a Z, which takes none: '{text.strip()[:20]}'")
            text = f"M{start.real!r},{start.imag!r}{text}"
            _check(text)
        else:
            _check(text)
            x, y = (float(number) for number in _NUMBERS.findall(text)[:2])
            start = complex(x, y) + (here if text[0] == "m" else 0j)
        segments = _parsed(text, here)
        end = segments[-1].end if segments else start
        if closed and end != start:
            segments.append(Line(end, start))
        here = start if closed else end
        if segments:
            yield segments, closed


def _parsed(text: str, here: complex) -> list[Any]:
    text = _BARE_DOT.sub(r"\1", text)  # "5." is 5, which svgpathtools can't read before an e
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # an arc without a radius is a line, as it should be
            found = list(parse_path(text, here))
    except (AssertionError, ArithmeticError, ValueError):  # its errors for such arcs
        raise BadPathError(_NO_ARC) from None
    if not all(map(_is_sound, found)):
        raise BadPathError(_NO_ARC)
    return found


def _is_sound(segment: Any) -> bool:
    """Return whether an arc's measures are numbers, as those of any other segment are."""
    if not isinstance(segment, Arc):
        return True
    return all(map(cmath.isfinite, (segment.radius, segment.center, segment.theta, segment.delta)))


def _check(text: str) -> None:
    """Raise BadPathError for commands with too few, too many or too large numbers."""
    left = _COMMANDS.sub("", text).strip()
    if left:
        raise BadPathError(f"it holds '{left[:20]}'")
    for command, given in _COMMANDS.findall(text):
        if command in "Aa":
            _check_arcs(given)
            continue
        if _NUMBERS.sub("", given).strip(" \t\r\n\f,"):
            raise BadPathError(f"'{command}{given[:20]}' holds something other than numbers")
        numbers = _NUMBERS.findall(given)
        takes = _TAKES[command.upper()]
        if not numbers or len(numbers) % takes:
            raise BadPathError(f"'{command}' takes {takes} numbers at a time, not {len(numbers)}")
        _check_sizes(numbers)


def _check_arcs(given: str) -> None:
    at, text = 0, given.rstrip(" \t\r\n\f,")
    while at < len(text) or not at:
        found = _ARC.match(text, at)
        if found is None:
            raise BadPathError(f"arc '{text[at : at + 30]}' is not seven numbers, with two flags")
        _check_sizes(found.groups())
        at = found.end()


def _check_sizes(numbers: Any) -> None:
    wide = next((number for number in numbers if not abs(float(number)) < 1e9), None)
    if wide is not None:
        raise BadPathError(f"{wide[:20]} is too large")
