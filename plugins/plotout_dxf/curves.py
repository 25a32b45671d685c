"""DXF entities as polylines, with nested blocks resolved.

Source: the DXF reference: a bulge is the tangent of a quarter of the arc's angle, positive
counter-clockwise; entities on layer 0 of a block take the layer of its INSERT.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from itertools import islice, pairwise
from pathlib import Path
from typing import Any

import numpy as np

from plotout import FloatArray, Place, UserError
from plotout.kit import FLATNESS, ellipse_points
from plotout_dxf.document import why

DEEPEST = 30
MOST_ENTITIES = 500_000
MOST_POINTS = 300_000  # of the lines of a layer, once curves are flattened
TEXTS = ("TEXT", "MTEXT", "ATTRIB")
BROKEN = (ArithmeticError, AttributeError, LookupError, TypeError, ValueError)
"""What ezdxf raises for a damaged entity, besides its own errors."""
STEEP = 0.005  # rise to length: lines look shorter by the half of its square, 0.0125 mm in a metre
SPLINE_PARTS = 16  # per knot span, before they are halved as needed


@dataclass(frozen=True, slots=True, eq=False)
class Entity:
    """An entity as drawn, and its layer."""

    it: Any
    layer: str

    @property
    def kind(self) -> str:
        """Its DXF type."""
        return str(self.it.dxftype())


def entities(space: Iterable[Any], path: Path) -> list[Entity]:
    """Return what is drawn in a block or the model. Raises UserError for endless nesting."""
    found: list[Entity] = []
    for entity in _unfolded(space, None, path, 0):
        found.append(entity)
        if len(found) > MOST_ENTITIES:
            raise UserError(
                f"more than {MOST_ENTITIES} entities are drawn",
                fix="Keep only the pattern, without its surroundings.",
                place=Place(path),
            )
    return found


def _unfolded(space: Iterable[Any], layer: str | None, path: Path, depth: int) -> Iterator[Entity]:
    if depth > DEEPEST:
        raise UserError(
            "its blocks contain themselves",
            fix="Explode them in the program that drew them.",
            place=Place(path),
        )
    for entity in space:
        own = str(entity.dxf.get("layer", "0")) if entity.dxf.is_supported("layer") else "0"
        own = layer if layer is not None and own == "0" else own
        if entity.dxftype() != "INSERT":
            yield Entity(entity, own)
            continue
        inserts = entity.multi_insert() if entity.mcount > 1 else [entity]
        for insert in inserts:
            parts = map(partial(_turned, insert), insert.virtual_entities())
            yield from _unfolded(parts, own, path, depth + 1)
            for attribute in insert.attribs:
                yield Entity(attribute, own)


def _turned(insert: Any, entity: Any) -> Any:
    """Turn a POINT's direction with its block, which ezdxf leaves as it was."""
    if entity.dxftype() == "POINT" and entity.dxf.hasattr("angle"):
        turn = np.radians(float(entity.dxf.angle))
        at = insert.matrix44().transform_direction((np.cos(turn), np.sin(turn), 0.0))
        entity.dxf.angle = float(np.degrees(np.arctan2(at.y, at.x)))
    return entity


def flattened(entity: Entity, scale: float, path: Path) -> list[FloatArray]:
    """Return an entity's lines, (n, 2), mm, within 0.01 mm; none where it has no lines.

    scale: mm in one unit. Closed lines end exactly where they begin. Raises UserError for
    coordinates that are not numbers.
    """
    draw = _DRAWN.get(entity.kind)
    if draw is None:
        return []
    from ezdxf.lldxf.const import DXFError

    try:
        with np.errstate(all="ignore"):
            points = draw(entity.it, FLATNESS / scale) * scale
    except _SteepError:
        raise UserError(
            f"a {entity.kind} on layer '{entity.layer[:60]}' rises out of the drawing's plane, so "
            "that it is longer than it looks from above",
            fix="Draw the pattern flat: all of it at the same z.",
            place=Place(path),
        ) from None
    except (DXFError, *BROKEN) as fault:
        raise _broken(entity, path, fault) from fault
    if not (np.abs(points) < 1e6).all():
        raise UserError(
            f"a {entity.kind} on layer '{entity.layer}' reaches beyond a kilometre, "
            "or is not a number",
            fix="Delete it in the drawing, or choose the piece's layer.",
            place=Place(path),
        )
    return [points] if len(points) > 1 else []


def _broken(entity: Entity, path: Path, fault: Exception) -> UserError:
    return UserError(
        f"a {entity.kind[:30]} on layer '{entity.layer[:60]}' is damaged{why(fault)}",
        fix="Mend the drawing, or save it again.",
        place=Place(path),
    )


def location(entity: Entity, scale: float) -> FloatArray:
    """Return the place of a POINT or a text, (1, 2), mm."""
    key = "location" if entity.kind == "POINT" else "insert"
    at = entity.it.dxf.get(key) if entity.it.dxf.hasattr(key) else None
    if at is None:
        raise UserError(
            f"a {entity.kind} on layer '{entity.layer[:60]}' has no place",
            fix="Mend the drawing, or save it again.",
        )
    return np.array([[at.x, at.y]]) * scale


