"""Whether a piece is the same turned over, with its allowances and marks, so that it has no hand.

The figures are common practice: marks and edges nearer than that are sewn as one.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import isfinite

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LinearRing, Point, Polygon
from shapely.geometry.base import BaseGeometry

from plotout.geometry.nearest import nearest
from plotout.geometry.offset import cutting_line
from plotout.geometry.polyline import point_at
from plotout.geometry.region import line_shapes
from plotout.geometry.strokes import FloatArray
from plotout.pattern.borders import borders
from plotout.pattern.model import Piece

CUT = 1.0  # mm by which the cutting line of a piece without a hand may differ, turned over
ASKED = 2.0  # mm: by which it must differ for its hand to be asked about
_MARK = 3.0  # mm by which its marks may lie elsewhere
_BETWEEN = np.arange(5)[:, None, None] / 5.0  # where along a side it is measured, as shares of it
_MIRRORS = ([-1.0, 1.0], [1.0, -1.0])  # turned over sideways, and head to foot

_FIRST = 100
"""Marks that are turned over before all others: most tell that a piece has a hand."""
_LIKELY = 4
"""Marks that each is first compared with, turned over."""

Kind = tuple[object, ...]
Turned = Callable[[FloatArray], FloatArray]


def has_no_hand(piece: Piece, off: float = CUT, outline: FloatArray | None = None) -> bool:
    """Return whether an upright piece is the same turned over on the same grain.

    off: mm by which its cutting line may differ. outline: its cutting line, closed, (n, 2), mm, if
    that is known. Its notches, drill holes, lines and areas count.
    """
    outline = _cut(piece) if outline is None else outline
    centre = np.array(Polygon(outline).centroid.coords[0])
    marks: dict[Kind, NDArray[np.object_]] = {}
    for mirror in _MIRRORS[:1] if piece.one_way else _MIRRORS:

        def over(points: FloatArray, by: Sequence[float] = mirror) -> FloatArray:
            return np.asarray((points - centre) * by + centre)

        if _comes_onto_itself(outline, over, off):
            marks = marks or _marks(piece)
            if all(_alike(shapes, over, max(off, _MARK)) for shapes in marks.values()):
                return True
    return False


def may_have_no_hand(piece: Piece, off: float = CUT) -> bool:
    """Return whether an upright piece may be the same turned over, as far as its pricks show.

    off: mm by which it may differ if it is drawn.
    """
    known_to = max(edge.known_to for edge in piece.edges)
    return not isfinite(known_to) or has_no_hand(piece, off + known_to)


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


def _marks(piece: Piece) -> dict[Kind, NDArray[np.object_]]:
    """Return where marks of every kind are on the piece. The stitching line is the first."""
    found: dict[Kind, list[BaseGeometry]] = {("stitching",): [LinearRing(piece.outline)]}
    for notch in piece.notches:
        points = piece.edge(notch.edge).points
        kind = ("notch", notch.count, notch.style.kind)
        found.setdefault(kind, []).append(Point(point_at(points, notch.along)))
    for drill in piece.drills:
        found.setdefault(("drill", drill.size), []).append(Point(drill.at))
    lines = line_shapes([line.points for line in piece.lines]).tolist()
    for line, shape in zip(piece.lines, lines, strict=True):
        found.setdefault(("line", line.kind), []).append(shape)
    for area in piece.areas:
        found.setdefault(("area", area.name), []).append(LinearRing(area.points))
    return {kind: np.array(shapes) for kind, shapes in found.items()}


def _alike(shapes: NDArray[np.object_], over: Turned, within: float) -> bool:
    """Return whether every mark of a kind, turned over, comes onto one of them, within some mm."""
    first = shapes[:_FIRST]
    return all(_all_come(some, shapes, over, within) for some in (first, shapes[_FIRST:]))


def _all_come(
    some: NDArray[np.object_], shapes: NDArray[np.object_], over: Turned, off: float
) -> bool:
    """Return whether each of some marks, turned over, comes onto one of the shapes, within `off`.

    Those whose boxes lie most alike are tried first; all others only where these are crowded.
    """
    turned = shapely.transform(some, over)
    own, boxes = _boxes(turned), _boxes(shapes)
    within = float(np.nextafter(off, np.inf))  # what is just as far comes onto it
    near = nearest(own, boxes, _LIKELY, independent=True, within=within)
    for mark, box, likely in zip(turned, own, near, strict=True):
        if any(_same(mark, shapes[number], off) for number in likely if number >= 0):
            continue
        if likely[-1] < 0:
            return False
        others = np.flatnonzero(np.abs(boxes - box).max(axis=1) <= off)
        if not any(_same(mark, shapes[number], off) for number in np.setdiff1d(others, likely)):
            return False
    return True


def _boxes(shapes: NDArray[np.object_]) -> FloatArray:
    """Return the middles of shapes and half their extents, (n, 4): lines from one place differ in
    these, and so do lines about one place.
    """
    low, high = np.moveaxis(shapely.bounds(shapes).reshape(-1, 2, 2), 1, 0)
    return np.hstack([low + high, high - low]) / 2.0


def _same(one: BaseGeometry, other: BaseGeometry, off: float) -> bool:
    """Return whether each of two shapes has its vertices near the other, within `off` mm."""
    return all(
        _all_near(shapely.get_coordinates(here), there, off)
        for here, there in ((one, other), (other, one))
    )
