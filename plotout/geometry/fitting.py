"""Lines and fair curves through pricked points.

A straight is the total least squares line. A curve begins as a smoothing spline of x and y over
the distance along it, as smooth as the points' scatter suggests (see smoothing); from it the
fairest curve within the scatter is found (see fairing).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from plotout.geometry.evidence import NO_PRICE, Hand, weighed
from plotout.geometry.fairing import Fair, faired
from plotout.geometry.polyline import distances, mirrored, unit, without_repeats
from plotout.geometry.smoothing import Condition, Spline, smoothed
from plotout.geometry.strokes import FloatArray

FEWEST_PRICKS = 5  # points that a smoothing spline needs
SAMPLE = 0.5  # mm between points of a curve before superfluous ones are dropped
MOST_SAMPLES = 40_000
OVERSHOT = 1.5  # times as long as from point to point is no fair curve through them: it swings out
STIFFER, STIFFEST = 0.7, 3.0  # such a one gets fewer degrees of freedom, by that share, at least so
ASTRAY = (
    2.0  # mm between a fair curve and a prick at most (common practice: nobody pricks so far off)
)
FLAT = 0.005  # mm that a flattened curve may lie off


@dataclass(frozen=True, slots=True, eq=False)
class StraightLine:
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
        return mirrored(points, self.at, self.at + self.along)


def fit_line(points: FloatArray) -> StraightLine:
    """Return the total least squares line through (n, 2) points, n >= 2, along their order."""
    centre = points.mean(axis=0)
    _, _, axes = np.linalg.svd(points - centre, full_matrices=False)
    along = unit(axes[0])
    if (points[-1] - points[0]) @ along < 0:
        along = -along
    return StraightLine(centre, along)


def likely_lines(
    points: FloatArray, count: int, seed: int = 1, hand: Hand | None = None
) -> tuple[FloatArray, FloatArray]:
    """Return straight lines drawn by their likelihood for (n, 2) points, n >= 2.

    A point on each and its unit direction, (count, 2) each. Lines that meet need seeds of their
    own: drawn by one, their errors would be alike and cancel. hand: along other straights.
    """
    line = fit_line(points)
    evidence = weighed(*straight_problem(line, points), [NO_PRICE])
    if hand is not None:
        evidence = evidence.of_like_hand(hand)
    aside, slope = evidence.draws(count, seed).T[..., None]
    along = line.along + line.normal * slope
    return line.at + line.normal * aside, along / np.hypot(*along.T)[:, None]


def straight_problem(line: StraightLine, points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return how points' distances from a line change with it, (n, 2), and the distances, (n,)."""
    along = (points - line.at) @ line.along
    return np.column_stack([np.ones(len(points)), along]), line.offsets(points)


def crossings(
    at: FloatArray, along: FloatArray, other_at: FloatArray, other_along: FloatArray
) -> FloatArray:
    """Return where lines cross others, (m, 2); nan within half a degree of parallel.

    at, along: (m, 2), a point on each and its unit direction.
    """
    matrix = np.stack([along, -other_along], axis=-1)
    met = np.full(at.shape, np.nan)
    cross = np.abs(np.linalg.det(matrix)) >= np.sin(np.radians(0.5))
    reach = np.linalg.solve(matrix[cross], (other_at - at)[cross, :, None])[:, 0]
    met[cross] = at[cross] + along[cross] * reach
    return met


@dataclass(frozen=True, slots=True, eq=False)
class End:
    """How a curve's end meets a straight line: square to it, or else tangent to it.

    at: (2,), where on the line it is still straight; None: at the curve's own outermost point.
    """

    line: StraightLine
    square: bool
    at: FloatArray | None = None


class NoCurveError(Exception):
    """No curve can be reckoned through points, (n, 2), in their order."""

    def __init__(self, points: FloatArray) -> None:
        super().__init__("no curve")
        self.points = points


@dataclass(frozen=True, slots=True, eq=False)
class CurveFit:
    """A fair curve through pricks. points: (m, 2), mm, flattened."""

    points: FloatArray
    _pricks: FloatArray
    _fair: Fair | None
    _turned: bool

    def likely(self, count: int, seed: int = 1, hand: Hand | None = None) -> list[FloatArray]:
        """Return curves, (k, 2) each, at most `count`, drawn by their likelihood for the pricks.

        hand: of whoever pricked them, if it is known from elsewhere.
        """
        if self._fair is None:
            return []
        made = self._fair.likely(self._pricks, count, seed, hand)
        return [curve[::-1] for curve in made] if self._turned else made


