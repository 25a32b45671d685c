"""A stroke being ordered: its points, and the strokes of the input that it stands for."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from plotout.geometry.polyline import goes_somewhere
from plotout.geometry.strokes import FloatArray, Stroke


@dataclass(frozen=True, slots=True, eq=False)
class RouteLine:
    """A stroke with the indices of the input strokes from which it came."""

    stroke: Stroke
    sources: tuple[int, ...]

    @property
    def points(self) -> FloatArray:
        """The stroke's points, (n, 2), mm."""
        return self.stroke.points

    @property
    def long(self) -> bool:
        """False for a dot: a single point, or points all in one place."""
        return goes_somewhere(self.points)

    def along(self, points: FloatArray) -> RouteLine:
        """Return the same work along other points."""
        return RouteLine(self.stroke.along(points), self.sources)

    def also(self, sources: tuple[int, ...]) -> RouteLine:
        """Return the line with further sources in the input."""
        return RouteLine(self.stroke, tuple(dict.fromkeys(self.sources + sources)))


def laid_together(parts: list[FloatArray], tolerance: float) -> FloatArray:
    """Return polylines joined end to end; closed exactly if the ends are within `tolerance`."""
    whole = [parts[0]]
    for part in parts[1:]:
        same = bool(np.abs(part[0] - whole[-1][-1]).max() < 1e-9)
        whole.append(part[1:] if same else part)
    points = np.vstack(whole)
    gap = float(np.hypot(*(points[-1] - points[0])))
    if len(points) > 3 and 0.0 < gap <= tolerance:
        if gap < 1e-9:
            points[-1] = points[0]
        else:
            points = np.vstack([points, points[:1]])
    return points
