"""Light hatching of an area with parallel lines."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from plotout.geometry.region import lines_in
from plotout.geometry.strokes import FloatArray


def hatched(area: BaseGeometry, spacing: float, angle: float = 45.0) -> list[FloatArray]:
    """Return lines `spacing` mm apart, at `angle` degrees, within `area`; each (2, 2), mm.

    The lines of all areas lie on one grid through 0, 0, so that neighbours match.
    """
    if area.is_empty:
        return []
    low_x, low_y, high_x, high_y = area.bounds
    direction = np.array([np.cos(np.radians(angle)), np.sin(np.radians(angle))])
    across = np.array([-direction[1], direction[0]])
    corners = np.array([[low_x, low_y], [high_x, low_y], [high_x, high_y], [low_x, high_y]])
    far, height = corners @ direction, corners @ across
    rows = np.arange(np.ceil(height.min() / spacing), np.floor(height.max() / spacing) + 1)
    full = [
        LineString([direction * far.min() + across * y, direction * far.max() + across * y])
        for y in rows * spacing
    ]
    found: list[FloatArray] = []
    for line in shapely.intersection(full, area):
        found += [np.asarray(part.coords) for part in lines_in(line) if part.length > 1.0]
    return found