def curve_fit(
    points: FloatArray,
    *,
    closed: bool = False,
    start: End | None = None,
    end: End | None = None,
    like: FloatArray | None = None,
) -> CurveFit:
    """Return a fair curve through (n, 2) points in their order, mm, and how certain it is.

    closed: the curve returns to its start. start, end: how its ends exactly meet their lines: a
    neck curve is square to the centre line, so that it has no peak or dip when mirrored. like: a
    curve near them, (k, 2), where they are too few to show one. Raises NoCurveError where the
    points, in this order, are on none.
    """
    if backwards(points):  # so that a seam pricked from its other end is the same seam
        turned = None if like is None else like[::-1]
        other = curve_fit(points[::-1], closed=closed, start=end, end=start, like=turned)
        return CurveFit(other.points[::-1], points[::-1], other._fair, True)
    if like is None:
        dense = smooth_curve(points, closed=closed, start=start, end=end)
    else:
        dense = like.copy()
    first_met, last_met = met(points, start, end)
    fair = faired(points, dense, closed=closed, start=first_met, end=last_met)
    if fair is not None and _furthest(points, fair.points) < _furthest(points, dense) + ASTRAY:
        dense = fair.points
    else:
        fair = None
    if start is not None:
        dense[0] = start.line.foot(dense[0])
    if end is not None:
        dense[-1] = end.line.foot(dense[-1])
    flat = shapely.simplify(shapely.LineString(without_repeats(dense)), FLAT)
    return CurveFit(np.asarray(shapely.get_coordinates(flat)), points, fair, False)


def backwards(points: FloatArray) -> bool:
    """Return whether this is the second of the two orders, by the first steps that differ."""
    steps = np.hypot(*np.diff(points, axis=0).T).tolist()
    return bool(steps > steps[::-1])


@np.errstate(all="ignore")
def smooth_curve(
    points: FloatArray,
    *,
    closed: bool = False,
    start: End | None = None,
    end: End | None = None,
    most_free: float = np.inf,
) -> FloatArray:
    """Return the smoothing spline through (n, 2) points, dense, (m, 2), as fairing's start.

    most_free: the most degrees of freedom of x, and of y. Raises NoCurveError.
    """
    if start is not None and start.at is not None:
        points = np.vstack([start.at, points])
    if end is not None and end.at is not None:
        points = np.vstack([points, end.at])
    at, spline = distances(np.vstack([points, points[:1]]) if closed else points), None
    longest = OVERSHOT * float(at[-1])
    for _ in range(3):  # each time over the distance along a fairer curve
        conditions = [
            condition for condition in _conditions(at, points, start, end) if condition is not None
        ]
        spline = smoothed(at, points, closed=closed, conditions=conditions, most_free=most_free)
        again = _along(spline, at)
        while again[-1] > longest and most_free > STIFFEST:
            most_free = max(STIFFEST, STIFFER * min(most_free, len(points)))
            spline = smoothed(at, points, closed=closed, conditions=conditions, most_free=most_free)
            again = _along(spline, at)
        if again[-1] > longest or not (np.diff(again) > 0.0).all():
            break
        at = again
    assert spline is not None
    first, last = spline.ends
    steps = int(np.clip((last - first) / SAMPLE, 16, MOST_SAMPLES))
    dense = spline(np.linspace(first, last, steps + 1))
    if not np.isfinite(dense).all():  # to and fro over metres: its bends are beyond reckoning
        raise NoCurveError(points)
    if closed:
        dense[-1] = dense[0]
    return dense


def met(
    points: FloatArray, start: End | None, end: End | None
) -> tuple[Condition | None, Condition | None]:
    """Return what a curve through points meets at its ends."""
    first, last = _conditions(np.array([0.0, 1.0]), points, start, end)
    return first, last


def _furthest(points: FloatArray, curve: FloatArray) -> float:
    return float(shapely.distance(shapely.LineString(curve), shapely.points(points)).max())


def _along(spline: Spline, at: FloatArray) -> FloatArray:
    """Return distances along the curve between its places at `at`."""
    fine = np.linspace(at[0], at[-1], 8 * len(at) + 1)
    return np.asarray(np.interp(at, fine, distances(spline(fine))))


def _conditions(
    at: FloatArray, points: FloatArray, start: End | None, end: End | None
) -> list[Condition | None]:
    """Return what the ends' lines require, where the curve meets its line."""
    made: list[Condition | None] = []
    for condition, index, sign in ((start, 0, -1.0), (end, -1, 1.0)):
        if condition is None:
            made.append(None)
            continue
        line = condition.line
        place = float(at[index])
        if condition.square:  # run on to the line, or back to it where the pricks cross it
            inside = np.sign(np.median(line.offsets(points)))
            place += sign * float(line.offsets(points[index : index + 1 or None])[0] * inside)
        flat = line.along if condition.square else line.normal
        made.append(Condition(place, line.normal, float(line.at @ line.normal), flat, condition.at))
    return made
