"""Whether a piece is the same turned over, with its allowances and marks, so that it has no hand.

The figures are common practice: marks and edges nearer than that are sewn as one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np
import shapely
from shapely import LinearRing, LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from plotout.geometry.offset import cutting_line
from plotout.geometry.polyline import point_at
from plotout.geometry.strokes import FloatArray
from plotout.pattern.borders import borders
from plotout.pattern.model import Piece

CUT = 1.0  # mm by which the cutting line of a piece without a hand may differ, turned over
ASKED = 2.0  # mm: by which it must differ for its hand to be asked about
_MARK = 3.0  # mm by which its marks may lie elsewhere
_MIRRORS = ([-1.0, 1.0], [1.0, -1.0])  # turned over sideways, and head to foot

Marked = tuple[tuple[object, ...], BaseGeometry]


def has_no_hand(piece: Piece, off: float = CUT) -> bool:
    """Return whether an upright piece is the same turned over on the same grain.

    off: mm by which its cutting line may differ. Its notches, drill holes, lines and areas count.
    """
    outline = _cut(piece)
    own, marks = LinearRing(outline), list(_marks(piece))
    centre = np.array(Polygon(outline).centroid.coords[0])
    for mirror in _MIRRORS[:1] if piece.one_way else _MIRRORS:

        def over(points: FloatArray, by: Sequence[float] = mirror) -> FloatArray:
            return np.asarray((points - centre) * by + centre)

        far = shapely.hausdorff_distance(own, shapely.transform(own, over), 0.2)
        if far <= off and _alike(marks, over):
            return True
    return False


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


def _alike(marks: Sequence[Marked], over: Callable[[FloatArray], FloatArray]) -> bool:
    """Return whether every mark, turned over, comes onto one of its kind."""
    turned = [(kind, shapely.transform(shape, over)) for kind, shape in marks]
    return all(
        any(
            other == kind and shapely.hausdorff_distance(shape, there) <= _MARK
            for other, there in marks
        )
        for kind, shape in turned
    )
