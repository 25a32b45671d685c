"""Whether a piece is the same turned over, with its allowances and marks, so that it has no hand.

The figures are common practice: marks and edges nearer than that are sewn as one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np
import shapely
from shapely import LinearRing, LineString, Point, Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from plotout.geometry.offset import cutting_line
from plotout.geometry.polyline import point_at
from plotout.geometry.strokes import FloatArray
from plotout.pattern.borders import borders
from plotout.pattern.model import Piece

CUT = 1.0  # mm by which the cutting line of a piece without a hand may differ, turned over
ASKED = 2.0  # mm: by which it must differ for its hand to be asked about
_MARK = 3.0  # mm by which its marks may lie elsewhere
_BETWEEN = np.arange(5)[:, None, None] / 5.0  # where along a side it is measured, as shares of it
_MIRRORS = ([-1.0, 1.0], [1.0, -1.0])  # turned over sideways, and head to foot

Marked = tuple[tuple[object, ...], BaseGeometry]
Turned = Callable[[FloatArray], FloatArray]


def has_no_hand(piece: Piece, off: float = CUT, outline: FloatArray | None = None) -> bool:
    """Return whether an upright piece is the same turned over on the same grain.

    off: mm by which its cutting line may differ. outline: its cutting line, closed, (n, 2), mm, if
    that is known. Its notches, drill holes, lines and areas count.
    """
    outline = _cut(piece) if outline is None else outline
    centre = np.array(Polygon(outline).centroid.coords[0])
    marks: list[Marked] = []
    for mirror in _MIRRORS[:1] if piece.one_way else _MIRRORS:

        def over(points: FloatArray, by: Sequence[float] = mirror) -> FloatArray:
            return np.asarray((points - centre) * by + centre)

        if _comes_onto_itself(outline, over, off):
            marks = marks or list(_marks(piece))
            if _alike(marks, over):
                return True
    return False


def _comes_onto_itself(ring: FloatArray, over: Turned, off: float) -> bool:
    """Return whether no place on a closed line, turned over, is more than `off` mm from it.

    Turning it over twice leaves it as it was, so that the line is no further from those places.
    """
    turned = over(ring)
    ends = np.abs([turned.min(axis=0) - ring.min(axis=0), turned.max(axis=0) - ring.max(axis=0)])
    if ends.max() > off:
        return False
    places = (turned[:-1] + _BETWEEN * np.diff(turned, axis=0)).reshape(-1, 2)
    return _all_near(places, LinearRing(ring), off)


def _all_near(places: FloatArray, shape: BaseGeometry, off: float) -> bool:
    """Return whether all places, (n, 2), lie within `off` mm of a shape, looking them up in it."""
    shapely.prepare(shape)
    return bool(shapely.dwithin(shape, shapely.points(places), off).all())


def _cut(piece: Piece) -> FloatArray:
    """Return the piece's cutting line, or its stitching line where it can have none."""
    try:
        return cutting_line(borders(piece.edges, piece.fold))
    except ValueError:
        return piece.outline


def _marks(piece: Piece) -> Iterator[Marked]:
    """Yield what marks the piece: its kind and where it is. The stitching line is the first."""
    yield ("stitching",), LinearRing(piece.outline)
    for notch in piece.notches:
        points = piece.edge(notch.edge).points
        yield ("notch", notch.count, notch.style.kind), Point(point_at(points, notch.along))
    for drill in piece.drills:
        yield ("drill", drill.size), Point(drill.at)
    for line in piece.lines:
        yield ("line", line.kind), LineString(line.points)
    for area in piece.areas:
        yield ("area", area.name), LinearRing(area.points)


def _alike(marks: Sequence[Marked], over: Turned) -> bool:
    """Return whether every mark, turned over, comes onto one of its kind."""
    shapes = np.array([shape for _, shape in marks])
    turned = shapely.transform(shapes, over)
    own, boxes = shapely.bounds(turned), shapely.bounds(shapes)
    low, high = own[:, :2] - _MARK, own[:, :2] + _MARK
    near = STRtree(shapely.points(boxes[:, :2])).query(shapely.box(*low.T, *high.T))
    fits = np.abs(own[near[0]] - boxes[near[1]]).max(axis=1) <= _MARK
    found: set[int] = set()
    for number, other in near[:, fits].T.tolist():
        of_its_kind = number not in found and marks[number][0] == marks[other][0]
        if of_its_kind and _same(turned[number], shapes[other]):
            found.add(number)
    return len(found) == len(marks)


def _same(one: BaseGeometry, other: BaseGeometry) -> bool:
    """Return whether each of two shapes has its vertices near the other."""
    return all(
        _all_near(shapely.get_coordinates(here), there, _MARK)
        for here, there in ((one, other), (other, one))
    )
