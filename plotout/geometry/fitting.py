"""Lines and fair curves through pricked points.

A straight is the total least squares line. A curve is a smoothing spline of x and y over the
distance along it, with the smoothing that generalised cross-validation finds in the points' own
scatter (Craven and Wahba 1979; scipy.interpolate.make_smoothing_spline).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.interpolate import make_smoothing_spline

from plotout.geometry.polyline import distances, unit, without_repeats
from plotout.geometry.strokes import FloatArray

FEWEST_PRICKS = 5  # points that a smoothing spline needs
SAMPLE = 0.5  # mm between points of a curve before those that it doesn't need are left out
FLAT = 0.005  # mm that a flattened curve may lie off
STRAY_FLOOR = 1.0  # mm: pricking is no truer than this (common practice)
STRAY_FACTOR = 6.0  # standard deviations, by the median of absolute deviations


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """A straight line: a point on it and its unit direction, each (2,)."""

    at: FloatArray
    along: FloatArray

    @property
    def normal(self) -> FloatArray:
        """Unit vector to the left of the direction."""
        return np.array([-self.along[1], self.along[0]])

    def offsets(self, points: FloatArray) -> FloatArray:
        """Return the signed distance of each point, (n,), mm; left is positive."""
        return np.asarray((points - self.at) @ self.normal)

    def foot(self, point: FloatArray) -> FloatArray:
        """Return the nearest point on the line."""
        return np.asarray(self.at + self.along * ((point - self.at) @ self.along))

    def mirrored(self, points: FloatArray) -> FloatArray:
        """Return the points reflected in the line, (n, 2)."""
        return np.asarray(points - 2.0 * np.outer(self.offsets(points), self.normal))


def fit_line(points: FloatArray) -> Line:
    """Return the total least squares line through (n, 2) points, n >= 2, along their order."""
    centre = points.mean(axis=0)
    _, _, axes = np.linalg.svd(points - centre, full_matrices=False)
    along = unit(axes[0])
    if (points[-1] - points[0]) @ along < 0:
        along = -along
    return Line(centre, along)


def crossing(first: Line, second: Line) -> FloatArray | None:
    """Return where two lines cross, (2,); None within half a degree of parallel."""
    matrix = np.column_stack([first.along, -second.along])
    if abs(np.linalg.det(matrix)) < np.sin(np.radians(0.5)):
        return None
    return np.asarray(first.at + first.along * np.linalg.solve(matrix, second.at - first.at)[0])


def fit_curve(
    points: FloatArray, *, closed: bool = False, start: Line | None = None, end: Line | None = None
) -> FloatArray:
    """Return a fair curve through (n, 2) points in their order, flattened, (m, 2), mm.

    closed: the curve comes back to its start. start, end: lines that the curve meets square, as a
    neck curve does the centre line: it is fitted as one with its mirror image.
    """
    count = len(points)
    if closed:
        lead = min(count, 8)
        data = np.vstack([points[-lead:], points, points[:lead]])
        before, after = lead, lead
    else:
        data, before, after = _with_mirror_images(points, start, end)
    spline, at = _spline(data)
    first, last = _ends(at, before, after, count, start, end, closed)
    dense = np.linspace(first, last, max(int((last - first) / SAMPLE), 16) + 1)
    curve = spline(dense)
    if closed:
        curve = np.vstack([curve[:-1], curve[:1]])
    if start is not None:
        curve[0] = start.foot(curve[0])
    if end is not None:
        curve[-1] = end.foot(curve[-1])
    flat = shapely.simplify(shapely.LineString(without_repeats(curve)), FLAT)
    return np.asarray(shapely.get_coordinates(flat))


def _with_mirror_images(
    points: FloatArray, start: Line | None, end: Line | None
) -> tuple[FloatArray, int, int]:
    """Put the mirror image before the start and after the end where a line is given.

    A prick that lies on the line is its own image, and is not doubled.
    """
    parts, before, after = [points], 0, 0
    if start is not None:
        own = points[1:] if abs(start.offsets(points[:1])[0]) < SAMPLE else points
        image = start.mirrored(own)[::-1]
        parts, before = [image, *parts], len(image)
    if end is not None:
        own = points[:-1] if abs(end.offsets(points[-1:])[0]) < SAMPLE else points
        image = end.mirrored(own)[::-1]
        parts, after = [*parts, image], len(image)
    return np.vstack(parts), before, after


def _spline(data: FloatArray) -> tuple[Callable[[FloatArray], FloatArray], FloatArray]:
    """Fit x and y over the distance along; once more over the distance along the first fit."""
    at = distances(data)
    for _ in range(2):
        across = make_smoothing_spline(at, data[:, 0])
        along = make_smoothing_spline(at, data[:, 1])
        fitted = np.column_stack([across(at), along(at)])
        at = np.maximum.accumulate(distances(fitted)) + np.arange(len(at)) * 1e-9
    across = make_smoothing_spline(at, data[:, 0])
    along = make_smoothing_spline(at, data[:, 1])
    return lambda t: np.column_stack([across(t), along(t)]), at


def _ends(
    at: FloatArray,
    before: int,
    after: int,
    count: int,
    start: Line | None,
    end: Line | None,
    closed: bool,
) -> tuple[float, float]:
    """Where along the fitted curve it begins and ends: at a mirror, half way between images."""
    first, last = float(at[before]), float(at[before + count - 1])
    if closed:
        return first, float(at[before + count])
    if start is not None:
        doubled = 2 * before >= 2 * count  # every point has an image: the mirror lies between two
        first = float((at[before - 1] + at[before]) / 2) if doubled else first
    if end is not None:
        doubled = 2 * after >= 2 * count
        last = float((at[before + count - 1] + at[before + count]) / 2) if doubled else last
    return first, last


def strays(points: FloatArray, fit: Callable[[FloatArray], FloatArray]) -> dict[int, float]:
    """Return the index of each point that doesn't belong, and how far off it lies, mm.

    fit: gives a polyline from points. A point is left out when it lies further from the curve
    through the others than STRAY_FACTOR standard deviations and STRAY_FLOOR; the worst first.
    """
    kept = list(range(len(points)))
    found: dict[int, float] = {}
    if not _may_stray(points):
        return found
    while len(kept) > FEWEST_PRICKS + 1 and len(found) < len(points) // 4:
        gaps = np.array([_gap(points, kept, nth, fit) for nth in range(len(kept))])
        scale = 1.4826 * float(np.median(gaps))
        worst = int(gaps.argmax())
        if gaps[worst] <= max(STRAY_FACTOR * scale, STRAY_FLOOR):
            break
        found[kept.pop(worst)] = float(gaps[worst])
    return found


def _may_stray(points: FloatArray) -> bool:
    """A quick look: does any point lie off the cubic through its four neighbours?"""
    if len(points) < FEWEST_PRICKS + 2:
        return len(points) > FEWEST_PRICKS
    middle = (4 * (points[1:-3] + points[3:-1]) - points[:-4] - points[4:]) / 6
    inner = np.abs(np.hypot(*(points[2:-2] - middle).T)).max()
    ends = np.hypot(*np.diff(points[[0, 1, 2, -3, -2, -1]], 3, axis=0)[[0, -1]].T).max()
    spacing = np.hypot(*np.diff(points, axis=0).T)
    uneven = spacing.max() > 1.8 * np.median(spacing)
    return bool(uneven or inner > STRAY_FLOOR or ends > 4 * STRAY_FLOOR)


def _gap(
    points: FloatArray, kept: list[int], nth: int, fit: Callable[[FloatArray], FloatArray]
) -> float:
    """How far a point lies from the curve through the others; at an end, from its tangent."""
    others = points[kept[:nth] + kept[nth + 1 :]]
    curve = fit(others)
    reach = 2.0 * float(np.hypot(*np.diff(others[[0, 1, -2, -1]], axis=0).T).max())
    longer = np.vstack([curve[0] - unit(curve[1] - curve[0]) * reach, curve,
                        curve[-1] + unit(curve[-1] - curve[-2]) * reach])  # fmt: skip
    return float(shapely.distance(shapely.LineString(longer), shapely.Point(points[kept[nth]])))


def in_order(points: FloatArray) -> list[int]:
    """Return the indices of (n, 2) points in the order in which they follow one another.

    The given order is kept unless turning a stretch of it round, or moving one point, makes the
    way clearly shorter.
    """
    order = list(range(len(points)))
    gaps = np.hypot(*(points[:, None, :] - points[None, :, :]).transpose(2, 0, 1))

    def way(path: list[int]) -> float:
        return float(gaps[path[:-1], path[1:]].sum())

    best = way(order)
    improved = True
    while improved:
        improved = False
        for candidate in _neighbours(order):
            shorter = way(candidate)
            if shorter < best * (1.0 - 1e-3) - 0.5:
                order, best, improved = candidate, shorter, True
                break
    return order


def _neighbours(order: list[int]) -> list[list[int]]:
    count = len(order)
    moved = [
        [*rest[:to], order[nth], *rest[to:]]
        for nth in range(count)
        for rest in [order[:nth] + order[nth + 1 :]]
        for to in range(count)
    ]
    turned = [
        order[:a] + order[a:b][::-1] + order[b:]
        for a in range(count - 1)
        for b in range(a + 2, count + 1)
    ]
    return moved + turned
