"""A curve through pricks as a bend over the distance along it, its bend changing little.

Only what lies across the curve counts: scatter along it costs nothing. The bend is kept as the
inverse hyperbolic sine of curvature times length, so that to change by a tenth costs as much in a
tight curve as in a wide one, and a curve may turn the other way. Its first and its second
differences (Eilers and Marx 1996) are kept small, as far as the pricks say (see evidence): a
circle's arc and a curve that tightens evenly cost nothing. Found by Gauss and Newton's steps.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from plotout.geometry.evidence import averaged
from plotout.geometry.polyline import distances
from plotout.geometry.smoothing import Condition
from plotout.geometry.strokes import FloatArray

Indices = np.ndarray[tuple[int, ...], np.dtype[np.intp]]

FINE = 16  # places a span: integrals by trapezoids are then good to a hundredth of a mm
MOST_SPANS = 96
ORDERS = (1, 2)
STEPS = 20
SETTLED = 1e-3  # of the bend: no change that could be seen
_LARGEST = 12.0  # of the bend: nothing bends more


@dataclass(frozen=True, slots=True, eq=False)
class _Curve:
    """start: (2,), mm. heading: radians there. bends: the bend's coefficients. length: mm."""

    start: FloatArray
    heading: float
    bends: FloatArray
    length: float


@dataclass(frozen=True, slots=True, eq=False)
class _Basis:
    """The bend's B-splines at even places, (m, b); and what `ORDERS` penalise, each (p, b)."""

    values: FloatArray
    penalties: tuple[FloatArray, ...]
    closed: bool


@dataclass(frozen=True, slots=True, eq=False)
class _Drawn:
    """A curve at its even places, (m,) or (m, 2); and how its points move with each unknown.

    turned, moved_x, moved_y: the integrals over each bend's change of it, and of it times where
    the curve was, (m, b). at: mm along.
    """

    at: FloatArray
    curvature: FloatArray
    angles: FloatArray
    ways: FloatArray
    points: FloatArray
    turned: FloatArray
    moved_x: FloatArray
    moved_y: FloatArray

    def push(self, nth: Indices, along: FloatArray) -> FloatArray:
        """How points `nth` move in directions `along`, (k, 2), with each unknown, (k, b + 4).

        The unknowns: the start's x and y, the heading, the bends, and the size.
        """
        aside = np.column_stack([-self.points[:, 1], self.points[:, 0]])
        x, y = along[:, :1], along[:, 1:]
        bends = (aside[nth] * along).sum(axis=1)[:, None] * self.turned[nth]
        bends -= x * self.moved_x[nth] + y * self.moved_y[nth]
        heading = ((aside[nth] - aside[0]) * along).sum(axis=1)
        size = ((self.points[nth] - self.points[0]) * along).sum(axis=1)
        return np.column_stack([along, heading, bends, size])


def faired(
    points: FloatArray,
    like: FloatArray,
    *,
    closed: bool,
    start: Condition | None = None,
    end: Condition | None = None,
) -> FloatArray | None:
    """Return the curve, (m, 2), through points (n, 2) in their order; None where none is found.

    like: a curve near to it, (k, 2). start, end: what it meets exactly there.
    """
    spans = min(max(len(points), 4), MOST_SPANS)
    square = (_is_square(start), _is_square(end))
    basis = _basis(spans, closed=closed, even=square)
    curve = _first(like, basis)
    with np.errstate(all="ignore"):
        for _ in range(STEPS):
            try:
                curve, change = _stepped(curve, basis, points, start, end)
            except np.linalg.LinAlgError:
                return None
            if not np.isfinite(change) or not 1.0 < curve.length < 1e6:
                return None
            if change < SETTLED:
                found = _drawn(curve, basis).points
                if closed:
                    found[-1] = found[0]
                return found
    return None


def _is_square(condition: Condition | None) -> bool:
    return condition is not None and abs(float(condition.flat @ condition.normal)) < 0.5


