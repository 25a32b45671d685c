"""Lines and fair curves through pricked points.

A straight is the total least squares line. A curve is a smoothing spline of x and y over the
distance along it, as smooth as the points' own scatter asks for (see smoothing).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely

from plotout.geometry.polyline import distances, unit, without_repeats
from plotout.geometry.smoothing import Condition, Spline, smoothed
from plotout.geometry.strokes import FloatArray

FEWEST_PRICKS = 5  # points that a smoothing spline needs
SAMPLE = 0.5  # mm between points of a curve before those that it doesn't need are left out
FLAT = 0.005  # mm that a flattened curve may lie off
MOST_ORDERED = 120
END_DOUBT = 2.5  # how much less sure a curve is beyond its end than between its points
NEIGHBOURS = 8  # on either side of a point, whose curve tells whether it strays
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


@dataclass(frozen=True, slots=True, eq=False)
class End:
    """How a curve's end meets a straight line: square to it, or else going over into it."""

    line: Line
    square: bool


def fit_curve(
    points: FloatArray, *, closed: bool = False, start: End | None = None, end: End | None = None
) -> FloatArray:
    """Return a fair curve through (n, 2) points in their order, flattened, (m, 2), mm.

    closed: the curve comes back to its start. start, end: how its ends meet their lines, exactly:
    a neck curve is square to the centre line, so that it has no peak or dip when it is mirrored.
    """
    at, spline = distances(np.vstack([points, points[:1]]) if closed else points), None
    for _ in range(3):  # each time over the distance along a fairer curve
        spline = smoothed(at, points, closed=closed, conditions=_conditions(at, points, start, end))
        again = _along(spline, at)
        if not (np.diff(again) > 0.0).all():
            break
        at = again
    assert spline is not None
    first, last = spline.ends
    dense = spline(np.linspace(first, last, max(int((last - first) / SAMPLE), 16) + 1))
    if closed:
        dense[-1] = dense[0]
    if start is not None:
        dense[0] = start.line.foot(dense[0])
    if end is not None:
        dense[-1] = end.line.foot(dense[-1])
    flat = shapely.simplify(shapely.LineString(without_repeats(dense)), FLAT)
    return np.asarray(shapely.get_coordinates(flat))


def _along(spline: Spline, at: FloatArray) -> FloatArray:
    """Distances along the curve between its places at `at`."""
    fine = np.linspace(at[0], at[-1], 8 * len(at) + 1)
    return np.asarray(np.interp(at, fine, distances(spline(fine))))


def _conditions(
    at: FloatArray, points: FloatArray, start: End | None, end: End | None
) -> list[Condition]:
    """What the ends' lines demand, each at the place where the curve comes to its line."""
    made = []
    for condition, nth, way in ((start, 0, -1.0), (end, -1, 1.0)):
        if condition is None:
            continue
        line = condition.line
        place = float(at[nth])
        if condition.square:  # run on to the line, or back to it where the pricks cross it
            inside = np.sign(np.median(line.offsets(points)))
            place += way * float(line.offsets(points[nth : nth + 1 or None])[0] * inside)
        flat = line.along if condition.square else line.normal
        made.append(Condition(place, line.normal, float(line.at @ line.normal), flat))
    return made


def strays(
    points: FloatArray, fit: Callable[[FloatArray], FloatArray], *, closed: bool = False
) -> dict[int, float]:
    """Return the index of each point that doesn't belong, and how far off it lies, mm.

    fit: gives an open polyline from points. A point is left out when it lies further from the curve
    through the others than STRAY_FACTOR standard deviations and STRAY_FLOOR; the worst first.
    """
    kept = list(range(len(points)))
    found: dict[int, float] = {}
    if not _may_stray(points):
        return found
    gaps = _gaps(points, kept, fit, closed=closed)
    while len(kept) > FEWEST_PRICKS + 1 and len(found) < len(points) // 4:
        worst = int(gaps.argmax())
        if gaps[worst] <= STRAY_FLOOR:
            break
        fewer = kept[:worst] + kept[worst + 1 :]
        # the scatter of the others is measured without it: a stray spoils its neighbours' gaps too
        without = _gaps(points, fewer, fit, closed=closed)
        if gaps[worst] <= STRAY_FACTOR * 1.4826 * float(np.median(without)):
            break
        at_end = not closed and worst in (0, len(kept) - 1)
        found[kept[worst]] = float(gaps[worst]) * (END_DOUBT if at_end else 1.0)
        kept, gaps = fewer, without
    return found


def _gaps(
    points: FloatArray, kept: list[int], fit: Callable[[FloatArray], FloatArray], *, closed: bool
) -> FloatArray:
    return np.array([_gap(points, kept, nth, fit, closed=closed) for nth in range(len(kept))])


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
    points: FloatArray,
    kept: list[int],
    nth: int,
    fit: Callable[[FloatArray], FloatArray],
    *,
    closed: bool,
) -> float:
    """How far a point lies from the curve through the others.

    At an end it is run on by its mirror image, bent as it is there, and trusted less.
    """
    before, after = kept[max(nth - NEIGHBOURS, 0) : nth], kept[nth + 1 : nth + 1 + NEIGHBOURS]
    if closed:
        reach = min(NEIGHBOURS, (len(kept) - 1) // 2)
        before = [kept[nth - k] for k in range(reach, 0, -1)]
        after = [kept[(nth + k) % len(kept)] for k in range(1, reach + 1)]
    near = before + after
    others = points[near]
    curve = fit(others)
    first, last = Line(curve[0], curve[1] - curve[0]), Line(curve[-1], curve[-1] - curve[-2])
    before_it = Line(first.at, unit(first.normal)).mirrored(curve)[:0:-1]
    after_it = Line(last.at, unit(last.normal)).mirrored(curve)[-2::-1]
    longer = shapely.LineString(np.vstack([before_it, curve, after_it]))
    gap = float(shapely.distance(longer, shapely.Point(points[kept[nth]])))
    at_end = not closed and nth in (0, len(kept) - 1)
    return gap / END_DOUBT if at_end else gap


def in_order(points: FloatArray) -> list[int]:
    """Return the indices of (n, 2) points in the order in which they follow one another.

    The given order is kept unless turning a stretch of it round, or moving one point, makes the
    way clearly shorter; and for more than MOST_ORDERED points.
    """
    order = list(range(len(points)))
    steps = np.hypot(*np.diff(points, axis=0).T)
    if len(order) > MOST_ORDERED or steps.max() < 1.5 * np.median(steps):
        return order
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
