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
    placed,
    points_of,
    taken,
)
from plotout.geometry.demands import demands, is_square
from plotout.geometry.evidence import Evidence, Hand, Indices, Price, weighed
from plotout.geometry.least_squares import least_squares, solved
from plotout.geometry.smoothing import Condition
from plotout.geometry.strokes import FloatArray

MOST_SPANS = 96
STEPS = 20
SETTLED = 1e-3  # of the bend: an invisible change
TURNS_BACK = 0.5  # of the change before: so much of it is taken back where steps swing to and fro
LEAST_SHARE = 0.01  # of a step: where so little of it still matters, no curve is found
AT_ONCE = 0.1  # radians: a drawn change that turns more is made in parts
MOST_PARTS = 20
ASTRAY = 3.0  # times its length: so far from its pricks no point of a curve is
LEAST_BENDING = 1e-3  # mm that a change of the bend costs when a curve is led
_AT_ONCE = 500_000  # numbers that are worked on at a time when many are


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

    def judged(self, points: FloatArray) -> tuple[Evidence, FloatArray]:
        """Return what (n, 2) points say about small changes of this curve.

        And their distances from it, across it, (n,), mm.
        """
        linear = _linear(self, drawn(self.curve, self.basis), points)
        return _evidence(self, linear), linear.off

    def likely(
        self, points: FloatArray, count: int, seed: int, hand: Hand | None = None
    ) -> list[FloatArray]:
        """Return `count` curves, (m, 2) each, drawn by their likelihood for (n, 2) points.

        hand: of whoever pricked them. Those that can't be led to where they were drawn are missing.
        """
        now = drawn(self.curve, self.basis)
        linear = _linear(self, now, points)
        evidence = _evidence(self, linear)
        evidence = evidence if hand is None else evidence.of_hand(hand)
        changes = linear.given + evidence.draws(count, seed) @ linear.still.T
        most = len(now.at) * max(len(points), 4 * now.values.shape[-1])
        step = max(_AT_ONCE // most, 1)
        made: list[FloatArray] = []
        with np.errstate(all="ignore"):
            for first in range(0, count, step):
                led = _led(self, now, points, linear, changes[first : first + step])
                made += [_closed(one, self.basis) for one in points_of(led, self.basis)]
        reach = ASTRAY * float(self.curve.length)
        return [one for one in made if (np.abs(one - points[0]) < reach).all()]


@dataclass(frozen=True, slots=True, eq=False)
class _Linear:
    """How points lie beside a curve, (n,), and how that changes with it, (n, u).

    given: what the ends require, (u,); still: the directions that keep it, (u, q).
    feet: mm along the curve of the place nearest to each point. Of several curves, with a first
    axis.
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
    basis = bend_basis(spans, closed=closed, even=(is_square(start), is_square(end)))
    fair = Fair(like_polyline(like, basis), basis, start, end)
    share, before = 1.0, np.zeros_like(fair.curve.bends)
    with np.errstate(all="ignore"):
        for _ in range(STEPS):
            try:
                fair, change = _stepped(fair, points, more, stiff, share)
            except np.linalg.LinAlgError:
                return None
            largest = share * float(np.abs(change).max())
            if not np.isfinite(largest) or not 1.0 < fair.curve.length < 1e6:
                return None
            if largest < SETTLED:
                return fair
            # A prick's nearest place may be another after each step, and the first again after the
            # next: such steps lead to and fro between curves that are as good.
            if change @ before < -TURNS_BACK * (before @ before):
                share = max(share / 2.0, LEAST_SHARE)
            before = change
    return fair if stiff else None


def _closed(points: FloatArray, basis: Basis) -> FloatArray:
    if basis.closed:
        points[-1] = points[0]
    return points


def _stepped(
    fair: Fair, points: FloatArray, more: FloatArray, stiff: bool, share: float
) -> tuple[Fair, FloatArray]:
    """Take a share of one step; return the curve and by how much the whole changes its bends."""
    now = drawn(fair.curve, fair.basis)
    linear = _linear(fair, now, points)
    change = linear.given + linear.still @ _evidence(fair, linear).mean(stiff=stiff)
    bends = change[3:-1]
    largest = max(float(np.abs(bends).max()), 1.0)
    new = replace(fair, curve=fair.curve.changed(change * (share / largest)))
    if not fair.basis.closed:
        feet = linear.feet
        if len(more):
            feet = np.concatenate([feet, _feet(now, more, fair.basis)[0]])
        new = replace(new, curve=_reaching(new, feet))
    return new, bends


def _led(fair: Fair, now: Drawn, points: FloatArray, linear: _Linear, changes: FloatArray) -> Curve:
    """Return the curves that changes of the unknowns stand for, (c, u): drawn for small ones only.

    Turns add up along a curve, and would carry its end far off. So it is changed in parts, and led
    after each, with the least of bending, to where the points are to lie beside it.
    """
    moved = changes @ linear.design.T
    turned = np.abs(now.turned(changes[:, 3:-1])).max(axis=1)
    parts = np.clip(np.nan_to_num(turned / AT_ONCE, nan=0.0), 0, MOST_PARTS - 1).astype(int) + 1
    one = fair.curve
    led = Curve(*(np.stack([part] * len(changes)) for part in
                  (one.start, one.heading, one.bends, one.length)))  # fmt: skip
    unbent = np.vstack(fair.basis.penalties) * LEAST_BENDING
    for part in range(1, int(parts.max()) + 1):
        on = np.flatnonzero(parts >= part)
        share = 1.0 / parts[on, None]
        curves = led.some(on).changed(changes[on] * share)
        there = _linear(fair, drawn(curves, fair.basis), points)
        off = there.off - (there.design @ there.given[..., None])[..., 0]
        off -= linear.off - moved[on] * (part * share)
        rows = np.concatenate([there.design @ there.still, unbent @ there.still[:, 3:-1]], axis=1)
        due = np.concatenate([off, np.zeros((len(on), len(unbent)))], axis=1)
        change = there.given + (there.still @ least_squares(rows, due)[..., None])[..., 0]
        led.put(on, curves.changed(change))
    return led


def _feet(
    now: Drawn, points: FloatArray, basis: Basis
) -> tuple[FloatArray, FloatArray, FloatArray, Indices]:
    """Return each point's foot, mm along, and offset, mm.

    Then the direction across the curve, (n, 2), and the index of its nearest place.
    """
    middle = points.mean(axis=0)
    seen = (now.points[..., :-1, :] if basis.closed else now.points) - middle
    further = (points - middle) @ np.swapaxes(-2.0 * seen, -1, -2)  # by the square of the distance
    further += (seen**2).sum(axis=-1)[..., None, :]
    index = further.argmin(axis=-1)
    directions = taken(now.directions, index)
    across = np.stack([-directions[..., 1], directions[..., 0]], axis=-1)
    gap = points - taken(now.points, index)
    on, off = (gap * directions).sum(axis=-1), (gap * across).sum(axis=-1)
    at, curvature = (taken(part[..., None], index)[..., 0] for part in (now.at, now.curvature))
    feet = at + on / np.clip(1.0 - curvature * off, 0.3, 3.0)
    return feet, off - curvature * on**2 / 2.0, across, index


def _linear(fair: Fair, now: Drawn, points: FloatArray) -> _Linear:
    """Return how points lie beside a curve as drawn, or beside each of several."""
    feet, off, across, index = _feet(now, points, fair.basis)
    given, still = solved(*demands(now, fair.basis, fair.start, fair.end))
    return _Linear(off, now.push(index, across), given, still, feet)


def _evidence(fair: Fair, linear: _Linear) -> Evidence:
    """Return what the points say about changes along `still`."""
    still, given = linear.still, linear.given
    prices = [
        Price(rows @ still[3:-1], -rows @ (fair.curve.bends + given[3:-1]), unit)
        for rows, unit in zip(fair.basis.penalties, fair.basis.units, strict=True)
    ]
    return weighed(linear.design @ still, linear.off - linear.design @ given, prices)


def _reaching(fair: Fair, feet: FloatArray) -> Curve:
    """Begin and end the curve at its outermost pricks, or at the line it is square to."""
    curve, basis, start, end = fair.curve, fair.basis, fair.start, fair.end
    places, curvature, directions, points = placed(curve, basis)
    low = 0.0 if start is not None else min(float(feet.min()), 0.2 * float(curve.length))
    high = whole = float(curve.length)
    if end is None or (end.anchor is None and not is_square(end)):
        high = max(float(feet.max()), 0.8 * whole) if end is None else high
    elif is_square(end):
        gap = end.offset - float(points[-1] @ end.normal)
        high += gap / float(directions[-1] @ end.normal)
    bend = basis.values @ curve.bends
    longer = np.log(max(high - low, 1.0) / whole)
    bend = bend + longer * TIGHT * np.tanh(bend / TIGHT)  # for the new length
    at = low + (high - low) * np.linspace(0.0, 1.0, len(bend))
    new = np.interp(at, places, bend)
    for beyond, edge, inner in ((at < 0.0, 0, 1), (at > whole, -1, -2)):
        slope = (bend[edge] - bend[inner]) / (places[edge] - places[inner])
        new[beyond] = bend[edge] + slope * (at[beyond] - places[edge])
    turned = curvature[0] * low
    middle = float(curve.heading + turned / 2.0)
    begin = curve.start + low * np.array([np.cos(middle), np.sin(middle)])
    return Curve(begin, curve.heading + turned, basis.inverse @ new, np.asarray(high - low))
