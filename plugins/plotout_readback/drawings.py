"""Reads SVG and DXF drawings of a sheet back: by svgpathtools and ezdxf."""

from __future__ import annotations

import io
import re
from collections import Counter
from collections.abc import Iterator
from xml.etree import ElementTree

import numpy as np

from plotout import Described, FloatArray, Machine, NotchKind, Reading, Traced

_FLAT = 0.005  # mm by which chords may deviate from their curve
_MOST_CHORDS = 10_000  # of a curve: enough for a circle of 100 m
_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72.0, "px": 25.4 / 96.0, "": 25.4 / 96.0}
_STRAIGHT = re.compile(r"(M[^A-Za-z]+(?:L[^A-Za-z]+)*Z?\s*)+")
_PAIR = r"-?\d+(?:\.\d+)?(?: |(?=-))-?\d+(?:\.\d+)?"
_STEPS = re.compile(rf"M{_PAIR}(?:l{_PAIR})+z?")  # relative, each with its letter
_GROUP_CODES = range(1072)  # DXF reference: no others are valid
_FARTHEST = 1e9  # mm, or the drawing's unit
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_NOT_WORKED = ("2", "3", "5", "6", "14")  # ASTM D6673: what describes a piece; no tool follows it
_DESCRIBED = {("2", True): "turn point", ("6", False): "mirror line", ("14", False): "sew line",
              ("7", False): "grain line"}  # fmt: skip
_NOTCHES = {"4": (NotchKind.SLIT, NotchKind.V), "80": (NotchKind.T,), "81": (NotchKind.CASTLE,),
            "82": (NotchKind.CHECK,), "83": (NotchKind.U,)}  # fmt: skip
_INSUNITS = {1: 25.4, 4: 1.0, 5: 10.0, 6: 1000.0}


def read_svg(data: bytes, _machine: Machine) -> Reading:
    """Return the paths, lines and circles of an SVG, in mm, y up from its lower edge."""
    unknown: Counter[str] = Counter()
    traced: list[Traced] = []
    try:
        root = ElementTree.fromstring(data)
        box = _numbers(root.get("viewBox", ""))
        scale = _said_length(root.get("width", "")) / box[2]
        for element in root.iter():
            name = element.tag.rpartition("}")[2]
            if element.get("transform"):
                unknown["a transform"] += 1
            for points in _shapes(name, element, unknown):
                x, y = points.T
                sheet = np.column_stack([x - box[0], box[1] + box[3] - y]) * scale
                traced.append(Traced(sheet))
    except (ElementTree.ParseError, LookupError, ValueError, ZeroDivisionError) as fault:
        unknown[f"the file is broken: {fault}"] += 1
    return Reading(tuple(traced), True, tuple(unknown), ordered=False)


def _said_length(text: str) -> float:
    found = re.fullmatch(r"\s*([\d.]+)\s*([a-z]*)\s*", text)
    if not found or found[2] not in _MM:
        raise ValueError(f"its width is {text!r}")
    return float(found[1]) * _MM[found[2]]


def _numbers(text: str) -> list[float]:
    numbers: list[float] = list(map(float, re.split(r"[\s,]+", text.strip())))
    _near(np.array(numbers))
    return numbers


def _near(numbers: FloatArray) -> FloatArray:
    """Return the numbers unchanged. Raises ValueError if one is not finite, or too large."""
    if not (np.abs(numbers) < _FARTHEST).all():
        raise ValueError("a number is too large")
    return numbers


def _shapes(name: str, element: ElementTree.Element, unknown: Counter[str]) -> Iterator[FloatArray]:
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
    elif name in ("rect", "ellipse", "use", "image"):
        unknown[f"the element {name}"] += 1


