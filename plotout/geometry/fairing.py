"""The fairest curve through pricks within their scatter.

Only scatter across the curve counts; scatter along it costs nothing. The first and second
differences of its bend (see bending; Eilers and Marx 1996) are kept as small as the pricks allow
(see evidence): a circle's arc and a curve that tightens evenly cost nothing. Solved by
Gauss-Newton steps.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from plotout.geometry.bending import (
    TIGHT,
    Basis,
    Curve,
    Drawn,
    bend_basis,
    drawn,
    like_polyline,
    points_of,
)
from plotout.geometry.evidence import Evidence, Hand, Price, weighed
from plotout.geometry.smoothing import Condition
from plotout.geometry.strokes import FloatArray

MOST_SPANS = 96
STEPS = 20
SETTLED = 1e-3  # of the bend: an invisible change
AT_ONCE = 0.1  # radians: a drawn change that turns more is made in parts
MOST_PARTS = 20
LEAST_BENDING = 1e-3  # mm that a change of the bend costs when a curve is led


@dataclass(frozen=True, slots=True, eq=False)
class Fair:
    """A fair curve, what it meets at its ends, and what pricks say about it."""

    curve: Curve
    basis: Basis
    start: Condition | None
    end: Condition | None

    @property
    def points(self) -> FloatArray:
        """The curve, (m, 2), mm."""
        return _closed(drawn(self.curve, self.basis).points, self.basis)

    def evidence(self, points: FloatArray) -> Evidence:
        """Return what (n, 2) points say about small changes of this curve."""
        return _evidence(self, _linear(self, points))

    def offsets(self, points: FloatArray) -> FloatArray:
        """Return the distances of (n, 2) points from the curve, across it, (n,), mm."""
        return _feet(drawn(self.curve, self.basis), points, self.basis)[1]

    def likely(
        self, points: FloatArray, count: int, seed: int, hand: Hand | None = None
    ) -> list[FloatArray]:
        """Return `count` curves, (m, 2) each, drawn by their likelihood for (n, 2) points.

        hand: of whoever pricked them.
        """
        linear = _linear(self, points)
        evidence = _evidence(self, linear)
        evidence = evidence if hand is None else evidence.of_hand(hand)
        return [
            _closed(points_of(_led(self, points, linear, draw), self.basis), self.basis)
            for draw in evidence.draws(count, seed)
        ]


@dataclass(frozen=True, slots=True, eq=False)
class _Linear:
    """How points lie beside a curve, (n,), and how that changes with it, (n, u).

    given: what the ends require, (u,); still: the directions that keep it, (u, q).
    feet: mm along the curve of the place nearest to each point.
    """

    off: FloatArray
    design: FloatArray
    given: FloatArray
    still: FloatArray
    feet: FloatArray


def faired(
    points: FloatArray,
    like: FloatArray,
    *,
    closed: bool,
    start: Condition | None = None,
    end: Condition | None = None,
    doubted: FloatArray | None = None,
    stiff: bool = False,
) -> Fair | None:
    """Return the curve through points (n, 2) in their order, or None if none is found.

    like: a similar curve, (k, 2). start, end: what it meets exactly there.
    doubted: points to which it extends without fitting them, (d, 2).
    stiff: bent less than the points suggest, so that it ignores strays.
    """
    more = np.empty((0, 2)) if doubted is None else doubted
    held = sum(condition is not None and condition.anchor is not None for condition in (start, end))
    spans = min(max(len(points) + len(more) + held, 4), MOST_SPANS)
    basis = bend_basis(spans, closed=closed, even=(_is_square(start), _is_square(end)))
    fair = Fair(like_polyline(like, basis), basis, start, end)
    with np.errstate(all="ignore"):
        for _ in range(STEPS):
            try:
                fair, change = _stepped(fair, points, more, stiff)
            except np.linalg.LinAlgError:
                return None
            if not np.isfinite(change) or not 1.0 < fair.curve.length < 1e6:
                return None
            if change < SETTLED:
                return fair
    return fair if stiff else None


def _closed(points: FloatArray, basis: Basis) -> FloatArray:
    if basis.closed:
        points[-1] = points[0]
    return points


def _is_square(condition: Condition | None) -> bool:
    return condition is not None and abs(float(condition.flat @ condition.normal)) < 0.5


def _changed(curve: Curve, change: FloatArray) -> Curve:
    bends = slice(3, 3 + len(curve.bends))
    return Curve(curve.start + change[:2], curve.heading + float(change[2]),
                 curve.bends + change[bends], curve.length * (1.0 + float(change[-1])))  # fmt: skip


def _stepped(fair: Fair, points: FloatArray, more: FloatArray, stiff: bool) -> tuple[Fair, float]:
    """Take one step; return the curve and the greatest change of its bend."""
    linear = _linear(fair, points)
    change = linear.given + linear.still @ _evidence(fair, linear).mean(stiff=stiff)
    largest = float(np.abs(change[3 : 3 + len(fair.curve.bends)]).max())
    new = replace(fair, curve=_changed(fair.curve, change / max(largest, 1.0)))
    if not fair.basis.closed:
        feet = linear.feet
        if len(more):
            feet = np.concatenate([feet, _feet(drawn(fair.curve, fair.basis), more, fair.basis)[0]])
        new = replace(new, curve=_reaching(new, feet))
    return new, largest


def _led(fair: Fair, points: FloatArray, linear: _Linear, draw: FloatArray) -> Curve:
    """Return the curve that a draw stands for; the draw itself says it only of small changes.

    Turns add up along a curve, and would carry its end far off. So it is changed in parts, and led
    after each, with the least of bending, to where the points are to lie beside it.
    """
    change, curve = linear.given + linear.still @ draw, fair.curve
    moved = linear.design @ change
    unbent = np.vstack(fair.basis.penalties) * LEAST_BENDING
    bends = slice(3, 3 + len(curve.bends))
    turned = drawn(curve, fair.basis).turned @ change[bends]
    parts = int(np.clip(np.abs(turned).max() / AT_ONCE, 0.0, MOST_PARTS - 1)) + 1
    for part in np.arange(1, parts + 1) / parts:
        curve = _changed(curve, change / parts)
        now = _linear(replace(fair, curve=curve), points)
        off = now.off - now.design @ now.given - (linear.off - moved * part)
        rows = np.vstack([now.design @ now.still, unbent @ now.still[bends]])
        due = np.concatenate([off, np.zeros(len(unbent))])
        curve = _changed(curve, now.given + now.still @ np.linalg.lstsq(rows, due, rcond=None)[0])
    return curve


def _feet(
    now: Drawn, points: FloatArray, basis: Basis
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return each point's foot, mm along, and offset, mm.

    Then the direction across the curve, (n, 2), and the index of its nearest place.
    """
    seen = now.points[:-1] if basis.closed else now.points
    index = ((points[:, None] - seen[None]) ** 2).sum(axis=2).argmin(axis=1)
    directions = now.directions[index]
    across = np.column_stack([-directions[:, 1], directions[:, 0]])
    gap = points - now.points[index]
    on, off = (gap * directions).sum(axis=1), (gap * across).sum(axis=1)
    feet = now.at[index] + on / np.clip(1.0 - now.curvature[index] * off, 0.3, 3.0)
    return feet, off - now.curvature[index] * on**2 / 2.0, across, index


