"""A smoothing spline of x and y, smoothed according to the points' own scatter.

The quintic spline minimises the sum of squared distances plus a weight times the integral of the
squared fourth derivative: a straight, a circle's arc and a curve whose curvature changes evenly
cost almost nothing, a wiggle much. (The second and third derivatives did worse: tests/bench/
fitting.py.) The weight comes from restricted maximum likelihood (Wahba 1985; Reinsch's basis,
Demmler and Reinsch 1975): without scatter nothing is smoothed. The B-splines are our own twenty
lines, because importing scipy's takes longer than reading a set.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from plotout.geometry.strokes import FloatArray

DEGREE = 5
FAIR = 4  # the derivative that is kept small


@dataclass(frozen=True, slots=True, eq=False)
class Condition:
    """An exact condition at `place`: the spline lies on a line and runs square to `flat`.

    normal: (2,), unit, of the line; offset: the line's distance from 0, 0 along it, mm.
    flat: (2,), the direction in which the curve doesn't move there.
    anchor: (2,), where on the line it begins or ends; None: where its points do.
    """

    place: float
    normal: FloatArray
    offset: float
    flat: FloatArray
    anchor: FloatArray | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Spline:
    """x and y over a parameter. ends: where it begins and ends. Call it for points, (m, 2)."""

    knots: FloatArray
    found: FloatArray
    degree: int
    ends: tuple[float, float]

    def __call__(self, at: FloatArray) -> FloatArray:
        """Return the points at `at`, (m,)."""
        return np.asarray(bsplines(at, self.knots, self.degree) @ self.found)


def smoothed(
    at: FloatArray,
    points: FloatArray,
    *,
    closed: bool,
    conditions: Sequence[Condition] = (),
    most_free: float = np.inf,
) -> Spline:
    """Fit points (n, 2) at the rising parameters `at`: (n,), or (n + 1,) with the turn's end.

    most_free: the most degrees of freedom of x, and of y.
    Raises numpy.linalg.LinAlgError if two parameters are nearly equal.
    """
    basis = _basis(at, len(points), closed=closed)
    normal = basis.normal(_weight(basis, points, most_free))
    found = np.asarray(np.linalg.solve(normal, basis.design.T @ points), dtype=np.float64)
    ends = (float(at[0]), float(at[-1]))
    if conditions:
        found = _meeting(found, normal, basis, conditions)
        places = [condition.place for condition in conditions]
        middle = (ends[0] + ends[1]) / 2.0
        ends = (
            next((p for p in places if p < middle), ends[0]),
            next((p for p in places if p >= middle), ends[1]),
        )
    if closed:
        found = np.vstack([found, found[: basis.degree]])
    return Spline(basis.knots, found, basis.degree, ends)


@dataclass(frozen=True, slots=True, eq=False)
class _Basis:
    """A spline's knots, its basis at the points, (n, n), and its penalty on wiggles, (n, n).

    free: how many directions cost nothing.
    """

    knots: FloatArray
    degree: int
    design: FloatArray
    penalty: FloatArray
    free: int

    def normal(self, weight: float) -> FloatArray:
        """The matrix of the normal equations."""
        return np.asarray(self.design.T @ self.design + weight * self.penalty)


def _basis(at: FloatArray, count: int, *, closed: bool) -> _Basis:
    degree = min(DEGREE, count - 1)
    knots = _round_knots(at, degree) if closed else _knots(at, degree)
    design = _design(at[:count], knots, degree, 0, count)
    penalty = _penalty(knots, degree, count, closed=closed)
    return _Basis(knots, degree, design, penalty, 1 if closed else min(FAIR, count))


def bsplines(at: FloatArray, knots: FloatArray, degree: int, order: int = 0) -> FloatArray:
    """Return the B-splines, or their derivatives of `order`: (m, knots - degree - 1).

    The recurrence of Cox and de Boor (1972). A spline is extended beyond its ends.
    """
    span = np.searchsorted(knots, at, side="right") - 1
    span = np.clip(span, degree, len(knots) - degree - 2)
    values = (np.arange(len(knots) - 1) == span[:, None]).astype(np.float64)
    for rise in range(1, degree + 1):
        width = knots[rise:] - knots[:-rise]
        scaled = values / np.where(width > 0.0, width, np.inf)
        if rise > degree - order:
            values = rise * (scaled[:, :-1] - scaled[:, 1:])
        else:
            since = at[:, None] - knots[None, : len(width) - 1]
            until = knots[None, rise + 1 :] - at[:, None]
            values = since * scaled[:, :-1] + until * scaled[:, 1:]
    return np.asarray(values)


def _knots(at: FloatArray, degree: int) -> FloatArray:
    """Return knots for as many coefficients as points: none at the three outermost points."""
    inner = at[3:-3] if degree == DEGREE else at[:0]
    return np.concatenate([np.full(degree + 1, at[0]), inner, np.full(degree + 1, at[-1])])


def _round_knots(at: FloatArray, degree: int) -> FloatArray:
    turn = at[-1] - at[0]
    before, after = at[-1 - degree : -1] - turn, at[1 : 1 + degree] + turn
    return np.concatenate([before, at, after])


def _design(at: FloatArray, knots: FloatArray, degree: int, order: int, count: int) -> FloatArray:
    """Return the basis, or its derivative of `order`: (m, count), round ones folded together."""
    pieces = len(knots) - degree - 1
    full = bsplines(at, knots, degree, order)
    folded = full[:, :count].copy()
    folded[:, : pieces - count] += full[:, count:]
    return np.asarray(folded)


@cache
def _gauss() -> tuple[FloatArray, FloatArray]:
    return np.polynomial.legendre.leggauss(3)


def _penalty(knots: FloatArray, degree: int, count: int, *, closed: bool) -> FloatArray:
    """Return the exact integral of products of fourth derivatives: three Gauss points a span."""
    spans = np.unique(knots[degree : len(knots) - degree])
    nodes, weights = _gauss()
    half = np.diff(spans)[:, None] / 2.0
    places = ((spans[:-1] + spans[1:])[:, None] / 2.0 + half * nodes).ravel()
    bends = _design(places, knots, degree, FAIR, count)
    return np.asarray((bends * (half * weights).ravel()[:, None]).T @ bends)


def _weight(basis: _Basis, points: FloatArray, most_free: float) -> float:
    """Return the weight of the greatest restricted likelihood among those smooth enough."""
    inverse = np.linalg.inv(basis.design)
    form = inverse.T @ basis.penalty @ inverse
    if not np.isfinite(form).all():
        return float("nan")
    rough, axes = np.linalg.eigh(form)
    rough = np.maximum(rough[basis.free :], 1e-300)
    parts = ((axes.T @ points) ** 2).sum(axis=1)[basis.free :]
    if len(rough) < 2:
        return 0.0
    tried = np.exp(np.linspace(np.log(1e-6 / rough[-1]), np.log(1e3 / rough[0]), 400))
    left = tried[:, None] * rough / (1.0 + tried[:, None] * rough)
    scatter = left @ parts + 1e-9  # mm2: no prick is more exact than about 0.001 mm
    worth = len(rough) * np.log(scatter) - np.log(left).sum(axis=1)
    worth[len(rough) + basis.free - left.sum(axis=1) > most_free] = np.inf
    return float(tried[worth.argmin()]) if np.isfinite(worth).any() else float(tried[-1])


def _meeting(
    found: FloatArray, normal: FloatArray, basis: _Basis, conditions: Sequence[Condition]
) -> FloatArray:
    """Return the nearest spline, by the same measure, that meets the conditions exactly."""
    count = len(found)
    rows, wanted = [], []
    for condition in conditions:
        place = np.array([condition.place])
        on = _design(place, basis.knots, basis.degree, 0, count)[0]
        slope = _design(place, basis.knots, basis.degree, 1, count)[0]
        rows += [np.outer(condition.normal, on).ravel(), np.outer(condition.flat, slope).ravel()]
        wanted += [condition.offset, 0.0]
    demands = np.array(rows)  # (k, 2 count): x's coefficients, then y's
    both = np.kron(np.eye(2), normal)
    flat = found.T.ravel()
    eased = np.linalg.solve(both, demands.T)
    short = demands @ flat - np.array(wanted)
    flat = flat - eased @ np.linalg.lstsq(demands @ eased, short, rcond=None)[0]
    return np.asarray(flat.reshape(2, count).T)