def _basis(spans: int, *, closed: bool, even: tuple[bool, bool]) -> _Basis:
    """Cubic B-splines; even: mirrored at that end, as a curve square to a fold is."""
    at = np.linspace(0.0, spans, FINE * spans + 1)
    nth = np.minimum(at.astype(int), spans - 1)
    u = at - nth
    pieces = [(1 - u) ** 3, 3 * u**3 - 6 * u**2 + 4, 1 + 3 * u + 3 * u**2 - 3 * u**3, u**3]
    values = np.zeros((len(at), spans + 3))
    for k, piece in enumerate(pieces):
        values[np.arange(len(at)), nth + k] = piece / 6.0
    fold = np.eye(spans + 3)
    if closed:
        fold = np.vstack([np.eye(spans), np.eye(spans)[:3]])
        turn = np.roll(np.eye(spans), 1, axis=1) - np.eye(spans)
        rows = tuple(np.linalg.matrix_power(turn, order) for order in ORDERS)
        return _Basis(values @ fold, rows, closed)
    kept = np.ones(spans + 3, dtype=bool)
    for nth_end, mirrored, asked in ((0, 2, even[0]), (-1, -3, even[1])):
        if asked:
            fold[nth_end, mirrored] = 1.0
            kept[nth_end] = False
    fold = fold[:, kept]
    rows = tuple(np.diff(np.eye(spans + 3), order, axis=0) @ fold for order in ORDERS)
    return _Basis(values @ fold, rows, closed)


def _first(like: FloatArray, basis: _Basis) -> _Curve:
    """The curve like a polyline: its bend is how the polyline turns over a span."""
    reached = distances(like)
    whole = float(reached[-1])
    at = np.linspace(0.0, whole, len(basis.values))
    even = np.column_stack([np.interp(at, reached, each) for each in like.T])
    steps = np.diff(even, axis=0)
    middle, angles = (at[1:] + at[:-1]) / 2.0, np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))
    heading = float(angles[0])
    half = at[FINE] / 2.0
    if basis.closed:
        turn = 2.0 * np.pi * np.round((angles[-1] - angles[0]) / (2.0 * np.pi))
        middle = np.concatenate([middle - whole, middle, middle + whole])
        angles = np.concatenate([angles - turn, angles, angles + turn])
    low = np.clip(at - half, middle[0], middle[-1])
    high = np.clip(at + half, middle[0], middle[-1])
    turned = np.interp(high, middle, angles) - np.interp(low, middle, angles)
    bend = np.arcsinh(turned / (high - low) * whole)
    return _Curve(even[0], heading, np.linalg.lstsq(basis.values, bend, rcond=None)[0], whole)


def _drawn(curve: _Curve, basis: _Basis) -> _Drawn:
    bend = np.clip(basis.values @ curve.bends, -_LARGEST, _LARGEST)
    at = np.linspace(0.0, curve.length, len(bend))

    def summed(each: FloatArray) -> FloatArray:
        steps = (each[1:] + each[:-1]) * (at[1] / 2.0)
        return np.concatenate([np.zeros_like(steps[:1]), np.cumsum(steps, axis=0)])

    curvature = np.sinh(bend) / curve.length
    angles = curve.heading + summed(curvature)
    ways = np.column_stack([np.cos(angles), np.sin(angles)])
    points = curve.start + summed(ways)
    changes = (np.cosh(bend) / curve.length)[:, None] * basis.values
    aside = np.column_stack([-points[:, 1], points[:, 0]])
    return _Drawn(at, curvature, angles, ways, points, summed(changes),
                  summed(changes * aside[:, :1]), summed(changes * aside[:, 1:]))  # fmt: skip


def _stepped(
    curve: _Curve,
    basis: _Basis,
    points: FloatArray,
    start: Condition | None,
    end: Condition | None,
) -> tuple[_Curve, float]:
    """Take one step; return the curve and by how much its bend changed at most."""
    now = _drawn(curve, basis)
    seen = now.points[:-1] if basis.closed else now.points
    nth = ((points[:, None] - seen[None]) ** 2).sum(axis=2).argmin(axis=1)
    ways = now.ways[nth]
    across = np.column_stack([-ways[:, 1], ways[:, 0]])
    gap = points - now.points[nth]
    on, off = (gap * ways).sum(axis=1), (gap * across).sum(axis=1)
    feet = now.at[nth] + on / np.clip(1.0 - now.curvature[nth] * off, 0.3, 3.0)
    off = off - now.curvature[nth] * on**2 / 2.0
    demands, due = _demands(curve, basis, now, start, end)
    given = np.linalg.lstsq(demands, due, rcond=None)[0]
    _, sizes, base = np.linalg.svd(demands)
    still = base[int((sizes > 1e-9 * sizes[0]).sum()) :].T  # the ways that keep to the demands
    design = now.push(nth, across)
    bends = slice(3, 3 + len(curve.bends))
    penalties = [
        (rows @ still[bends], -rows @ (curve.bends + given[bends])) for rows in basis.penalties
    ]
    found = averaged(design @ still, off - design @ given, penalties)
    change = given + still @ found
    largest = float(np.abs(change[bends]).max())
    change = change / max(largest, 1.0)
    new = _Curve(curve.start + change[:2], curve.heading + float(change[2]),
                 curve.bends + change[bends], curve.length * (1.0 + float(change[-1])))  # fmt: skip
    if not basis.closed:
        new = _reaching(new, basis, feet, start, end)
    return new, largest