def _linear(fair: Fair, points: FloatArray) -> _Linear:
    now = drawn(fair.curve, fair.basis)
    feet, off, across, index = _feet(now, points, fair.basis)
    demands, due = _demands(fair, now)
    given = np.asarray(np.linalg.lstsq(demands, due, rcond=None)[0], dtype=np.float64)
    _, sizes, base = np.linalg.svd(demands)
    still = base[int((sizes > 1e-9 * sizes[0]).sum()) :].T
    return _Linear(off, now.push(index.astype(np.intp), across), given, still, feet)


def _evidence(fair: Fair, linear: _Linear) -> Evidence:
    """Return what the points say about changes along `still`."""
    bends = slice(3, 3 + len(fair.curve.bends))
    still, given = linear.still, linear.given
    prices = [
        Price(rows @ still[bends], -rows @ (fair.curve.bends + given[bends]), unit)
        for rows, unit in zip(fair.basis.penalties, fair.basis.units, strict=True)
    ]
    return weighed(linear.design @ still, linear.off - linear.design @ given, prices)


def _demands(fair: Fair, now: Drawn) -> tuple[FloatArray, FloatArray]:
    """Return a step's exact constraints: rows over the unknowns, (k, b + 4), and sums, (k,)."""
    basis, start, end = fair.basis, fair.start, fair.end
    count = len(fair.curve.bends) + 4
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
            row[:2] = 0.0  # the start moves too
            rows.append(row)
            due.append(float((now.points[0] - now.points[-1]) @ axis))
        rows.append(turn - heading)
        all_turned = float(now.angles[-1] - now.angles[0])
        due.append(2.0 * np.pi * round(all_turned / (2.0 * np.pi)) - all_turned)
        rows.append(now.push(np.arange(len(now.points) - 1), now.directions[:-1]).mean(axis=0))
        due.append(0.0)  # and it doesn't slide along the curve
        return np.array(rows), np.array(due)
    if end is None or end.anchor is None:
        rows.append(size)
        due.append(0.0)
    if start is None:
        rows.append(np.concatenate([now.directions[0], np.zeros(count - 2)]))
        due.append(0.0)
    else:
        rows += [np.concatenate([start.normal, np.zeros(count - 2)]), heading]
        due += [start.offset - float(now.points[0] @ start.normal), _askew(start, now, 0)]
        if start.anchor is not None:
            along = np.array([start.normal[1], -start.normal[0]])
            rows.append(np.concatenate([along, np.zeros(count - 2)]))
            due.append(float((start.anchor - now.points[0]) @ along))
    if end is not None:
        rows.append(turn)
        due.append(_askew(end, now, -1))
        if not _is_square(end):
            rows.append(now.push(last, end.normal[None])[0])
            due.append(end.offset - float(now.points[-1] @ end.normal))
        if end.anchor is not None:
            along = np.array([end.normal[1], -end.normal[0]])
            rows.append(now.push(last, along[None])[0])
            due.append(float((end.anchor - now.points[-1]) @ along))
    return np.array(rows), np.array(due)


