"""Grows an outline: points move as the rules say, and the lines between keep their shape.

A straight line stays straight. A curve is mapped so that its ends move as they should and its end
tangents keep their directions; where it joins a straight line square or smoothly, its tangent turns
with that line, so that square stays square. The map is affine in the two end tangents, so a quarter
of a circle or an ellipse stays one (an affine map takes conics to conics). Where the tangents are
too nearly parallel for that, displacements are blended along the curve by a cubic Hermite.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from plotout.geometry.polyline import distances, length
from plotout.geometry.strokes import FloatArray

_BOW = 0.02  # mm: a line that deviates from its chord by less is straight
_SKEWED = np.sin(np.radians(20.0))  # end tangents closer to parallel than this are blended
_JOINS = math.radians(0.75)  # a corner this near to square, or to smooth, is meant to be so
_LEAST = 0.15  # of a chord: a smaller component along one tangent can't carry its growth,
# and a curve with less of it left would turn its whole corner in a fraction of a millimetre


@dataclass(frozen=True, slots=True, eq=False)
class Grown:
    """A stretch between two grade points: its points, (n, 2), mm, and how its ends move, (2,)."""

    points: FloatArray
    first: FloatArray
    last: FloatArray


def regrown(ring: Sequence[Grown]) -> list[FloatArray]:
    """Return the stretches of a closed outline, grown, (n, 2), in the same order.

    Each begins where the previous one ends, and ends that meet move equally.
    """
    straight = [is_straight(side.points) for side in ring]
    tangents = [tangents_of(side.points) for side in ring]
    turned = [_turn(side) if flat else 0.0 for side, flat in zip(ring, straight, strict=True)]
    result = []
    for at, side in enumerate(ring):
        moved = not (np.allclose(side.first, 0.0) and np.allclose(side.last, 0.0))
        if straight[at]:
            result.append(_sheared(side) if moved else side.points)
            continue
        before, after = (at - 1) % len(ring), (at + 1) % len(ring)
        turns = (
            turned[before] if _meant(tangents[before][1], tangents[at][0]) else 0.0,
            turned[after] if _meant(tangents[at][1], tangents[after][0]) else 0.0,
        )
        result.append(_curve(side, tangents[at], turns) if moved or any(turns) else side.points)
    return [_met(ring, result, at) for at in range(len(ring))]


def _met(ring: Sequence[Grown], lines: Sequence[FloatArray], at: int) -> FloatArray:
    """Return a grown line, beginning exactly where the one before it ends if they met so before."""
    start, line = lines[at - 1][-1], lines[at]
    met = (ring[at].points[0] == ring[at - 1].points[-1]).all()
    return line if not met or (line[0] == start).all() else np.vstack([start, line[1:]])


def warp(outline: FloatArray, grown: FloatArray, points: FloatArray) -> FloatArray:
    """Return points inside an outline, (n, 2), moved as the outline around them is.

    outline, grown: closed, (m, 2), mm, vertex by vertex. By mean value coordinates (M. S. Floater,
    2003): smooth inside, exact on the outline, and a shift or an affine growth of the outline moves
    every point by exactly that.
    """
    moves = (grown - outline)[:-1]
    if not moves.any():
        return points
    corners = outline[:-1]
    result = np.array(points, float)
    for index, point in enumerate(result):
        away = corners - point
        far = np.hypot(*away.T)
        if far.min() < 1e-9:
            result[index] = point + moves[far.argmin()]
            continue
        after = np.roll(away, -1, axis=0)
        cross = away[:, 0] * after[:, 1] - away[:, 1] * after[:, 0]
        dot = (away * after).sum(axis=1)
        half = np.tan(np.arctan2(cross, dot) / 2.0)
        weight = (np.roll(half, 1) + half) / far
        on_line = np.isclose(np.abs(half), np.inf) | (np.abs(half) > 1e8)
        if on_line.any():
            at = int(on_line.argmax())
            share = far[at] / (far[at] + np.hypot(*after[at]))
            result[index] = point + moves[at] * (1 - share) + moves[(at + 1) % len(moves)] * share
            continue
        result[index] = point + weight @ moves / weight.sum()
    return result


def is_straight(points: FloatArray) -> bool:
    """Return whether a line keeps to its chord."""
    chord = points[-1] - points[0]
    size = float(np.hypot(*chord))
    if size == 0.0:
        return False
    off = (points - points[0]) @ np.array([-chord[1], chord[0]]) / size
    return bool(np.abs(off).max() < _BOW)


def tangents_of(points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the directions, (2,), in which a line leaves its start and reaches its end."""
    return _leaving(points), -_leaving(points[::-1])


