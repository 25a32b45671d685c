"""Finds sides of lines that lie on one another, among very many."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray

from plotout.geometry.strokes import FloatArray

Ints: TypeAlias = NDArray[np.int64]

_AT_ONCE = 200
"""Ends searched for at a time: where all lie on one another, each finds all of them."""
_FIELDS = 12
_MET = 8
"""Boxes of lines that meet each one's, on average, above which lines are not sorted by boxes."""
_NEAR = 8
"""Sides near a side's end, of any direction, above which directions are searched one by one."""
_PROBED = 64


@dataclass(frozen=True, slots=True, eq=False)
class Sides:
    """Straight sides of lines, (n, 2) head and tail, mm, with their lines and places in them."""

    heads: FloatArray
    tails: FloatArray
    line: Ints
    place: Ints

    @property
    def size(self) -> FloatArray:
        """Lengths, mm."""
        return np.asarray(np.hypot(*(self.tails - self.heads).T))

    @property
    def angle(self) -> FloatArray:
        """Directions, 0 up to pi, regardless of sense."""
        side = self.tails - self.heads
        return np.asarray(np.mod(np.arctan2(side[:, 1], side[:, 0]), np.pi))

    def some(self, which: NDArray[np.bool_] | Ints) -> Sides:
        """Return only these."""
        return Sides(self.heads[which], self.tails[which], self.line[which], self.place[which])


def beside_others(sides: Sides, tolerance: float) -> Sides:
    """Return only the sides of lines whose boxes meet another's: most letters meet no other line.

    sides: of all of a line together. All of them where very many boxes meet.
    """
    first = np.flatnonzero(np.append(True, sides.line[1:] != sides.line[:-1]))
    low = np.minimum.reduceat(np.minimum(sides.heads, sides.tails), first) - tolerance
    high = np.maximum.reduceat(np.maximum(sides.heads, sides.tails), first) + tolerance
    boxes = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
    tree = shapely.STRtree(boxes)
    meets = np.zeros(len(boxes), dtype=np.bool_)
    pairs = 0
    for begin in range(0, len(boxes), _AT_ONCE):
        some, others = tree.query(boxes[begin : begin + _AT_ONCE])
        pairs += len(some)
        if pairs > _MET * (begin + _AT_ONCE):
            return sides
        meets[(some + begin)[some + begin != others]] = True
    return sides.some(np.repeat(meets, np.diff([*first, len(sides.line)])))


class TooManyError(Exception):
    """More pairs of sides coincide than fit in memory at once."""


def lying(one: Sides, other: Sides, most: int | None, tolerance: float) -> tuple[Ints, Ints]:
    """Return sides of `one` with an end on a side of `other` that is as long and parallel.

    If two sides overlap, an end of the shorter lies on the other, and their directions differ so
    little that the shorter strays by at most two tolerances. Raises TooManyError above `most`.
    """
    alike = _Alike.of(one, other, tolerance)
    try:
        return _by_place(one, other, alike, most, tolerance)
    except _TooNearError:
        return _by_direction(one, other, alike, most, tolerance)


class _TooNearError(Exception):
    """Many sides of all directions are near one another."""


@dataclass(frozen=True, slots=True, eq=False)
class _Alike:
    """Which sides are as long and parallel.

    scale, other_scale: classes of length. short: sides of `one` that are long enough to count.
    angle, other_angle: directions.
    """

    scale: Ints
    other_scale: Ints
    angle: FloatArray
    other_angle: FloatArray
    short: Ints

    @staticmethod
    def of(one: Sides, other: Sides, tolerance: float) -> _Alike:
        """Compare sides."""
        size = one.size
        short = np.flatnonzero(size > 2.0 * tolerance)
        scales = _scale(size, tolerance), _scale(other.size, tolerance)
        return _Alike(*scales, one.angle, other.angle, short)

    def pairs(self, a: Ints, b: Ints) -> NDArray[np.bool_]:
        """Return which sides a of `one` and b of `other` are."""
        width = np.pi / _fields(self.scale[a])
        own, beside = (
            np.minimum((angle / width).astype(np.int64), _fields(self.scale[a]) - 1)
            for angle in (self.angle[a], self.other_angle[b])
        )
        apart = np.abs(own - beside)
        apart = np.minimum(apart, _fields(self.scale[a]) - apart)
        near: NDArray[np.bool_] = apart <= _reach(self.scale[a])
        return near & (self.other_scale[b] >= self.scale[a])


def _stray(scale: Ints) -> FloatArray:
    """Return how much two sides' directions may differ, radians."""
    return np.asarray(np.arcsin(np.minimum(4.0 ** -scale.astype(np.float64), 1.0)))


def _fields(scale: Ints) -> Ints:
    """Return how many fields directions are divided into."""
    many = (np.pi / np.maximum(_stray(scale), 1e-5)).astype(np.int64)
    return np.asarray(np.maximum(many, _FIELDS))


