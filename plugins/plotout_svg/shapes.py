"""SVG shapes as polylines in mm, flattened to 0.01 mm. Path data is read by svgpathtools."""

from __future__ import annotations

import math
import re
from typing import Any
from xml.etree import ElementTree

import numpy as np
import shapely

from plotout import FloatArray

SHAPES = ("path", "rect", "circle", "ellipse", "line", "polyline", "polygon")
FLAT = 0.005  # mm: half of what a curve may lie off
SAMPLES = 96  # points on each curved segment before those that it doesn't need are left out


def polylines(element: ElementTree.Element, tag: str, matrix: FloatArray) -> list[FloatArray]:
    """Return the shape's parts, each (n, 2) in mm; closed ones repeat their first point.

    Raises ValueError for what can't be read.
    """
    parts = []
    for segments, closed in _parts(_path_data(element, tag)):
        points = np.vstack([_points(segment)[:-1] for segment in segments]
                           + [_points(segments[-1])[-1:]])  # fmt: skip
        points = points @ matrix[:, :2].T + matrix[:, 2]
        meets = bool(np.hypot(*(points[0] - points[-1])) < 1e-6)
        if closed or meets:
            points = np.vstack([points[:-1] if meets else points, points[:1]])
        if not np.isfinite(points).all():
            raise ValueError("its coordinates are not numbers")
        parts.append(_flat(points))
    return parts


def _flat(points: FloatArray) -> FloatArray:
    if len(points) < 3:
        return points
    return np.asarray(shapely.get_coordinates(shapely.simplify(shapely.LineString(points), FLAT)))


def _parts(data: str) -> list[tuple[list[Any], bool]]:
    """Return the continuous parts of a path: its segments, and whether it is closed."""
    from svgpathtools import parse_path

    parts: list[tuple[list[Any], bool]] = []
    for sub in parse_path(data).continuous_subpaths() if data.strip() else []:
        segments = [segment for segment in sub if segment.start != segment.end or _round(segment)]
        if segments:
            parts.append((segments, bool(sub.isclosed())))
    return parts


def _round(segment: Any) -> bool:
    return type(segment).__name__ != "Line"


def _points(segment: Any) -> FloatArray:
    if not _round(segment):
        ends = [segment.start, segment.end]
        return np.array([[z.real, z.imag] for z in ends])
    at = [segment.point(t) for t in np.linspace(0.0, 1.0, SAMPLES + 1)]
    at[0], at[-1] = segment.start, segment.end
    return np.array([[z.real, z.imag] for z in at])


def _path_data(element: ElementTree.Element, tag: str) -> str:
    """Return any shape as path data (SVG 1.1, chapter 9)."""
    if tag == "path":
        return element.get("d", "")
    if tag == "line":
        x1, y1, x2, y2 = (_number(element, key) for key in ("x1", "y1", "x2", "y2"))
        return f"M{x1},{y1} L{x2},{y2}"
    if tag in ("polyline", "polygon"):
        values = [float(v) for v in re.split(r"[\s,]+", element.get("points", "").strip()) if v]
        pairs = [f"{x},{y}" for x, y in zip(values[::2], values[1::2], strict=True)]
        return ("M" + " L".join(pairs) + (" Z" if tag == "polygon" else "")) if pairs else ""
    if tag == "rect":
        return _rect(element)
    cx, cy = _number(element, "cx"), _number(element, "cy")
    rx = _number(element, "r" if tag == "circle" else "rx")
    ry = _number(element, "r" if tag == "circle" else "ry")
    return (f"M{cx + rx},{cy} A{rx},{ry} 0 0 1 {cx - rx},{cy} "
            f"A{rx},{ry} 0 0 1 {cx + rx},{cy} Z")  # fmt: skip


def _rect(element: ElementTree.Element) -> str:
    x, y, w, h = (_number(element, key) for key in ("x", "y", "width", "height"))
    rx, ry = _number(element, "rx"), _number(element, "ry")
    rx, ry = min(rx or ry, w / 2), min(ry or rx, h / 2)
    if not (rx and ry):
        return f"M{x},{y} H{x + w} V{y + h} H{x} Z"
    arc = f"a{rx},{ry} 0 0 1"
    return (f"M{x + rx},{y} h{w - 2 * rx} {arc} {rx},{ry} v{h - 2 * ry} {arc} {-rx},{ry} "
            f"h{2 * rx - w} {arc} {-rx},{-ry} v{2 * ry - h} {arc} {rx},{-ry} Z")  # fmt: skip


def _number(element: ElementTree.Element, key: str) -> float:
    value = float(re.sub(r"px$", "", element.get(key, "0").strip()))
    if not math.isfinite(value):
        raise ValueError(f"{key} is not a number")
    return value