def _askew(condition: Condition, now: Drawn, index: int) -> float:
    """Return the turn, radians, after which the curve doesn't move along `flat` there."""
    tangent = now.directions[index]
    sine = float(tangent @ condition.flat)
    cosine = float(tangent[1] * condition.flat[0] - tangent[0] * condition.flat[1])
    return float(np.arctan(sine / cosine)) if abs(cosine) > 1e-9 else np.pi / 2.0


def _reaching(fair: Fair, feet: FloatArray) -> Curve:
    """Begin and end the curve at its outermost pricks, or at the line it is square to."""
    curve, basis, start, end = fair.curve, fair.basis, fair.start, fair.end
    now = drawn(curve, basis)
    low = 0.0 if start is not None else min(float(feet.min()), 0.2 * curve.length)
    high = curve.length
    if end is None or (end.anchor is None and not _is_square(end)):
        high = max(float(feet.max()), 0.8 * curve.length) if end is None else high
    elif _is_square(end):
        gap = end.offset - float(now.points[-1] @ end.normal)
        high += gap / float(now.directions[-1] @ end.normal)
    bend = basis.values @ curve.bends
    longer = np.log(max(high - low, 1.0) / curve.length)
    bend = bend + longer * TIGHT * np.tanh(bend / TIGHT)  # for the new length
    at = low + (high - low) * np.linspace(0.0, 1.0, len(bend))
    new = np.interp(at, now.at, bend)
    for beyond, edge, inner in ((at < 0.0, 0, 1), (at > curve.length, -1, -2)):
        slope = (bend[edge] - bend[inner]) / (now.at[edge] - now.at[inner])
        new[beyond] = bend[edge] + slope * (at[beyond] - now.at[edge])
    turned = float(now.curvature[0]) * low
    middle = curve.heading + turned / 2.0
    begin = curve.start + low * np.array([np.cos(middle), np.sin(middle)])
    bends = np.linalg.lstsq(basis.values, new, rcond=None)[0]
    return Curve(begin, curve.heading + turned, bends, high - low)