def _line(entity: Any, _tolerance: float) -> FloatArray:
    return _flat([entity.dxf.start, entity.dxf.end])


def _arc(entity: Any, tolerance: float) -> FloatArray:
    ocs, radius = entity.ocs(), float(entity.dxf.radius)
    centre, first, second = _flat(
        [ocs.to_wcs(entity.dxf.center), ocs.to_wcs((radius, 0, 0)), ocs.to_wcs((0, radius, 0))]
    )
    start, sweep = 0.0, 360.0
    if entity.dxftype() == "ARC":
        start = float(entity.dxf.start_angle)
        sweep = (float(entity.dxf.end_angle) - start) % 360.0 or 360.0
    return ellipse_points(centre, first, second, start, sweep, tolerance)


def _ellipse(entity: Any, tolerance: float) -> FloatArray:
    middle, major = entity.dxf.center, entity.dxf.major_axis
    centre, first, second = _flat([middle, middle + major, middle + entity.minor_axis])
    first, second = first - centre, second - centre
    start = float(np.degrees(entity.dxf.start_param))
    sweep = (float(np.degrees(entity.dxf.end_param)) - start) % 360.0
    if sweep < 1e-9 or 360.0 - sweep < 1e-9:
        sweep = 360.0
    return ellipse_points(centre, first, second, start, sweep, tolerance)


def _spline(entity: Any, tolerance: float) -> FloatArray:
    tool = entity.construction_tool()
    steps = tool.flattening(tolerance / 2.0, segments=SPLINE_PARTS)
    points = _flat(list(islice(steps, MOST_POINTS + 1)))
    if len(points) > MOST_POINTS:
        raise _too_long(f"it takes more than {MOST_POINTS} points")
    return _closed(points) if entity.closed else points


def _polyline(entity: Any, tolerance: float) -> FloatArray:
    """Return a POLYLINE or LWPOLYLINE, with its bulges as arcs."""
    if entity.dxftype() == "LWPOLYLINE":
        corners = np.array(list(entity.get_points("xyb"))).reshape(-1, 3)
        closed, elevation, ocs = bool(entity.closed), float(entity.dxf.elevation), entity.ocs()
    elif entity.is_2d_polyline or entity.is_3d_polyline:
        # 16: a control point of a fitted curve, which is not on it
        kept = [v for v in entity.vertices if not int(v.dxf.get("flags", 0)) & 16]
        flat = _flat([v.dxf.location for v in kept])
        corners = np.column_stack([flat, [v.dxf.get("bulge", 0.0) for v in kept]])
        closed, elevation = bool(entity.is_closed), 0.0
        ocs = entity.ocs() if entity.is_2d_polyline else None
    else:
        return np.empty((0, 2))
    if len(corners) < 2:
        return np.empty((0, 2))
    if closed and (corners[0, :2] != corners[-1, :2]).any():
        corners = np.vstack([corners, corners[:1]])
    parts, left = [], MOST_POINTS
    for a, b in pairwise(corners):
        parts.append(_bulged(a[:2], b[:2], float(a[2]), tolerance))
        left -= len(parts[-1])
        if left < 0:
            raise _too_long(f"its arcs take more than {MOST_POINTS} points")
    points = np.vstack([parts[0][:1], *(part[1:] for part in parts)])
    if ocs is None or not ocs.transform:
        return points
    return _flat([ocs.to_wcs((x, y, elevation)) for x, y in points.tolist()])


def _too_long(words: str) -> Exception:
    from ezdxf.lldxf.const import DXFValueError

    return DXFValueError(words)


def _bulged(start: FloatArray, end: FloatArray, bulge: float, tolerance: float) -> FloatArray:
    chord = end - start
    if abs(bulge) < 1e-9 or not chord.any():
        return np.vstack([start, end])
    across = np.array([-chord[1], chord[0]])
    centre = (start + end) / 2.0 + across * (1.0 - bulge**2) / (4.0 * bulge)
    first = start - centre
    sweep = float(np.degrees(4.0 * np.arctan(bulge)))
    points = ellipse_points(centre, first, np.array([-first[1], first[0]]), 0.0, sweep, tolerance)
    points[0], points[-1] = start, end
    return points


class _SteepError(Exception):
    """What is drawn is not flat."""


def _flat(vectors: list[Any]) -> FloatArray:
    """Return places seen from above, (n, 2). Raises _SteepError where they rise: see STEEP."""
    points = np.array([(v[0], v[1], v[2]) for v in vectors], dtype=np.float64).reshape(-1, 3)
    if len(points) > 1:
        long, wide, high = np.ptp(points, axis=0)
        if high > STEEP * max(long, wide):
            raise _SteepError
    return points[:, :2]


def _closed(points: FloatArray) -> FloatArray:
    if np.hypot(*(points[0] - points[-1])) < 1e-6:
        return np.vstack([points[:-1], points[:1]])
    return np.vstack([points, points[:1]])


_DRAWN = {
    "LINE": _line,
    "ARC": _arc,
    "CIRCLE": _arc,
    "ELLIPSE": _ellipse,
    "SPLINE": _spline,
    "LWPOLYLINE": _polyline,
    "POLYLINE": _polyline,
}
