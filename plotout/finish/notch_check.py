"""Checks notches afterwards: as they are on the card, against the stitching line alone.

But for which line is cut, and not the fold, it shares no code with their placing: it measures the
finished strokes and the openings in the finished outline.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, MultiLineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from plotout.finish.opened import Line, shown_edge
from plotout.geometry.polyline import rotated, tips
from plotout.geometry.region import polygons
from plotout.geometry.strokes import FloatArray, Mark, NotchKind, Stroke, Work
from plotout.pattern.model import Edge, Piece

_ON = 0.05  # mm
_SQUARE = 1.5  # degrees: facets of a flattened curve sway a tangent by this much
_BULGE = 0.012  # mm: by more, no curve is off its facets
_SMOOTH = np.radians(20.0)  # of turn between facets of a curve
_TOUCH = 0.2  # mm
_BIT = 0.05  # mm2: less is no piece of card
_SLIGHT = 20.0 + 2.0 * _SQUARE  # degrees of turn of an outer corner with one slit, by its facets
_ON_PAST = 60.0  # mm by which an edge goes straight on past its ends, at least
_LONGEST = 3.0  # widest allowances to which a mitre may reach past a corner, and more


def notch_faults(
    piece: Piece, cutting: FloatArray, notched: FloatArray, strokes: Sequence[Stroke]
) -> tuple[str, ...]:
    """Return the faults of the notches cut into a piece's card, in words with their places.

    cutting: the cutting line before it was notched, (n, 2), mm; notched: after. strokes: of the
    whole card. A notch must begin on the cutting line, lie square to a stitching line whose
    allowance it is in, and end before the stitching line.
    """
    cuts = [stroke for stroke in strokes if stroke.work is Work.CUT]
    slits, openings = notch_shapes(cutting, notched, strokes)
    stems = [
        np.asarray(s.points)
        for s in cuts
        if s.mark is Mark.NOTCH and (s.notch is NotchKind.SLIT or not _is_bar(s, cuts))
    ]
    ring, stitched = shown_edge(piece, cutting), Polygon(piece.outline)
    past = max(_ON_PAST, _LONGEST * max(max(edge.allowance) for edge in piece.edges))
    sewn = [
        _Sewn.of(edge, past, bent=bent)
        for edge in piece.edges
        if max(edge.allowance) > 0.0
        for bent in (True, False)
    ]
    found = _of_stems(stems, sewn, piece, ring)
    notches = np.array([*slits, *openings], dtype=object)
    for shape in notches[shapely.intersects(stitched, notches)]:
        if _sewn_allowance(piece, shape) > 0.0:
            found.append(f"{_at(shape, piece)} reaches the stitching line")
    whole = Polygon(notched).difference(shapely.union_all(slits).buffer(1e-3))
    for part in polygons(whole)[1:]:
        if part.area > _BIT:
            found.append(f"{_at(part, piece, 'notches')} cut {part.area:.1f} mm2 off the card")
    apart = np.array([*_apart(slits), *openings], dtype=object)
    near = shapely.STRtree(apart).query(apart, predicate="dwithin", distance=_TOUCH)
    for one, other in sorted(near.T.tolist()):
        if one < other:
            found.append(f"{_at(apart[one], piece)} and {_at(apart[other], piece)} run together")
    return tuple(dict.fromkeys(found))


def notch_shapes(
    cutting: FloatArray, notched: FloatArray, strokes: Sequence[Stroke]
) -> tuple[list[LineString], list[Polygon]]:
    """Return the slits among a card's strokes, and what its other notches take off its edge."""
    marks = [s for s in strokes if s.work is Work.CUT and s.mark is Mark.NOTCH]
    slits = [LineString(stroke.points) for stroke in marks if stroke.notch is not None]
    # a hair wider, or what rounding leaves of the edge between two openings makes them one
    left = Polygon(notched).buffer(1e-3, join_style="mitre")
    gone = shapely.get_parts(Polygon(cutting).difference(left)).tolist()
    return slits, [part for part in gone if part.area > _BIT]


def _is_bar(stroke: Stroke, cuts: Sequence[Stroke]) -> bool:
    """Return whether it is the bar of a T, with a stem's foot in its middle."""
    middle = stroke.points.mean(axis=0)
    feet = [s.points[0] for s in cuts if s is not stroke and s.notch is stroke.notch]
    return any(np.hypot(*(middle - foot)) < _ON for foot in feet)


def _apart(slits: Sequence[LineString]) -> list[BaseGeometry]:
    """Return a T's bar and stem as one."""
    joined = shapely.union_all(list(slits))
    parts = shapely.get_parts(joined.buffer(1e-3))
    of_parts: list[list[LineString]] = [[] for _ in parts]
    for part, slit in sorted(shapely.STRtree(slits).query(parts, "intersects").T.tolist()):
        of_parts[part].append(slits[slit])
    return [MultiLineString(of_part) for of_part in of_parts]