def _leaving(points: FloatArray) -> FloatArray:
    """Return the direction in which a line leaves its start.

    It is that of a circle through its first points: exact for a circle, else second-order accurate.
    """
    along = distances(points)
    near = int(np.searchsorted(along, min(along[-1] * 0.02, 2.0)))
    mid, far = max(1, near // 2), max(2, near)
    if len(points) < 3:
        direction = points[-1] - points[0]
    else:
        one, two = points[mid] - points[0], points[min(far, len(points) - 1)] - points[0]
        long = (float(np.hypot(*one)), float(np.hypot(*two)))
        if long[0] == 0.0 or long[1] <= long[0]:
            direction = two
        else:
            direction = one / long[0] + (one / long[0] - two / long[1]) * long[0] / (
                long[1] - long[0]
            )
    return np.asarray(direction / np.hypot(*direction))


def _turn(grown: Grown) -> float:
    """Return by how many radians a straight line turns."""
    before = grown.points[-1] - grown.points[0]
    after = before + grown.last - grown.first
    cross = before[0] * after[1] - before[1] * after[0]
    return float(np.arctan2(cross, before @ after))


def _meant(coming: FloatArray, going: FloatArray) -> bool:
    """Return whether two lines are meant to meet square or smoothly."""
    cross = coming[0] * going[1] - coming[1] * going[0]
    angle = abs(float(np.arctan2(cross, coming @ going)))
    return min(angle, abs(angle - math.pi / 2.0)) < _JOINS


def _sheared(grown: Grown) -> FloatArray:
    """Return a straight line with its ends moved, and other points in proportion."""
    chord = grown.points[-1] - grown.points[0]
    share = ((grown.points - grown.points[0]) @ chord / (chord @ chord))[:, None]
    return np.asarray(grown.points + grown.first * (1.0 - share) + grown.last * share)


def _curve(
    side: Grown, tangents: tuple[FloatArray, FloatArray], turns: tuple[float, float]
) -> FloatArray:
    start, end = tangents
    chord = side.points[-1] - side.points[0]
    grown = chord + side.last - side.first
    old = np.column_stack([start, end])
    new = np.column_stack([_rotated(start, turns[0]), _rotated(end, turns[1])])
    if min(abs(np.linalg.det(old)), abs(np.linalg.det(new))) > _SKEWED:
        before, after = np.linalg.solve(old, chord), np.linalg.solve(new, grown)
        shares = (before / np.hypot(*chord), after / max(float(np.hypot(*grown)), 1e-9))
        if all((np.abs(share) > _LEAST).all() for share in shares) and (after / before > 0.0).all():
            inner = np.linalg.solve(old, (side.points - side.points[0]).T)
            scaled = inner * (after / before)[:, None]
            return np.asarray(side.points[0] + side.first + (new @ scaled).T)
    return _blended(side, new, grown - chord, tangents)


def _blended(
    grown: Grown, new: FloatArray, growth: FloatArray, tangents: tuple[FloatArray, FloatArray]
) -> FloatArray:
    """Return a curve with its points moved by a cubic Hermite of the ends' displacements.

    At both ends the displacement's slope lies along the tangent (and turns it, where it must turn),
    so that the tangent keeps its direction.
    """
    whole = length(grown.points)
    u = distances(grown.points)[:, None] / whole
    slopes = [
        (growth @ old) * fresh + (fresh - old) * whole
        for old, fresh in zip(tangents, new.T, strict=True)
    ]
    moved = (
        (2 * u**3 - 3 * u**2 + 1) * grown.first
        + (u**3 - 2 * u**2 + u) * slopes[0]
        + (-2 * u**3 + 3 * u**2) * grown.last
        + (u**3 - u**2) * slopes[1]
    )
    return np.asarray(grown.points + moved)


def _rotated(direction: FloatArray, angle: float) -> FloatArray:
    cos, sin = np.cos(angle), np.sin(angle)
    return np.array(
        [direction[0] * cos - direction[1] * sin, direction[0] * sin + direction[1] * cos]
    )
