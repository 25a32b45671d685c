"""Reads an SVG drawing of a sheet back: curves by svgpathtools."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from xml.etree import ElementTree

import numpy as np

from plotout import FloatArray, Machine, Mark, Meaning, Reading, Traced
from plotout_readback.tracing import bounded

_FLAT = 0.005  # mm by which chords may deviate from their curve
_MOST_CHORDS = 10_000  # of a curve: enough for a circle of 100 m
_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72.0, "px": 25.4 / 96.0, "": 25.4 / 96.0}
_STRAIGHT = re.compile(r"(M[^A-Za-z]+(?:L[^A-Za-z]+)*Z?\s*)+")
_PAIR = r"-?\d+(?:\.\d+)?(?: |(?=-))-?\d+(?:\.\d+)?"
_STEPS = re.compile(rf"M{_PAIR}(?:l{_PAIR})+z?")  # relative, each with its letter
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_COLOURS = {"draw": "#000000", "score": "#e69f00", "punch": "#cc79a7", "cut": "#0072b2"}
_CLASSES = {mark.replace(" ", "-"): mark.value for mark in Mark}
_DISTINGUISHED = frozenset({*_COLOURS, *_CLASSES.values()})
_GROUP = re.compile("([a-z]+)-of-(.+)")
_CODED = re.compile("_([0-9a-f]{1,6})_")
_ELEMENTS = ("svg", "g", "title", "style", "path", "circle", "line", "polyline", "polygon")
_UNDRAWN = ("desc", "metadata")  # with all within them (SVG 1.1, 5.4 and 21)
_HIDING = ("style", "display", "visibility", "opacity", "stroke-opacity", "clip-path", "mask")
_DECLARED = re.compile(r"(?<![\w-])([\w-]++)\s*+:\s*+([^;}]*+)")  # in time proportional to the text
_LOOKS = ("fill", "stroke-width", "stroke-linecap", "stroke-linejoin", "stroke-dasharray")


@dataclass(frozen=True, slots=True)
class _Group:
    """An element's colour, and the ids of the groups around it, inmost last."""

    colour: str = ""
    ids: tuple[str, ...] = ()

    def within(self, element: ElementTree.Element) -> _Group:
        """Return the same of an element that is among its children."""
        ids = (*self.ids, element.get("id", "")) if _name(element) == "g" else self.ids
        return _Group(element.get("stroke", self.colour), ids)

    def meaning(self, classes: str, colours: Mapping[str, str]) -> Meaning:
        """Return what the groups, colour and classes of a line say of it.

        Work is said three times: by the last class, the inmost group, and the colour.
        """
        inmost = _GROUP.fullmatch(self.ids[-1] if self.ids else "")
        by_group, whose = (inmost[1], inmost[2]) if inmost else ("", "")
        mark, _, by_class = classes.rpartition(" ")
        by_colour = {work for work, one in colours.items() if one.lower() == self.colour.lower()}
        card = _card(whose) if self.ids[-2:-1] == (whose,) else None
        return Meaning(
            f"group '{'/'.join(self.ids)}', class '{classes}', colour {self.colour or 'none'}",
            works=frozenset(by_colour & {by_group} & {by_class}),
            marks=frozenset({_CLASSES.get(mark, mark.replace("-", " "))}),
            card="?" if card is None else card,
        )


def _card(group: str) -> str | None:
    """Return the id of the card whose group it is, "" for the sheet's own, None for neither."""
    if group == "sheet":
        return ""
    head, _, coded = group.partition("card-")
    return None if head else _CODED.sub(lambda found: chr(int(found[1], 16)), coded)


def read(data: bytes, machine: Machine) -> Reading:
    """Return the paths, lines and circles of an SVG, in mm, y up from its lower edge."""
    unknown: Counter[str] = Counter()
    traced: list[Traced] = []
    colours = {work: str(machine.options.get(work, usual)) for work, usual in _COLOURS.items()}
    try:
        root = ElementTree.fromstring(data)
        box = _numbers(root.get("viewBox", ""))
        scale = _said_length(root.get("width", "")) / box[2]
        for element, group in _elements(root, _Group()):
            name = _name(element)
            unknown.update(_unread(name, element))
            for points in _shapes(name, element):
                x, y = points.T
                sheet = np.column_stack([x - box[0], box[1] + box[3] - y]) * scale
                meaning = group.meaning(element.get("class", ""), colours)
                traced.append(Traced(sheet, meaning=meaning))
    except (ElementTree.ParseError, LookupError, ValueError, ZeroDivisionError) as fault:
        unknown[f"the file is broken: {fault}"] += 1
    return Reading(tuple(traced), True, tuple(unknown), ordered=False, distinguished=_DISTINGUISHED)


