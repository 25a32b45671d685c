"""Grade points on cards: each where it lies on the cutting line, with the number of its growth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from shapely.geometry import LineString, Point

from plotout.geometry.polyline import turns, unit
from plotout.geometry.strokes import FloatArray
from plotout.model import GradeMark
from plotout.pattern.model import Graded

_CORNER = 5.0  # degrees: the cutting line turns by more where it goes round a corner
_SAME = 0.005  # mm: growths that differ by less are one rule


def on_cutting_line(points: Sequence[Graded], outline: FloatArray) -> tuple[Graded, ...]:
    """Return grade points of the stitching line moved out to the cutting line (closed, (n, 2)).

    A corner goes to the nearest corner, a point within an edge to the nearest place.
    """
    corners = outline[:-1][turns(outline) > _CORNER]
    line = LineString(outline)

    def moved(point: Graded) -> Graded:
        if point.within or not len(corners):
            at = line.interpolate(line.project(Point(point.at)))
            return replace(point, at=np.array([at.x, at.y]))
        return replace(point, at=corners[np.hypot(*(corners - point.at).T).argmin()])

    return tuple(map(moved, points))


class RuleNumbers:
    """The numbers of a set's growths, from 1, in the order in which they are first met."""

    def __init__(self) -> None:
        self._known: dict[bytes, int] = {}

    def marks(self, points: Sequence[Graded], grain: FloatArray | None) -> tuple[GradeMark, ...]:
        """Return a card's grade marks. grain: (2, 2), its grade reference line; None: upright.

        Two points have one number if they grow alike in every size, along their reference lines.
        """
        up = np.array([0.0, 1.0]) if grain is None else unit(grain[1] - grain[0])
        turn = np.array([[up[1], -up[0]], up])  # rows: across the reference line, and along it
        found = []
        for point in points:
            growth = np.round(point.growth @ turn.T / _SAME).astype(np.int64)
            number = self._known.setdefault(growth.tobytes(), len(self._known) + 1)
            found.append(GradeMark((float(point.at[0]), float(point.at[1])), number, point.within))
        return tuple(found)