@dataclass(frozen=True, slots=True, eq=False)
class _Sewn:
    """An edge with an allowance. line: the edge, straight on past its ends. reach: mm, the
    greatest width of its allowance.

    Between the tangents there and the last facets, its direction at its ends is anybody's guess.
    """

    line: LineString
    reach: float

    @staticmethod
    def of(edge: Edge, past: float, *, bent: bool) -> _Sewn:
        """Return an edge so, on by `past` mm: along its tangents, or its last facets."""
        points = edge.points
        begin = points[0] + _onwards(points[::-1], bent=bent) * past
        end = points[-1] + _onwards(points, bent=bent) * past
        return _Sewn(LineString(np.vstack([begin, points, end])), max(edge.allowance))


def _onwards(points: FloatArray, *, bent: bool) -> FloatArray:
    """Return the unit direction in which a line goes on past its end: that of its last facet, or
    the tangent there of the circle through its last three points, where they are of a curve.
    """
    last = points[-1] - points[-2]
    size = float(np.hypot(*last))
    if not bent or len(points) < 3:
        return np.asarray(last / size)
    before = points[-2] - points[-3]
    turn = np.arctan2(before[0] * last[1] - before[1] * last[0], before @ last)
    bend = 2.0 * turn / (size + np.hypot(*before))
    is_curve = abs(turn) < _SMOOTH and abs(bend) * size**2 / 8.0 <= _BULGE
    return rotated(last / size, float(np.degrees(bend) * size / 2.0) if is_curve else 0.0)


def _of_stems(
    stems: Sequence[FloatArray], sewn: Sequence[_Sewn], piece: Piece, ring: Line
) -> list[str]:
    """Check slits, each of which runs from its foot to its mouth."""
    if not stems:
        return []
    found = []
    ends = tips(stems)
    off = shapely.distance(ring, shapely.points(ends[:, 1])).tolist()
    for stem, far, lean in zip(stems, off, _leans(ends, sewn), strict=True):
        line = LineString(stem)
        if far > _ON:
            found.append(f"{_at(line, piece)} begins {far:.1f} mm off the cutting line")
        if lean > _SQUARE and not _halves_corner(stem, piece):
            found.append(f"{_at(line, piece)} is {lean:.0f} degrees off square")
    return found


def _leans(stems: FloatArray, sewn: Sequence[_Sewn]) -> list[float]:
    """Return how far off square slits are to an edge that they point to, degrees; the least.

    stems: (n, 2, 2), from foot to mouth. A slit is extended inwards by the edge's reach. 90 where
    they don't meet.
    """
    least = np.full(len(stems), 90.0)
    if not sewn:
        return [*least.tolist()]
    mouth, run = stems[:, 1], stems[:, 1] - stems[:, 0]
    inward = -run / np.hypot(*run.T)[:, None]
    reach = np.array([edge.reach + 1.0 for edge in sewn])
    far = mouth[:, None] + inward[:, None] * reach[:, None]
    rays = shapely.linestrings(np.stack([np.broadcast_to(mouth[:, None], far.shape), far], axis=2))
    lines = np.broadcast_to([edge.line for edge in sewn], rays.shape)
    met = shapely.intersection(lines, rays).ravel()
    at, which = shapely.get_coordinates(met, return_index=True)
    stem, line = which // len(sewn), lines.ravel()[which]
    along = shapely.line_locate_point(line, shapely.points(at))
    begins = shapely.line_interpolate_point(line, np.maximum(along - 0.5, 0.0))
    ends = shapely.line_interpolate_point(line, along + 0.5)
    direction = shapely.get_coordinates(ends) - shapely.get_coordinates(begins)
    cos = (direction * run[stem]).sum(axis=1) / (np.hypot(*direction.T) * np.hypot(*run[stem].T))
    lean = np.abs(90.0 - np.degrees(np.arccos(np.clip(cos, -1.0, 1.0))))
    np.minimum.at(least, stem, lean)
    return [*least.tolist()]


def _halves_corner(stem: FloatArray, piece: Piece) -> bool:
    """Return whether the slit halves a corner: equally off square to both its edges.

    No place is square to both, if the corner is an inner one, or too slight for two slits.
    """
    for index, after in enumerate(piece.edges):
        before = piece.edges[index - 1]
        into, out = before.points[-1] - before.points[-2], after.points[1] - after.points[0]
        turn = np.degrees(np.arctan2(into[0] * out[1] - into[1] * out[0], into @ out))
        if turn > _SLIGHT:
            continue
        direction = LineString([stem[-1], stem[-1] + 40.0 * (stem[0] - stem[-1])])
        if direction.distance(Point(after.points[0])) < 0.1:
            halfway = into / np.hypot(*into) + out / np.hypot(*out)
            run = stem[0] - stem[-1]
            cos = abs(halfway @ run) / (np.hypot(*halfway) * np.hypot(*run))
            return bool(np.degrees(np.arcsin(min(cos, 1.0))) < _SQUARE)
    return False


def _sewn_allowance(piece: Piece, shape: BaseGeometry) -> float:
    edge = min(piece.edges, key=lambda other: LineString(other.points).distance(shape))
    return max(edge.allowance)


def _at(shape: BaseGeometry, piece: Piece, what: str = "notch") -> str:
    """Return in words where a notch, or what notches cut off, is in the piece's drawing."""
    middle = np.array([shape.centroid.x, shape.centroid.y])
    x, y = rotated(middle, -piece.turn)
    return f"the {what} at x {x:.0f} mm, y {y:.0f} mm"