def _elements(
    element: ElementTree.Element, around: _Group
) -> Iterator[tuple[ElementTree.Element, _Group]]:
    """Give an element and all within it, each with its group."""
    waiting = [(element, around)]
    while waiting:
        here, outer = waiting.pop()
        group = outer.within(here)
        yield here, group
        waiting += [(one, group) for one in reversed(here) if _name(one) not in _UNDRAWN]


def _name(element: ElementTree.Element) -> str:
    return str(element.tag).rpartition("}")[2]


def _unread(name: str, element: ElementTree.Element) -> Iterator[str]:
    """Give in words what of an element could draw, hide or move something, and isn't read."""
    if name not in _ELEMENTS:
        yield f"the element {name}"
    if element.get("transform"):
        yield "a transform"
    yield from (f"the attribute {key}" for key in _HIDING if element.get(key))
    if name == "style":
        for key, value in _DECLARED.findall(element.text or ""):
            if key not in _LOOKS or (key, value) == ("stroke-width", "0px"):
                yield f"the style {key}: {value}"


def _said_length(text: str) -> float:
    found = re.fullmatch(r"\s*([\d.]+)\s*([a-z]*)\s*", text)
    if not found or found[2] not in _MM:
        raise ValueError(f"its width is {text!r}")
    return float(found[1]) * _MM[found[2]]


def _numbers(text: str) -> list[float]:
    numbers: list[float] = list(map(float, re.split(r"[\s,]+", text.strip())))
    bounded(np.array(numbers))
    return numbers


def _shapes(name: str, element: ElementTree.Element) -> Iterator[FloatArray]:
    if name == "path":
        yield from _path(element.get("d", ""))
    elif name == "circle":
        turn = np.linspace(0.0, 2.0 * np.pi, 181)
        x, y, radius = _numbers(" ".join(element.get(key, "0") for key in ("cx", "cy", "r")))
        around = np.column_stack([np.cos(turn), np.sin(turn)]) * radius
        yield around + np.array([x, y])
    elif name == "line":
        ends = _numbers(" ".join(element.get(key, "0") for key in ("x1", "y1", "x2", "y2")))
        yield np.array(ends).reshape(2, 2)
    elif name in ("polyline", "polygon"):
        points = np.array(_numbers(element.get("points", ""))).reshape(-1, 2)
        yield np.vstack([points, points[:1]]) if name == "polygon" else points


def _path(said: str) -> Iterator[FloatArray]:
    """Read straight paths directly, others by svgpathtools."""
    if _STEPS.fullmatch(said):
        points = bounded(np.array(_NUMBER.findall(said), dtype=np.float64)).reshape(-1, 2)
        points = bounded(np.cumsum(points, axis=0))
        yield np.vstack([points, points[:1]]) if said.endswith("z") else points
        return
    if not _STRAIGHT.fullmatch(said.strip()):
        yield from _curved(said)
        return
    for part in said.strip().split("M")[1:]:
        closes = part.rstrip().endswith("Z")
        numbers = part.rstrip("Z \n").replace("L", " ").replace(",", " ").split()
        points = bounded(np.array(numbers, dtype=np.float64)).reshape(-1, 2)
        yield np.vstack([points, points[:1]]) if closes else points


def _curved(said: str) -> Iterator[FloatArray]:
    import svgpathtools

    bounded(np.array(_NUMBER.findall(said), dtype=np.float64))
    try:
        path = svgpathtools.parse_path(said)
    except AssertionError as fault:  # how it refuses an arc
        raise ValueError("an arc has no radius or no length") from fault
    for subpath in path.continuous_subpaths():
        parts = [np.array([complex(subpath[0].start)])]
        for piece in subpath:
            if isinstance(piece, svgpathtools.Line):
                parts.append(np.array([complex(piece.end)]))
            elif isinstance(piece, svgpathtools.Arc):
                bend = abs(np.radians(piece.delta))
                at = np.radians(piece.theta + _steps(bend * bend * abs(piece.radius)) * piece.delta)
                ellipse = piece.radius.real * np.cos(at) + 1j * piece.radius.imag * np.sin(at)
                parts.append(piece.center + piece.rot_matrix * ellipse)
            else:
                bends = np.abs(np.diff(piece.bpoints(), 2))
                degree = len(bends) + 1
                parts.append(piece.poly()(_steps(degree * (degree - 1) * float(bends.max()))))
        points = np.concatenate(parts)
        yield np.column_stack([points.real, points.imag])


def _steps(bend: float) -> FloatArray:
    """Return where a curve is divided into chords within _FLAT of it, from 0 to 1, without 0.

    bend: eight times the greatest distance of its whole chord from it, or more, mm.
    """
    count = min(max(int(np.sqrt(bend / (8.0 * _FLAT))), 7) + 1, _MOST_CHORDS)
    return np.arange(1, count + 1) / count