def _path(said: str) -> Iterator[FloatArray]:
    """Read straight paths directly, others by svgpathtools."""
    if _STEPS.fullmatch(said):
        points = _near(np.array(_NUMBER.findall(said), dtype=np.float64)).reshape(-1, 2)
        points = _near(np.cumsum(points, axis=0))
        yield np.vstack([points, points[:1]]) if said.endswith("z") else points
        return
    if not _STRAIGHT.fullmatch(said.strip()):
        yield from _curved(said)
        return
    for part in said.strip().split("M")[1:]:
        closes = part.rstrip().endswith("Z")
        numbers = part.rstrip("Z \n").replace("L", " ").replace(",", " ").split()
        points = _near(np.array(numbers, dtype=np.float64)).reshape(-1, 2)
        yield np.vstack([points, points[:1]]) if closes else points


def _curved(said: str) -> Iterator[FloatArray]:
    import svgpathtools

    _near(np.array(_NUMBER.findall(said), dtype=np.float64))
    try:
        path = svgpathtools.parse_path(said)
    except AssertionError as fault:  # how it refuses an arc
        raise ValueError("an arc has no radius or no length") from fault
    for way in path.continuous_subpaths():
        parts = [np.array([complex(way[0].start)])]
        for piece in way:
            if isinstance(piece, svgpathtools.Line):
                parts.append(np.array([complex(piece.end)]))
            elif isinstance(piece, svgpathtools.Arc):
                bend = abs(np.radians(piece.delta))
                at = np.radians(piece.theta + _steps(bend * bend * abs(piece.radius)) * piece.delta)
                ellipse = piece.radius.real * np.cos(at) + 1j * piece.radius.imag * np.sin(at)
                parts.append(piece.center + piece.rot_matrix * ellipse)
            else:
                parts.append(piece.poly()(_steps(8.0 * piece.length())))
        points = np.concatenate(parts)
        yield np.column_stack([points.real, points.imag])


def _steps(bend: float) -> FloatArray:
    """Return where a curve is divided into chords within _FLAT of it, from 0 to 1, without 0.

    bend: eight times the greatest distance of its whole chord from it, or more, mm.
    """
    count = min(max(int(np.sqrt(bend / (8.0 * _FLAT))), 7) + 1, _MOST_CHORDS)
    return np.arange(1, count + 1) / count


def read_dxf(data: bytes, _machine: Machine) -> Reading:
    """Return the lines of a DXF's model space, with its inserted blocks, in mm."""
    import ezdxf
    from ezdxf.disassemble import recursive_decompose
    from ezdxf.path import make_path

    unknown: Counter[str] = Counter()
    traced: list[Traced] = []
    described: list[Described] = []
    try:
        for code in set(map(int, data.splitlines()[::2])).difference(_GROUP_CODES):
            unknown[f"the group code {code}"] += 1
        document = ezdxf.read(io.StringIO(data.decode("utf-8", "surrogateescape")))  # type: ignore[attr-defined]
        scale = _INSUNITS.get(int(document.header.get("$INSUNITS", 0)), 1.0)
        for entity, turn in (
            (part, float(top.dxf.rotation) if top.dxftype() == "INSERT" else 0.0)
            for top in document.modelspace()
            for part in recursive_decompose([top])
        ):
            kind = entity.dxftype()
            layer = entity.dxf.layer
            if kind == "POINT":
                at = entity.dxf.location
                points = _near(np.array([[at.x, at.y]])) * scale
            elif kind not in ("TEXT", "MTEXT", "ATTDEF", "ATTRIB"):
                path = make_path(entity)
                _near(np.array([tuple(vertex) for vertex in path.control_vertices()]))
                flat = [(point.x, point.y) for point in path.flattening(_FLAT / scale)]
                points = np.array(flat) * scale
            else:
                continue
            if kind == "POINT" and layer in _NOTCHES:
                depth, angle = float(at.z) * scale, float(entity.dxf.get("angle", 0.0)) + turn
                described.append(Described("notch", points, depth, angle, _NOTCHES[layer]))
            elif layer in _NOT_WORKED or entity.dxf.get("invisible", 0):
                if what := _DESCRIBED.get((layer, kind == "POINT")):
                    described.append(Described(what, points))
            else:
                traced.append(Traced(points))
    except Exception as fault:
        unknown[f"the file is broken: {fault}"] += 1
    return Reading(tuple(traced), True, tuple(unknown), ordered=False, described=tuple(described))
