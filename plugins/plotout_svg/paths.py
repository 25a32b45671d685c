"""Reads a path's data: curves by fontTools, arcs by the standard's own formulas.

Source: W3C SVG 1.1 (second edition), 8.3 (path data) and F.6 (elliptical arcs). Every subpath is
read separately, because one may continue from where the last one was closed.
"""

from __future__ import annotations

import cmath
import math
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from fontTools.svgLib.path import parse_path

_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_PARTS = re.compile(r"[Mm][^MmZz]*[Zz]?|[^MmZz]+[Zz]?|[Zz]")
_COMMANDS = re.compile(r"([LlHhVvCcSsQqTtAaMm])([^A-DF-Za-df-z]*)")
_NUMBERS = re.compile(_NUMBER)
_ARC = re.compile(  # flags may be written without a space after them
    rf"[\s,]*({_NUMBER})[\s,]*({_NUMBER})[\s,]*({_NUMBER})[\s,]*([01])[\s,]*([01])"
    rf"[\s,]*({_NUMBER})[\s,]*({_NUMBER})"
)
_IN_NUMBERS = tuple("0123456789.+-")
_LARGEST = 1e9
_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2}


_NO_ARC = "an arc in it ends where it begins, or has almost no radius"

Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Curve:
    """A straight line (two points), or a Bezier curve (three or four), with its control points."""

    points: tuple[complex, ...]

    @property
    def start(self) -> complex:
        """Where it begins."""
        return self.points[0]

    @property
    def end(self) -> complex:
        """Where it ends."""
        return self.points[-1]


@dataclass(frozen=True, slots=True)
class Arc:
    """An elliptical arc about `centre`: first and second are its half axes, as vectors.

    theta: degrees from the first axis towards the second where it begins. sweep: degrees, signed.
    """

    start: complex
    end: complex
    centre: complex
    first: complex
    second: complex
    theta: float
    sweep: float


Segment = Curve | Arc


class BadPathError(ValueError):
    """A path's data is not valid SVG; the text says where."""


def subpaths(data: str) -> Iterator[tuple[list[Segment], bool]]:
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
        segments, start = _parsed(text, here)
        end = segments[-1].end if segments else start
        if closed and end != start:
            segments.append(Curve((end, start)))
        here = start if closed else end
        if segments:
            yield segments, closed


def _parsed(text: str, here: complex) -> tuple[list[Segment], complex]:
    """Return the segments of a subpath, and where it begins. here: where the last one ended."""
    pen = _Recorder()
    parse_path(_checked(text), pen, (here.real, here.imag))
    return pen.segments, pen.start


class _Recorder:
    """Keeps what is drawn with it as segments; a pen in the sense of fontTools, for one subpath."""

    def __init__(self) -> None:
        self.segments: list[Segment] = []
        self.start = 0j
        self.at = 0j

    def moveTo(self, place: Place) -> None:  # noqa: N802
        self.start = self.at = complex(*place)

    def lineTo(self, *places: Place) -> None:  # noqa: N802
        curve = Curve((self.at, *(complex(*place) for place in places)))
        self.segments.append(curve)
        self.at = curve.end

    curveTo = qCurveTo = lineTo  # noqa: N815

    def arcTo(  # noqa: N802
        self, rx: float, ry: float, turn: float, large: bool, sweep: bool, place: Place
    ) -> None:
        if not (rx and ry):  # F.6.2: it is a straight line
            return self.lineTo(place)
        end = complex(*place)
        try:
            arc = _arc((self.at, end), (rx, ry), math.radians(turn), large, sweep)
        except ArithmeticError:
            raise BadPathError(_NO_ARC) from None
        self.segments.append(arc)
        self.at = end
        return None

    def endPath(self) -> None:  # noqa: N802
        """Nothing is left to be done at a subpath's end."""


def _arc(ends: tuple[complex, complex], radii: Place, turn: float, large: bool, sweep: bool) -> Arc:
    """Return an arc by its centre (F.6.5, F.6.6). Raises BadPathError, ArithmeticError."""
    start, end = ends
    rx, ry = radii
    axis = cmath.rect(1.0, turn)
    half = (start - end) / 2 / axis
    on_circle = complex(half.real / rx, half.imag / ry)  # where the ellipse is a circle of radius 1
    reach = abs(on_circle)
    if reach > 1.0:  # F.6.6: the radii are too small, and grow until they just reach
        rx, ry, on_circle = rx * reach, ry * reach, on_circle / reach
    away = math.sqrt(max(1.0 / abs(on_circle) ** 2 - 1.0, 0.0)) if reach < 1.0 else 0.0
    centre = on_circle * (-1j if large != sweep else 1j) * away
    theta = math.degrees(cmath.phase(on_circle - centre))
    short = abs(math.degrees(cmath.phase((-on_circle - centre) / (on_circle - centre))))
    delta = math.copysign(360.0 - short if large else short, 1.0 if sweep else -1.0)
    middle = complex(rx * centre.real, ry * centre.imag) * axis + (start + end) / 2
    if not max(rx, ry, abs(middle)) < _LARGEST:  # grown so far, because one radius is almost none
        raise BadPathError(_NO_ARC)
    return Arc(start, end, middle, rx * axis, 1j * ry * axis, theta, delta)


def _checked(text: str) -> str:
    """Return a subpath's data with its numbers apart, in a form that any reader understands.

    Raises BadPathError for commands with too few, too many or too large numbers.
    """
    left = _COMMANDS.sub("", text).strip()
    if left:
        raise BadPathError(f"it holds '{left[:20]}'")
    parts = []
    for command, given in _COMMANDS.findall(text):
        numbers = _arc_numbers(given) if command in "Aa" else _numbers(command, given)
        parts.append(f"{command}{' '.join(numbers)}")
    return "".join(parts)


def _numbers(command: str, given: str) -> Iterator[str]:
    if _NUMBERS.sub("", given).strip(" \t\r\n\f,"):
        raise BadPathError(f"'{command}{given[:20]}' holds something other than numbers")
    numbers = _NUMBERS.findall(given)
    takes = _TAKES[command.upper()]
    if not numbers or len(numbers) % takes:
        raise BadPathError(f"'{command}' takes {takes} numbers at a time, not {len(numbers)}")
    yield from _plain(numbers)


def _arc_numbers(given: str) -> Iterator[str]:
    at, text = 0, given.rstrip(" \t\r\n\f,")
    while at < len(text) or not at:
        found = _ARC.match(text, at)
        if found is None:
            raise BadPathError(f"arc '{text[at : at + 30]}' is not seven numbers, with two flags")
        rx, ry, turn, large, sweep, x, y = found.groups()
        yield from (*_plain((rx, ry, turn)), large, sweep, *_plain((x, y)))
        at = found.end()


def _plain(numbers: Iterable[str]) -> list[str]:
    """Return numbers as Python writes them. Raises BadPathError for one that is too large."""
    values = [(text, float(text)) for text in numbers]
    wide = next((text for text, value in values if not abs(value) < _LARGEST), None)
    if wide is not None:
        raise BadPathError(f"{wide[:20]} is too large")
    return [repr(value) for _, value in values]
