"""Drawings that hold both a cutting and a sewing line, or a mirror line.

Files of ASTM D6673 do: layer 1 is cut, 14 sewn, and 6 is the mirror line of a half.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Polygon

from plotout.geometry.joining import BranchingError, joined
from plotout.geometry.polyline import distances, is_closed, length
from plotout.geometry.strokes import FloatArray
from plotout.pattern.drawing import Drawing, Role, Shape
from plotout.pattern.kinds import Ref
from plotout.pattern.model import Edge
from plotout.pattern.outline import Named
from plotout.pattern.spec import PieceSpec

_SAME = 0.02  # mm: a turn point this near to a line is on it
_ON = 0.5  # mm: a point this near to a line is on it
_FAR = 300.0  # mm: no allowance is wider
_EVEN = 0.2  # mm by which an allowance may vary and still count as one figure
_NEARER = (
    0.1  # mm by which another edge is nearer to a place of the cutting line, which is then its
)
_PLACES, _ENOUGH = 29, 3  # where an allowance is measured, and how many of these must show it


def sewn_outline(drawing: Drawing, notes: list[str]) -> tuple[Drawing, FloatArray | None]:
    """Return the drawing with its sewing line as outline, and its cutting line, (n, 2).

    The cutting line is None where no sewing line closes, alone or along the mirror line. A sewing
    line that is not used is noted, and stays a line inside the piece.
    """
    sewn = [shape.points for shape in drawing.shapes if shape.role is Role.SEWING]
    cut = [shape.points for shape in drawing.shapes if shape.role is Role.OUTLINE]
    if not sewn or len(cut) != 1 or not is_closed(cut[0]):
        return drawing, None
    ring = _closed(sewn, mirror_of(drawing))
    if ring is None or not Polygon(cut[0]).buffer(_ON).covers(LineString(ring)):
        notes.append("its sewing line does not close within the cutting line: it is only drawn")
        return drawing, None
    turns = _turns_on(ring, cut[0], drawing)
    gone = (Role.SEWING, Role.OUTLINE, Role.TURN)
    kept = (*(shape for shape in drawing.shapes if shape.role not in gone), *turns)
    notes.append("its stitching line and allowances are those of the drawing's sewing line")
    return replace(drawing, shapes=(Shape(ring, Role.OUTLINE), *kept)), cut[0]


def _turns_on(ring: FloatArray, cut: FloatArray, drawing: Drawing) -> list[Shape]:
    """Return the turn points of the sewing line, or none: then its corners are found by angle.

    Those of a drawing usually lie on its cutting line, of which the sewing line shares some.
    """
    turns = [shape for shape in drawing.shapes if shape.role is Role.TURN]
    places = shapely.points(np.array([shape.points[0] for shape in turns]).reshape(-1, 2))
    sewn, edge = LineString(ring), LineString(cut)
    own = sewn.distance(places) <= _SAME
    shared = edge.distance(places) <= _SAME
    bare = edge.buffer(_SAME).covers(sewn)
    if not bare and not (own & ~shared).any():
        return []
    return [turn for turn, on in zip(turns, own, strict=True) if on]


def _closed(lines: Sequence[FloatArray], mirror: FloatArray | None) -> FloatArray | None:
    try:
        chains = joined(list(lines))
    except BranchingError:
        return None
    if len(chains) != 1:
        return None
    (ring,) = chains
    if is_closed(ring):
        return ring
    if mirror is None or _off(mirror, ring[[0, -1]]) > _ON:
        return None
    return np.vstack([ring, ring[:1]])


def mirror_of(drawing: Drawing) -> FloatArray | None:
    """Return the drawing's mirror line, its ends (2, 2); None where it has none."""
    lines = [s.points for s in drawing.shapes if s.role is Role.FOLD and len(s.points) > 1]
    return max(lines, key=length)[[0, -1]] if lines else None


def folded_spec(
    spec: PieceSpec, drawing: Drawing, edges: Sequence[Named], notes: list[str]
) -> PieceSpec:
    """Return the piece's spec with the edge on the drawing's mirror line as its fold."""
    mirror = mirror_of(drawing)
    if mirror is None:
        return spec
    on = [name for name, points in edges if _off(mirror, points) <= _ON]
    if spec.fold is not None:
        if spec.fold.name not in on:
            notes.append(f"the drawing's mirror line is not along the fold '{spec.fold.name}'")
        return spec
    if len(on) != 1:
        notes.append("the drawing's mirror line lies along no edge and is left out")
        return spec
    notes.append(f"'{on[0]}' lies on the drawing's mirror line: it is the fold")
    return replace(spec, fold=Ref(on[0], spec.place))


