"""Asks about hems and facings that don't lie on the piece when they are folded over."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from plotout.geometry.offset import cutting_line
from plotout.geometry.polyline import mirrored, unit
from plotout.geometry.strokes import FloatArray
from plotout.pattern.borders import borders
from plotout.pattern.model import Edge, Piece
from plotout.pattern.settings import Corner
from plotout.pattern.true_measure import bow

STRAIGHT = 0.5  # mm by which a fold may bow: what is folded along a bent one can't lie flat
SHOWS = 1.0  # mm: a narrower strip that is too much or too little is trimmed or eased (judgement)
_FAR = 1e4  # mm: past any piece
_ON = np.cos(np.radians(30.0))  # of the angle by which a line that goes on may turn


def folded_over(edge: Edge, piece: Piece, card: Polygon) -> Iterator[str]:
    """Yield how far an edge's allowance, once folded over, isn't the piece's mirror image.

    Where the piece is too shallow for it elsewhere than at its ends is told by its depth. card: see
    `card_of`.
    """
    if bow(edge.points) > STRAIGHT:
        return
    begin, end = edge.points[0], edge.points[-1]
    middle = LineString(edge.points).interpolate(0.5, normalized=True).buffer(SHOWS)
    flap = _part(card & _beyond(edge), middle)
    under = _part(card & _beside(edge, edge.allowance, past=_past(edge, piece)), middle)
    for other in piece.beside(edge):
        if other.corner is not Corner.TURNED or not max(other.allowance) or edge.facing:
            continue  # of a facing with a hem beside it, all that it lies on is turned up with it
        folded_away = _beyond(other)
        under -= folded_away
        if other.facing:
            flap -= folded_away
            under -= _folded(folded_away, begin, end)
    lies = _folded(flap, begin, end)
    for off, problem in (
        (lies - card, "reaches {:.1f} mm past the piece at its ends: trim it there"),
        (under - lies, "leaves {:.1f} mm of the piece bare at its ends: cut it wider there"),
    ):
        wide = 2.0 * max((_thick(part) for part in shapely.get_parts(off)), default=0.0)
        if wide > SHOWS:
            yield f"folded over, the allowance of '{edge.name}' {problem.format(wide)}"


def _folded(region: Polygon, begin: FloatArray, end: FloatArray) -> Polygon:
    """Return where a region lies, folded over along a line."""
    return Polygon(mirrored(shapely.get_coordinates(region.exterior), begin, end))


def card_of(piece: Piece) -> Polygon | None:
    """Return a piece with its allowances; None where it can't be made, as is told where it is."""
    try:
        return Polygon(cutting_line(borders(piece.edges, piece.fold))).buffer(0.0)
    except ValueError:
        return None


def _past(edge: Edge, piece: Piece) -> tuple[float, float]:
    """Return how far in mm past its start and its end an edge may lie on the piece, folded over.

    Not at all where the edge beside it goes on nearly as it does: a vent ends there.
    """
    before, after = piece.beside(edge)
    along = unit(edge.points[-1] - edge.points[0])
    goes_on = [unit(line[1] - line[0]) @ along > _ON for line in (before.points[-2:], after.points)]
    return (0.0 if goes_on[0] else _FAR, 0.0 if goes_on[1] else _FAR)


def _beyond(edge: Edge) -> Polygon:
    """Return all that lies outside of an edge and its continuation."""
    return _beside(edge, (-_FAR, -_FAR), past=(_FAR, _FAR))


def _beside(edge: Edge, wide: tuple[float, float], *, past: tuple[float, float]) -> Polygon:
    """Return what lies inside of an edge, as wide in mm as at its two ends, and past these."""
    begin, end = edge.points[0], edge.points[-1]
    along = unit(end - begin)
    steps = np.array([-past[0], 0.0, float(np.hypot(*(end - begin))), 0.0])
    steps[3] = steps[2] + past[1]
    near = begin + steps[:, None] * along
    far = near + np.repeat(wide, 2)[:, None] * np.array([-along[1], along[0]])
    return Polygon(np.vstack([near, far[::-1]])).buffer(0.0)


def _part(region: BaseGeometry, middle: Polygon) -> Polygon:
    """Return the part of a region that lies at the middle of the edge."""
    parts = [part for part in shapely.get_parts(region) if part.intersects(middle)]
    return max(parts, key=lambda part: part.area) if parts else Polygon()


def _thick(part: BaseGeometry) -> float:
    """Return the radius in mm of the largest circle within a part."""
    return float(shapely.maximum_inscribed_circle(part, 0.01).length) if part.area > SHOWS else 0.0