def _demands(
    curve: _Curve,
    basis: _Basis,
    now: _Drawn,
    start: Condition | None,
    end: Condition | None,
) -> tuple[FloatArray, FloatArray]:
    """What a step must do exactly: rows over the unknowns, (k, b + 4), and their sums, (k,)."""
    count = len(curve.bends) + 4
    heading = np.zeros(count)
    heading[2] = 1.0
    turn = heading.copy()
    turn[3:-1] = now.turned[-1]
    last = np.array([len(now.points) - 1])
    size = np.zeros(count)
    size[-1] = 1.0
    rows: list[FloatArray] = []
    due: list[float] = []
    if basis.closed:
        for axis in np.eye(2):
            row = now.push(last, axis[None])[0]
            row[:2] = 0.0  # the start moves as well
            rows.append(row)
            due.append(float((now.points[0] - now.points[-1]) @ axis))
        rows.append(turn - heading)
        all_turned = float(now.angles[-1] - now.angles[0])
        due.append(2.0 * np.pi * round(all_turned / (2.0 * np.pi)) - all_turned)
        rows.append(now.push(np.arange(len(now.points) - 1), now.ways[:-1]).mean(axis=0))
        due.append(0.0)  # and it doesn't slide along itself
        return np.array(rows), np.array(due)
    rows.append(size)
    due.append(0.0)
    if start is None:
        rows.append(np.concatenate([now.ways[0], np.zeros(count - 2)]))
        due.append(0.0)
    else:
        rows += [np.concatenate([start.normal, np.zeros(count - 2)]), heading]
        due += [start.offset - float(now.points[0] @ start.normal), _askew(start, now, 0)]
    if end is not None:
        rows.append(turn)
        due.append(_askew(end, now, -1))
        if not _is_square(end):
            rows.append(now.push(last, end.normal[None])[0])
            due.append(end.offset - float(now.points[-1] @ end.normal))
    return np.array(rows), np.array(due)


def _askew(condition: Condition, now: _Drawn, nth: int) -> float:
    """The turn, radians, after which the curve doesn't move along `flat` at that place."""
    way = now.ways[nth]
    sine = float(way @ condition.flat)
    cosine = float(way[1] * condition.flat[0] - way[0] * condition.flat[1])
    return float(np.arctan(sine / cosine)) if abs(cosine) > 1e-9 else np.pi / 2.0


def _reaching(
    curve: _Curve,
    basis: _Basis,
    feet: FloatArray,
    start: Condition | None,
    end: Condition | None,
) -> _Curve:
    """Begin and end the curve at its outermost pricks, or at the line that it is square to."""
    now = _drawn(curve, basis)
    low = 0.0 if start is not None else min(float(feet.min()), 0.2 * curve.length)
    high = curve.length
    if end is None:
        high = max(float(feet.max()), 0.8 * curve.length)
    elif _is_square(end):
        gap = end.offset - float(now.points[-1] @ end.normal)
        high += gap / float(now.ways[-1] @ end.normal)
    bend = basis.values @ curve.bends
    bend = bend + np.log(max(high - low, 1.0) / curve.length) * np.tanh(bend)  # of the new length
    at = low + (high - low) * np.linspace(0.0, 1.0, len(bend))
    new = np.interp(at, now.at, bend)
    for beyond, edge, inner in ((at < 0.0, 0, 1), (at > curve.length, -1, -2)):
        slope = (bend[edge] - bend[inner]) / (now.at[edge] - now.at[inner])
        new[beyond] = bend[edge] + slope * (at[beyond] - now.at[edge])
    turned = float(now.curvature[0]) * low
    middle = curve.heading + turned / 2.0
    begin = curve.start + low * np.array([np.cos(middle), np.sin(middle)])
    bends = np.linalg.lstsq(basis.values, new, rcond=None)[0]
    return _Curve(begin, curve.heading + turned, bends, high - low)