def _off(line: FloatArray, points: FloatArray) -> float:
    """Return the greatest distance of the points from a straight line, extended, mm."""
    direction = (line[1] - line[0]) / np.hypot(*(line[1] - line[0]))
    return float(np.abs((points - line[0]) @ np.array([-direction[1], direction[0]])).max())


def measured(edge: Edge, ring: FloatArray, cutting: FloatArray, notes: list[str]) -> Edge:
    """Return the edge with the drawing's allowance, linear from its start to its end.

    ring: the whole stitching line. The allowance is measured square to the edge where no other edge
    is nearer to the cutting line, as one is beside an inner corner; away from its corners if the
    edge is long enough.
    """
    for margin in (0.15, 0.01):
        along, away = _reaches(edge, margin, LineString(ring), LineString(cutting))
        if len(along) >= _ENOUGH:
            break
    else:
        notes.append(
            f"no cutting line is drawn beside '{edge.name}': its allowance is taken to be "
            f"{max(edge.allowance):g} mm"
        )
        return edge
    start, slope, shown = _shown(along, away)
    if not slope:
        wide = round(start, 2)
        return replace(edge, allowance=(wide, wide))
    off = float(np.abs(away - (start + slope * along))[shown].max())
    if off > _EVEN:
        notes.append(f"the allowance of '{edge.name}' is uneven: it is up to {off:.1f} mm off")
    first, last = max(0.0, start), max(0.0, start + slope)
    return replace(edge, allowance=(round(first, 2), round(last, 2)))


def _shown(along: FloatArray, away: FloatArray) -> tuple[float, float, NDArray[np.bool_]]:
    """Return an allowance's width at its start and its change, mm, and which places show it.

    A narrower allowance beside it may cut its end off, slantwise: the figure of a quarter of the
    places is the allowance's, or the greatest, if several places have exactly that; else the
    straight line that most places agree with, and if few do, the nearest to all (least squares).
    """
    alike = np.abs(away[:, None] - away) <= _EVEN / 2.0
    most = alike[int(np.argmax(alike.sum(axis=1)))]
    if np.ptp(away) > _EVEN and most.sum() < max(_ENOUGH, len(away) / 4.0):
        most = away >= away.max() - _SAME
    if most.sum() >= _ENOUGH:
        return float(np.median(away[most])), 0.0, most
    one, other = np.triu_indices(len(along), 1)
    slopes = (away[other] - away[one]) / (along[other] - along[one])
    starts = away[one] - slopes * along[one]
    near = np.abs(away - (starts[:, None] + slopes[:, None] * along)) <= _EVEN / 2.0
    shown = near[int(np.argmax(near.sum(axis=1)))]
    if shown.sum() < len(away) / 2.0:
        shown = np.ones_like(shown)
    slope, start = np.polyfit(along[shown], away[shown], 1)
    return float(start), float(slope), shown


def _reaches(
    edge: Edge, margin: float, ring: LineString, cutting: LineString
) -> tuple[FloatArray, FloatArray]:
    """Return places along an edge, as shares of it, and the allowance there, mm: each (k,)."""
    reached = distances(edge.points)
    shares = np.linspace(margin, 1.0 - margin, _PLACES)
    points, before, after = (
        np.column_stack(
            [np.interp(shares * reached[-1] + by, reached, edge.points[:, k]) for k in (0, 1)]
        )
        for by in (0.0, -0.5, 0.5)
    )
    direction = after - before
    outward = np.column_stack([direction[:, 1], -direction[:, 0]]) / np.hypot(*direction.T)[:, None]
    away = np.array(
        [_reach(cutting, at, normal) for at, normal in zip(points, outward, strict=True)]
    )
    ends = shapely.points(points + outward * away[:, None])
    own = ring.distance(ends) >= away - _NEARER
    return shares[own], away[own]


def _reach(cutting: LineString, start: FloatArray, direction: FloatArray) -> float:
    """Return the distance from a point of the sewing line to the cutting line, mm."""
    met = shapely.get_coordinates(
        cutting.intersection(LineString([start, start + direction * _FAR]))
    )
    return float(np.hypot(*(met - start).T).min()) if len(met) else 0.0
