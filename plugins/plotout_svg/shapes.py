"""Basic shapes and paths as polylines. Source: W3C SVG 1.1 (second edition), 8 and 9."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from itertools import groupby
from typing import Any

import numpy as np

from plotout import FloatArray, Place, UserError
from plotout.kit import bezier_points, ellipse_points
from plotout_svg.document import local
from plotout_svg.page import number, numbers
from plotout_svg.paths import Arc, BadPathError, Segment, subpaths

SHAPES = ("path", "rect", "circle", "ellipse", "line", "polyline", "polygon")
FARTHEST = 1e6  # mm
MOST_POINTS = 2_000_000  # of a path, once its curves are flattened


def polylines(element: ET.Element, matrix: FloatArray, place: Place) -> list[FloatArray]:
    """Return a shape's polylines, (n, 2), mm, flattened to 0.01 mm under the (2, 3) map `matrix`.

    Closed ones end exactly where they begin. Raises UserError for a shape that can't be read.
    """
    lines = _DRAWN[local(element.tag)](element, matrix, place)
    for line in lines:
        if not np.abs(line).max() < FARTHEST:
            raise _too_far(place)
    return lines


def _too_far(place: Place) -> UserError:
    return UserError(
        "this shape reaches beyond a kilometre",
        fix="Check the drawing's scale, or delete the shape if it does not belong to the piece.",
        place=place,
    )


def _moved(points: Any, matrix: FloatArray) -> FloatArray:
    array = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    return np.asarray(array @ matrix[:, :2].T + matrix[:, 2])


def _line(element: ET.Element, matrix: FloatArray, place: Place) -> list[FloatArray]:
    ends = [number(element.get(key), 0.0, place) for key in ("x1", "y1", "x2", "y2")]
    return [_moved(ends, matrix)]


def _poly(element: ET.Element, matrix: FloatArray, place: Place) -> list[FloatArray]:
    values = numbers(element.get("points", ""), place)
    if len(values) % 2:
        raise UserError(
            "its points are not pairs of numbers",
            fix="Turn the shape into a path in the program that drew it.",
            place=place,
        )
    if len(values) < 4:
        return []
    points = _moved(values, matrix)
    if local(element.tag) == "polygon" and not (points[0] == points[-1]).all():
        points = np.vstack([points, points[:1]])
    return [points]


def _round(element: ET.Element, matrix: FloatArray, place: Place) -> list[FloatArray]:
    """A circle or an ellipse; of an ellipse, SVG 2 has a radius that is left out as the other."""
    centre = [number(element.get(key), 0.0, place) for key in ("cx", "cy")]
    if local(element.tag) == "circle":
        across = up = element.get("r", "0")
    else:
        across, up = element.get("rx", "auto"), element.get("ry", "auto")
        across, up = (up if across == "auto" else across), (across if up == "auto" else up)
    x, y = (0.0 if side == "auto" else number(side, 0.0, place) for side in (across, up))
    if not (x > 0.0 and y > 0.0):
        return []
    return [_arc(complex(*centre), complex(x), complex(0, y), 0.0, 360.0, matrix)]


def _rect(element: ET.Element, matrix: FloatArray, place: Place) -> list[FloatArray]:
    x, y, width, height = (
        number(element.get(key), 0.0, place) for key in ("x", "y", "width", "height")
    )
    if not (width > 0.0 and height > 0.0):
        return []
    across, up = _radius(element, "rx", place), _radius(element, "ry", place)
    rx = min(next((side for side in (across, up) if side is not None), 0.0), width / 2)
    ry = min(next((side for side in (up, across) if side is not None), 0.0), height / 2)
    corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]
    if not (rx > 0.0 and ry > 0.0):
        return [_moved([*corners, corners[0]], matrix)]
    parts: list[FloatArray] = []
    for index, (at_x, at_y) in enumerate(corners):
        centre = complex(at_x + (rx if index in (0, 3) else -rx), at_y + (ry if index < 2 else -ry))
        arc = _arc(centre, complex(rx), complex(0, ry), 180.0 + 90.0 * index, 90.0, matrix)
        skip = bool(parts) and np.hypot(*(parts[-1][-1] - arc[0])) < 1e-9
        parts.append(arc[1:] if skip else arc)
    points = np.vstack(parts)
    if np.hypot(*(points[-1] - points[0])) < 1e-9:
        points = points[:-1]
    return [np.vstack([points, points[:1]])]


def _radius(element: ET.Element, key: str, place: Place) -> float | None:
    """Return a radius of a corner; None if it is that of the other axis (SVG 2, 7.5)."""
    text = element.get(key, "auto").strip()
    side = -1.0 if text == "auto" else number(text, 0.0, place)
    return None if side < 0.0 else side


def _path(element: ET.Element, matrix: FloatArray, place: Place) -> list[FloatArray]:
    try:
        return [_flattened(*subpath, matrix) for subpath in subpaths(element.get("d", ""))]
    except BadPathError as fault:
        raise UserError(
            f"its path can't be read: {fault}",
            fix="Draw it again, or save it as plain lines.",
            place=place,
        ) from fault


def _flattened(segments: list[Segment], closed: bool, matrix: FloatArray) -> FloatArray:
    """Return a subpath as points, (n, 2), mm; a closed one repeats its first point."""
    parts = [_moved([_xy(segments[0].start)], matrix)]
    left = MOST_POINTS
    for straight, group in groupby(segments, key=_is_straight):
        if straight:
            parts.append(_moved([_xy(segment.end) for segment in group], matrix))
        else:
            for segment in group:
                parts.append(_curve(segment, matrix)[1:])
                left -= len(parts[-1])
                if left < 0:
                    raise BadPathError(f"its curves take more than {MOST_POINTS} points")
    points = np.vstack(parts)
    if closed:
        points[-1] = points[0]
    return points


def _xy(place: complex) -> tuple[float, float]:
    return place.real, place.imag


def _is_straight(segment: Segment) -> bool:
    return not isinstance(segment, Arc) and len(segment.points) == 2


def _curve(segment: Segment, matrix: FloatArray) -> FloatArray:
    """Return a curved segment of a path as points."""
    if isinstance(segment, Arc):
        axes = segment.first, segment.second
        points = _arc(segment.centre, *axes, segment.theta, segment.sweep, matrix)
        points[0], points[-1] = _moved([_xy(segment.start), _xy(segment.end)], matrix)
        return points
    return bezier_points(_moved([_xy(point) for point in segment.points], matrix))


def _arc(
    centre: complex, first: complex, second: complex, start: float, sweep: float, matrix: FloatArray
) -> FloatArray:
    linear = matrix[:, :2]
    one, two = (linear @ np.array([v.real, v.imag]) for v in (first, second))
    return ellipse_points(_moved([centre.real, centre.imag], matrix)[0], one, two, start, sweep)


_DRAWN = {
    "path": _path,
    "rect": _rect,
    "circle": _round,
    "ellipse": _round,
    "line": _line,
    "polyline": _poly,
    "polygon": _poly,
}
