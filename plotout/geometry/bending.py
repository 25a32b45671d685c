"""A curve as a bend over the distance along it, and how its points move as the bend changes.

The bend is curvature times length, on a scale that is even below `TIGHT` and a logarithm above (an
inverse hyperbolic sine): a change by a tenth costs as much in a spiral's tight end as in its wide
one, a curve may change direction, and no usual curve can tighten at its end as if that were little.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from plotout.geometry.polyline import distances
from plotout.geometry.strokes import FloatArray

Indices = np.ndarray[tuple[int, ...], np.dtype[np.intp]]

FINE = 16  # places per span: integrals by trapezoids are then accurate to 0.01 mm
ORDERS = (1, 2)
TIGHT = (
    2.0  # radians over the length: hardly more than a quarter circle turns. From 1 to 4 the fits
)
# are as true (tests/bench/pricks.py); at 1 strays at the ends pass as bends, at 4 spirals suffer
_LARGEST = 24.0  # of the bend: nothing bends more


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """start: (2,), mm. heading: radians there, (). bends: the bend's coefficients, (b,).

    length: mm, (). Several curves of one basis may be one: all then have a first axis, (c, ...).
    """

    start: FloatArray
    heading: FloatArray
    bends: FloatArray
    length: FloatArray

    def changed(self, change: FloatArray) -> Curve:
        """Return it with its unknowns changed, (b + 4,), as `Drawn.push` counts them."""
        return Curve(self.start + change[..., :2], self.heading + change[..., 2],
                     self.bends + change[..., 3:-1],
                     self.length * (1.0 + change[..., -1]))  # fmt: skip

    def some(self, which: Indices) -> Curve:
        """Return some of several curves, (k,), by their index."""
        return Curve(self.start[which], self.heading[which], self.bends[which], self.length[which])

    def put(self, which: Indices, others: Curve) -> None:
        """Put (k,) others in the place of some of several curves."""
        self.start[which], self.heading[which] = others.start, others.heading
        self.bends[which], self.length[which] = others.bends, others.length


@dataclass(frozen=True, slots=True, eq=False)
class Basis:
    """The bend's B-splines at even places, (m, b), and what `ORDERS` penalise, (p, b) each.

    inverse: (b, m), which gives the coefficients nearest to a bend at these places.
    """

    values: FloatArray
    inverse: FloatArray
    penalties: tuple[FloatArray, ...]
    closed: bool

    @property
    def units(self) -> tuple[float, ...]:
        """The size of each penalty's rows when the bend changes by 1 over the curve."""
        spans = len(self.penalties[0])
        return tuple(float((3 * order - 2) * spans ** (0.5 - order)) for order in ORDERS)


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """A curve at its even places, (m,) or (m, 2), and how its points move with each unknown.

    at: mm along. rates: how much a place turns the rest of the curve as its bend changes, (m,).
    values: of the basis. Of several curves, all but these with a first axis.
    """

    at: FloatArray
    curvature: FloatArray
    angles: FloatArray
    directions: FloatArray
    points: FloatArray
    rates: FloatArray
    values: FloatArray

    def push(self, index: Indices, along: FloatArray) -> FloatArray:
        """Return how points `index`, (k,), move along `along`, (k, 2), with each unknown.

        (k, b + 4): the start's x and y, the heading, the bends, and the size.
        """
        from_start = self.points - self.points[..., :1, :]
        gap = taken(from_start, index)
        x, y = (part[..., None] for part in np.moveaxis(np.broadcast_to(along, gap.shape), -1, 0))
        size = x * gap[..., :1] + y * gap[..., 1:]
        heading = y * gap[..., :1] - x * gap[..., 1:]
        rates = self.rates.copy()
        rates[..., 0] *= 0.5  # a trapezoid's end counts half; at its other end the gap is 0
        of_places = np.stack([rates, *(rates * from_start[..., i] for i in (0, 1))], axis=-2)
        turned = np.concatenate([heading, -y, x], axis=-1) @ of_places
        turned *= np.arange(len(self.values)) < index[..., None]
        return np.concatenate([x, y, heading, turned @ self.values, size], axis=-1)

    def slide(self) -> FloatArray:
        """Return the mean of how all points but the last move along the curve, (b + 4,)."""
        x, y = (self.directions[..., i] for i in (0, 1))
        px, py = (self.points[..., i] for i in (0, 1))
        turned = self._after(y * px - x * py) - px * self._after(y) + py * self._after(x)
        count = len(self.values) - 1
        bends = (turned * self.rates) @ self.values / count
        from_x, from_y = px - px[..., :1], py - py[..., :1]
        means = (part[..., :-1].mean(axis=-1)[..., None]
                 for part in (x, y, y * from_x - x * from_y, x * from_x + y * from_y))  # fmt: skip
        start_x, start_y, heading, size = means
        return np.concatenate([start_x, start_y, heading, bends, size], axis=-1)

    @staticmethod
    def _after(parts: FloatArray) -> FloatArray:
        """Return the sums of parts, but the last, over the places up to which each is counted."""
        parts = parts.copy()
        parts[..., -1] = 0.0
        found = np.flip(np.cumsum(np.flip(parts, -1), axis=-1), -1) - 0.5 * parts
        found[..., 0] -= 0.5 * parts.sum(axis=-1)
        return np.asarray(found)

    @property
    def turn(self) -> FloatArray:
        """How the heading at the end turns with each bend, (b,)."""
        rates = self.rates.copy()
        rates[..., [0, -1]] *= 0.5
        return np.asarray(rates @ self.values)

    def turned(self, changes: FloatArray) -> FloatArray:
        """Return by how much one curve turns, up to every place, with c changes of its bends.

        changes: (c, b). Returns (c, m), radians.
        """
        parts = (changes @ self.values.T) * self.rates
        return _running((parts[:, 1:] + parts[:, :-1]) / 2.0)


