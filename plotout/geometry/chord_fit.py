"""The longest chords along lines, for many vertices at once, as simplify.chord_end for one."""

from __future__ import annotations

import numpy as np

from plotout.geometry.arc_fit import Flags, Indices, Points
from plotout.geometry.simplify import AHEAD
from plotout.geometry.strokes import FloatArray

FIRST = 8  # points checked first; four times as many each time that they don't suffice


def longest_chords(points: Points, begin: Indices, last: Indices) -> Indices:
    """Return the furthest vertices that chords can reach, none past its last vertex."""
    end, size = begin + 1, FIRST
    left = np.arange(len(begin))
    while left.size:
        end[left], settled = _ends(points, begin[left], last[left], size)
        left, size = left[~settled], 4 * size
    return end


def _ends(points: Points, begin: Indices, last: Indices, size: int) -> tuple[Indices, Flags]:
    """Return the furthest within `size` points, and whether none beyond can be further.

    Every point that a chord passes bounds its direction, except those within the tolerance of
    its beginning. Angles are from the first such bound. Lines run along axis 1.
    """
    steps = np.arange(1, size + 1)
    index, there = begin[:, None] + steps, begin[:, None] + steps <= last[:, None]
    direction = (
        points.places[np.where(there, index, begin[:, None])] - points.places[begin][:, None]
    )
    length, within = np.abs(direction), points.within[begin][:, None]
    bounds = length > within
    first = np.take_along_axis(direction, bounds.argmax(axis=1)[:, None], axis=1)
    angle, spread = (
        np.angle(direction * np.conj(first)),
        np.arcsin(within / np.maximum(length, within)),
    )
    right = np.maximum.accumulate(np.where(bounds, angle - spread, -np.pi), axis=1)
    left = np.minimum.accumulate(np.where(bounds, angle + spread, np.pi), axis=1)
    low, high = _before(right, -np.pi), _before(left, np.pi)
    can = there & (low <= angle) & (angle <= high)
    can &= length >= np.maximum.accumulate(length, axis=1)
    late = steps - np.maximum.accumulate(np.where(can, steps, 1), axis=1) > AHEAD
    back = (high - low < np.pi) & (np.abs(angle - (low + high) / 2.0) >= np.pi / 2.0)
    stopped = np.logical_or.accumulate(~there | late | (bounds & back) | (right > left), axis=1)
    can &= _before(stopped, 0.0) == 0.0
    return begin + np.where(can, steps, 1).max(axis=1), stopped[:, -1]


def _before(values: FloatArray | Flags, first: float) -> FloatArray:
    """Return the values shifted by one, beginning with `first`."""
    return np.column_stack([np.full(len(values), first), values[:, :-1]])
