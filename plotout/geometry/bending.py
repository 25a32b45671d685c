"""A curve as a bend over the distance along it, and how its points move as the bend changes.

The bend is curvature times length, on a scale that is even below `TIGHT` and a logarithm above (an
inverse hyperbolic sine): a change by a tenth costs as much in a spiral's tight end as in its wide
one, a curve may change direction, and no usual curve can tighten at its end as if that were little.
"""

from __future__ import annotations

from dataclasses import dataclass

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
    """start: (2,), mm. heading: radians there. bends: the bend's coefficients. length: mm."""

    start: FloatArray
    heading: float
    bends: FloatArray
    length: float


@dataclass(frozen=True, slots=True, eq=False)
class Basis:
    """The bend's B-splines at even places, (m, b), and what `ORDERS` penalise, (p, b) each."""

    values: FloatArray
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

    turned, moved_x, moved_y: the integrals of each bend's change, and of it times the curve's
    position, (m, b). at: mm along.
    """

    at: FloatArray
    curvature: FloatArray
    angles: FloatArray
    directions: FloatArray
    points: FloatArray
    turned: FloatArray
    moved_x: FloatArray
    moved_y: FloatArray

    def push(self, index: Indices, along: FloatArray) -> FloatArray:
        """Return how points `index` move along `along`, (k, 2), with each unknown: (k, b + 4).

        The unknowns: the start's x and y, the heading, the bends, and the size.
        """
        aside = np.column_stack([-self.points[:, 1], self.points[:, 0]])
        x, y = along[:, :1], along[:, 1:]
        bends = (aside[index] * along).sum(axis=1)[:, None] * self.turned[index]
        bends -= x * self.moved_x[index] + y * self.moved_y[index]
        heading = ((aside[index] - aside[0]) * along).sum(axis=1)
        size = ((self.points[index] - self.points[0]) * along).sum(axis=1)
        return np.column_stack([along, heading, bends, size])


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
        return Basis(values @ fold, rows, closed)
    kept = np.ones(spans + 3, dtype=bool)
    for end_index, mirrored, asked in ((0, 2, even[0]), (-1, -3, even[1])):
        if asked:
            fold[end_index, mirrored] = 1.0
            kept[end_index] = False
    fold = fold[:, kept]
    rows = tuple(np.diff(np.eye(spans + 3), order, axis=0) @ fold for order in ORDERS)
    return Basis(values @ fold, rows, closed)


def like_polyline(like: FloatArray, basis: Basis) -> Curve:
    """Return a curve like a polyline: its bend is how the polyline turns over a span."""
    reached = distances(like)
    whole = float(reached[-1])
    at = np.linspace(0.0, whole, len(basis.values))
    even = np.column_stack([np.interp(at, reached, column) for column in like.T])
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
    bend = TIGHT * np.arcsinh(turned / (high - low) * whole / TIGHT)
    return Curve(even[0], heading, np.linalg.lstsq(basis.values, bend, rcond=None)[0], whole)


def drawn(curve: Curve, basis: Basis) -> Drawn:
    """Return the curve at its even places, with how it changes."""
    at, bend, angles, directions, points = _along(curve, basis)
    changes = (np.cosh(bend / TIGHT) / curve.length)[:, None] * basis.values
    aside = np.column_stack([-points[:, 1], points[:, 0]])
    first, second = changes * aside[:, :1], changes * aside[:, 1:]
    return Drawn(at, _curvature(bend, curve), angles, directions, points,
                  _summed(changes, at), _summed(first, at), _summed(second, at))  # fmt: skip


def points_of(curve: Curve, basis: Basis) -> FloatArray:
    """Return only the points of the curve at its even places, (m, 2)."""
    return _along(curve, basis)[-1]


def _along(curve: Curve, basis: Basis) -> tuple[FloatArray, ...]:
    """Return the even places, the bend, the angles, the directions and the points there."""
    bend = np.clip(basis.values @ curve.bends, -_LARGEST, _LARGEST)
    at = np.linspace(0.0, curve.length, len(bend))
    angles = curve.heading + _summed(_curvature(bend, curve), at)
    directions = np.column_stack([np.cos(angles), np.sin(angles)])
    return at, bend, angles, directions, curve.start + _summed(directions, at)


def _curvature(bend: FloatArray, curve: Curve) -> FloatArray:
    """Return the curvature, 1/mm, of a curve's bend."""
    return np.asarray(TIGHT * np.sinh(bend / TIGHT) / curve.length)


def _summed(values: FloatArray, at: FloatArray) -> FloatArray:
    """Return the integral of values at even places, from the first on."""
    steps = (values[1:] + values[:-1]) * (at[1] / 2.0)
    return np.concatenate([np.zeros_like(steps[:1]), np.cumsum(steps, axis=0)])