def _reach(scale: Ints) -> Ints:
    """Return by how many fields two sides' directions may differ."""
    fields = _fields(scale)
    reach = np.ceil(_stray(scale) / (np.pi / fields)).astype(np.int64)
    return np.asarray(np.minimum(reach, fields // 2))


def _by_place(
    one: Sides, other: Sides, alike: _Alike, most: int | None, tolerance: float
) -> tuple[Ints, Ints]:
    """Search all sides near an end. Raises _TooNearError where these are very many."""
    tree = shapely.STRtree(shapely.linestrings(np.stack([other.heads, other.tails], axis=1)))
    probed = np.linspace(0, len(one.line) - 1, _PROBED).astype(np.int64)
    boxes = shapely.points(one.heads[probed])
    if tree.query(boxes).shape[1] > _NEAR * _PROBED:
        raise _TooNearError
    found: list[tuple[Ints, Ints]] = []
    near = count = 0
    for ends in (one.heads, one.tails):
        for first in range(0, len(alike.short), _AT_ONCE):
            some = alike.short[first : first + _AT_ONCE]
            end, piece = _beside(tree, ends[some], other, tolerance)
            near += len(end)
            if near > _NEAR * (len(one.line) + len(other.line)):
                raise _TooNearError
            pair = some[end], piece
            if one is other:
                apart = one.line[pair[0]] != one.line[pair[1]]
                pair = pair[0][apart], pair[1][apart]
            keep = alike.pairs(*pair)
            found.append((pair[0][keep], pair[1][keep]))
            count += int(keep.sum())
            if most is not None and count > most:
                raise TooManyError
    none = np.empty(0, np.int64)
    return np.concatenate([none, *(a for a, _ in found)]), np.concatenate(
        [none, *(b for _, b in found)]
    )


def _beside(
    tree: shapely.STRtree, places: FloatArray, sides: Sides, tolerance: float
) -> tuple[Ints, Ints]:
    """Return places, (n, 2), and sides, which the tree holds, within `tolerance` of each other."""
    low, high = places - tolerance, places + tolerance
    place, side = tree.query(shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1]))
    head, at = sides.heads[side], places[place]
    along = sides.tails[side] - head
    whole = np.maximum((along * along).sum(axis=1), 1e-300)
    share = np.clip(((at - head) * along).sum(axis=1) / whole, 0.0, 1.0)
    near = np.hypot(*(head + along * share[:, None] - at).T) <= tolerance
    return place[near], side[near]


def _by_direction(
    one: Sides, other: Sides, alike: _Alike, most: int | None, tolerance: float
) -> tuple[Ints, Ints]:
    """Search by length and by direction, every direction in a separate field, turned level."""
    shift = float(np.ptp(np.vstack([one.heads, one.tails, other.heads, other.tails]))) * 3.0 + 1.0
    found: list[tuple[Ints, Ints]] = []
    count = 0
    for step in np.unique(alike.scale[alike.short]):
        short = alike.short[alike.scale[alike.short] == step]
        long = np.flatnonzero(alike.other_scale >= step)
        fields, reach = int(_fields(step)), int(_reach(step))
        level = _Level(np.pi / fields, shift)
        field = np.minimum((alike.other_angle[long] / level.width).astype(np.int64), fields - 1)
        pieces = np.stack([level.of(p[long], field) for p in (other.heads, other.tails)], axis=1)
        tree = shapely.STRtree(shapely.linestrings(pieces))
        own = np.minimum((alike.angle[short] / level.width).astype(np.int64), fields - 1)
        for off in range(-reach, reach + (fields > 2 * reach)):
            beside = (own + off) % fields
            for ends in (one.heads, one.tails):
                for first in range(0, len(short), _AT_ONCE):
                    some = short[first : first + _AT_ONCE]
                    spots = level.of(ends[some], beside[first : first + _AT_ONCE])
                    end, piece = tree.query(
                        shapely.points(spots), predicate="dwithin", distance=tolerance
                    )
                    pair = some[end], long[piece]
                    if one is other:
                        apart = one.line[pair[0]] != one.line[pair[1]]
                        pair = pair[0][apart], pair[1][apart]
                    found.append(pair)
                    count += len(pair[0])
                    if most is not None and count > most:
                        raise TooManyError
    if not found:
        return np.empty(0, np.int64), np.empty(0, np.int64)
    return np.concatenate([a for a, _ in found]), np.concatenate([b for _, b in found])


def _scale(size: FloatArray, tolerance: float) -> Ints:
    """Return the class of a side's length, in powers of four of two tolerances."""
    times = np.maximum(size / (2.0 * tolerance), 1.0)
    return np.asarray(np.floor(np.log(times) / np.log(4.0)), dtype=np.int64)


@dataclass(frozen=True, slots=True)
class _Level:
    """Fields for directions `width` apart, radians: turned level, `shift` mm above one another."""

    width: float
    shift: float

    def of(self, points: FloatArray, field: Ints) -> FloatArray:
        """Return points, (n, 2), where they are in these fields."""
        turn = (field + 0.5) * self.width
        along = points[:, 0] * np.cos(turn) + points[:, 1] * np.sin(turn)
        across = points[:, 1] * np.cos(turn) - points[:, 0] * np.sin(turn)
        return np.column_stack([along, across + field * self.shift])
