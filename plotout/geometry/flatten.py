"""Curves as polylines that lie within a stated distance of them.

A chord over a step h of the parameter lies within h^2 / 8 times the greatest second derivative
of its curve (the error of linear interpolation), so the number of steps is known beforehand.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from plotout.geometry.strokes import FloatArray

FLATNESS = 0.004  # mm: under half of the finest step of a shipped machine, so arcs can be found
MOST_STEPS = 20_000
DENSE = 5_000  # points of a piece from which on they lie closer than any machine can show


def bezier_points(control: FloatArray, tolerance: float = FLATNESS) -> FloatArray:
    """Return a Bezier curve of degree 1 to 3 as points, (n, 2), its ends exact.

    control: (2 to 4, 2), mm.
    """
    degree = len(control) - 1
    bend = 0.0
    if degree > 1:
        second = degree * (degree - 1) * np.diff(control, 2, axis=0)
        bend = float(np.hypot(*second.T).max())
    t = np.linspace(0.0, 1.0, _steps(bend, tolerance) + 1)[:, None]
    points = np.repeat(control[None], len(t), axis=0)
    for _ in range(degree):  # de Casteljau, all parameters at once
        points = points[:, :-1] * (1.0 - t[:, None]) + points[:, 1:] * t[:, None]
    points = points[:, 0]
    points[0], points[-1] = control[0], control[-1]
    return np.asarray(points)


def ellipse_points(
    centre: FloatArray,
    first: FloatArray,
    second: FloatArray,
    start: float = 0.0,
    sweep: float = 360.0,
    tolerance: float = FLATNESS,
) -> FloatArray:
    """Return centre + first cos t + second sin t as points, (n, 2), mm.

    first, second: (2,), conjugate half axes. start, sweep: of t, in degrees. A full turn ends
    exactly where it begins.
    """
    turn = np.radians(abs(sweep))
    bend = float(np.hypot(np.hypot(*first), np.hypot(*second))) * turn**2
    steps = -4 * (-_steps(bend, tolerance) // 4)  # so that a circle has its four outermost points
    t = np.radians(start + sweep * np.linspace(0.0, 1.0, steps + 1))
    points = centre + np.outer(np.cos(t), first) + np.outer(np.sin(t), second)
    if abs(sweep) == 360.0:
        points[-1] = points[0]
    return np.asarray(points)


def _steps(bend: float, tolerance: float) -> int:
    """Return how many even steps keep chords within tolerance. bend: greatest second derivative."""
    return int(np.clip(np.ceil(np.sqrt(bend / (8.0 * tolerance))), 1, MOST_STEPS))


def thinned(lines: Sequence[FloatArray], tolerance: float = FLATNESS) -> list[FloatArray]:
    """Return lines, each (n, 2), mm, with fewer points if they have very many; their ends stay.

    As with a curve's points, no line lies further off than `tolerance`. One that doesn't cross
    itself still doesn't.
    """
    if sum(map(len, lines)) < DENSE:
        return list(lines)
    return [
        shapely.get_coordinates(shapely.simplify(shapely.LineString(points), tolerance))
        if len(points) > 2 and np.isfinite(points).all()
        else points
        for points in lines
    ]