@cache
def bend_basis(spans: int, *, closed: bool, even: tuple[bool, bool]) -> Basis:
    """Return cubic B-splines. even: mirrored at that end, like a curve square to a fold."""
    at = np.linspace(0.0, spans, FINE * spans + 1)
    index = np.minimum(at.astype(int), spans - 1)
    u = at - index
    pieces = [(1 - u) ** 3, 3 * u**3 - 6 * u**2 + 4, 1 + 3 * u + 3 * u**2 - 3 * u**3, u**3]
    values = np.zeros((len(at), spans + 3))
    for k, piece in enumerate(pieces):
        values[np.arange(len(at)), index + k] = piece / 6.0
    fold = np.eye(spans + 3)
    if closed:
        fold = np.vstack([np.eye(spans), np.eye(spans)[:3]])
        turn = np.roll(np.eye(spans), 1, axis=1) - np.eye(spans)
        rows = tuple(np.linalg.matrix_power(turn, order) for order in ORDERS)
        return _basis(values @ fold, rows, closed=closed)
    kept = np.ones(spans + 3, dtype=bool)
    for end_index, mirrored, asked in ((0, 2, even[0]), (-1, -3, even[1])):
        if asked:
            fold[end_index, mirrored] = 1.0
            kept[end_index] = False
    fold = fold[:, kept]
    rows = tuple(np.diff(np.eye(spans + 3), order, axis=0) @ fold for order in ORDERS)
    return _basis(values @ fold, rows, closed=closed)


def _basis(values: FloatArray, penalties: tuple[FloatArray, ...], *, closed: bool) -> Basis:
    return Basis(values, np.asarray(np.linalg.pinv(values), dtype=np.float64), penalties, closed)


def like_polyline(like: FloatArray, basis: Basis) -> Curve:
    """Return a curve like a polyline: its bend is how the polyline turns over a span."""
    reached = distances(like)
    whole = float(reached[-1])
    at = np.linspace(0.0, whole, len(basis.values))
    even = np.column_stack([np.interp(at, reached, column) for column in like.T])
    steps = np.diff(even, axis=0)
    middle, angles = (at[1:] + at[:-1]) / 2.0, np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))
    heading = angles[0]
    half = at[FINE] / 2.0
    if basis.closed:
        turn = 2.0 * np.pi * np.round((angles[-1] - angles[0]) / (2.0 * np.pi))
        middle = np.concatenate([middle - whole, middle, middle + whole])
        angles = np.concatenate([angles - turn, angles, angles + turn])
    low = np.clip(at - half, middle[0], middle[-1])
    high = np.clip(at + half, middle[0], middle[-1])
    turned = np.interp(high, middle, angles) - np.interp(low, middle, angles)
    bend = TIGHT * np.arcsinh(turned / (high - low) * whole / TIGHT)
    return Curve(even[0], np.asarray(heading), basis.inverse @ bend, np.asarray(whole))


def drawn(curve: Curve, basis: Basis) -> Drawn:
    """Return the curve at its even places, with how it changes."""
    at, bend, curvature, angles, directions, points = _along(curve, basis)
    rates = np.cosh(bend / TIGHT) / (bend.shape[-1] - 1)
    return Drawn(at, curvature, angles, directions, points, rates, basis.values)


def placed(curve: Curve, basis: Basis) -> tuple[FloatArray, ...]:
    """Return its even places, mm along, and the curvature, direction and point there."""
    at, _, curvature, _, directions, points = _along(curve, basis)
    return at, curvature, directions, points


def points_of(curve: Curve, basis: Basis) -> FloatArray:
    """Return only the points of the curve at its even places, (m, 2)."""
    return _along(curve, basis)[-1]


def taken(values: FloatArray, index: Indices) -> FloatArray:
    """Return values, (..., m, b), at some of a curve's places, (..., k): (..., k, b).

    index: (k,), or (c, k) of several curves.
    """
    if index.ndim == 1:
        return np.take(values, index, axis=-2)
    return values[np.arange(len(index))[:, None], index]


def _along(curve: Curve, basis: Basis) -> tuple[FloatArray, ...]:
    """Return the even places, and the bend, curvature, angle, direction and point there."""
    bend = np.clip(curve.bends @ basis.values.T, -_LARGEST, _LARGEST)
    length = curve.length[..., None]
    at = length * np.linspace(0.0, 1.0, bend.shape[-1])
    curvature = TIGHT * np.sinh(bend / TIGHT) / length
    half = at[..., 1:2] / 2.0
    angles = _running((curvature[..., 1:] + curvature[..., :-1]) * half)
    angles += curve.heading[..., None]
    directions = np.stack([np.cos(angles), np.sin(angles)], axis=-1)
    steps = (directions[..., 1:, :] + directions[..., :-1, :]) * half[..., None]
    points = np.empty_like(directions)
    points[..., 0, :] = curve.start
    np.cumsum(steps, axis=-2, out=points[..., 1:, :])
    points[..., 1:, :] += curve.start[..., None, :]
    return at, bend, curvature, angles, directions, points


def _running(steps: FloatArray) -> FloatArray:
    """Return the running sums of steps, (..., m - 1), from 0 on, (..., m)."""
    found = np.zeros((*steps.shape[:-1], steps.shape[-1] + 1))
    np.cumsum(steps, axis=-1, out=found[..., 1:])
    return found
