"""Cubic curves that fit the points along a line, for many stretches at once.

The points' places along a curve are found in turn with its handles, which are judged by how far the
curve is off square to itself (tangent distance: W. Wang, H. Pottmann, Y. Liu 2006). Positions are
complex numbers, as in `arc_fit`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from plotout.geometry.arc_fit import Complex, Flags, Indices, vertices_of
from plotout.geometry.strokes import FloatArray

_POINTS = 6  # the fewest that show how a cubic bends
_TRIES = 6
_FAINT = 1e-9  # of the whole: keeps what no point decides in its place


class _Stretches(NamedTuple):
    """Points of several stretches, end to end. first: where each begins; which: every point's."""

    points: Complex
    first: Indices
    which: Indices

    def sums(self, values: FloatArray | Complex) -> FloatArray | Complex:
        """Return the sums over every stretch."""
        return np.asarray(np.add.reduceat(values, self.first))


def fitted(
    places: Complex, begin: Indices, end: Indices, within: FloatArray
) -> tuple[Flags, Complex]:
    """Return which stretches of points a cubic follows, and the handles of each, (n, 2).

    places: the points along all lines. begin, end: each stretch's first and last, where its cubic
    begins and ends. within: mm by which it may be off a point, and off the middle of a chord.
    """
    good, handles = end - begin + 1 >= _POINTS, np.zeros((len(begin), 2), complex)
    some = np.flatnonzero(good)
    if not len(some):
        return good, handles
    which, index = vertices_of(begin[some], end[some])
    first = np.searchsorted(which, np.arange(len(some)))
    stretches = _Stretches(places[index], first, which)
    at = _along(stretches)
    control = _begun(stretches, at)
    for _ in range(_TRIES):
        at = _nearest(stretches, at, control)
        control = _moved(stretches, at, control)
    at = _nearest(stretches, at, control)
    good[some] = _follow(stretches, at, control, within[some])
    handles[some] = control[:, 1:3]
    return good, handles


def _along(stretches: _Stretches) -> FloatArray:
    """Return how far along its stretch each point is, from 0 to 1."""
    points, first, which = stretches
    steps = np.abs(np.diff(points, prepend=points[0]))
    steps[first] = 0.0
    reached = np.cumsum(steps)
    reached -= reached[first][which]
    return np.asarray(reached / reached[np.append(first[1:], len(points)) - 1][which])


def _follow(stretches: _Stretches, at: FloatArray, control: Complex, within: FloatArray) -> Flags:
    """Return which curves lie near all points and chords, and never turn back."""
    points, first, which = stretches
    off = np.abs(_point(control[which], at) - points)
    inside = np.ones(len(points), dtype=bool)
    inside[first] = False  # of the steps to every point but the first ones
    before = np.roll(points, 1)
    middle = _point(control[which], (at + np.roll(at, 1)) / 2.0) - before
    step = np.where(inside, points - before, 1.0)
    beside = np.where(inside, np.abs((np.conj(step) * middle).imag) / np.abs(step), 0.0)
    back = inside & (at <= np.roll(at, 1))
    wrong = (np.maximum(off, beside) > within[which]) | back
    return ~np.logical_or.reduceat(wrong, first)


def _weights(at: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return how much a place is moved by either handle."""
    back = 1.0 - at
    return 3.0 * at * back * back, 3.0 * at * at * back


def _begun(stretches: _Stretches, at: FloatArray) -> Complex:
    """Return the curves, (n, 4), that leave the least squares with the points at these places."""
    points, first, which = stretches
    outer = points[first], points[np.append(first[1:], len(points)) - 1]
    one, two = _weights(at)
    rest = points - outer[0][which] * (1.0 - at) ** 3 - outer[1][which] * at**3
    a, b, c, d, e = map(stretches.sums, (one * one, one * two, two * two, one * rest, two * rest))
    double = a * c - b * b
    return np.column_stack([outer[0], (c * d - b * e) / double, (a * e - b * d) / double, outer[1]])


def _moved(stretches: _Stretches, at: FloatArray, control: Complex) -> Complex:
    """Return the curves with their handles moved so that they are least off, square to them."""
    points, _, which = stretches
    own = control[which]
    along = _speed(own, at)
    square = 1j * along / np.maximum(np.abs(along), 1e-12)
    off = (np.conj(square) * (points - _point(own, at))).real
    one, two = _weights(at)
    moves = [one * square.real, two * square.real, one * square.imag, two * square.imag]
    normal = np.empty((len(control), 4, 4))
    for row in range(4):
        for column in range(row + 1):
            normal[:, row, column] = stretches.sums(moves[row] * moves[column])
            normal[:, column, row] = normal[:, row, column]
    whole = normal.trace(axis1=1, axis2=2)  # 0 where all places have run to the ends
    normal += (_FAINT * np.where(whole > 0.0, whole, 1.0))[:, None, None] * np.eye(4)
    wanted = np.stack([stretches.sums(move * off) for move in moves], axis=1)
    by = np.linalg.solve(normal, wanted[:, :, None])[:, :, 0]
    moved = control.copy()
    moved[:, 1:3] += by[:, :2] + 1j * by[:, 2:]
    return moved


def _nearest(stretches: _Stretches, at: FloatArray, control: Complex) -> FloatArray:
    """Return the places nearest to the points, by a step of Newton's from these; the ends stay."""
    points, first, which = stretches
    own = control[which]
    off, speed = _point(own, at) - points, _speed(own, at)
    bends = 6.0 * np.diff(control, 2, axis=1)[which]
    bend = bends[:, 0] * (1.0 - at) + bends[:, 1] * at
    slope = np.abs(speed) ** 2 + (np.conj(off) * bend).real
    new = at - (np.conj(off) * speed).real / np.where(slope > 0.0, slope, np.inf)
    new[first], new[np.append(first[1:], len(points)) - 1] = 0.0, 1.0
    return np.asarray(np.clip(new, 0.0, 1.0))


def _point(control: Complex, at: FloatArray) -> Complex:
    """Return the curves' points, (n,), at these places, one each. control: (n, 4)."""
    back = 1.0 - at
    outer = control[:, 0] * back**3 + control[:, 3] * at**3
    return np.asarray(outer + 3.0 * at * back * (control[:, 1] * back + control[:, 2] * at))


def _speed(control: Complex, at: FloatArray) -> Complex:
    """Return how fast the curves move at these places, one each."""
    back, steps = 1.0 - at, 3.0 * np.diff(control, axis=1)
    inner = 2.0 * steps[:, 1] * at * back
    return np.asarray(steps[:, 0] * back * back + inner + steps[:, 2] * at * at)
