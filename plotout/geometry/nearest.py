"""The nearest points to places, and points that hang together.

The loops are compiled, because importing a library's tree of points takes longer than ordering a
sheet.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.strokes import FloatArray
from plotout.loops.compiled import compiled, compiled_inner

Ints = NDArray[np.int64]


def nearest(
    places: FloatArray,
    points: FloatArray,
    count: int = 1,
    *,
    independent: bool = False,
    within: float = math.inf,
) -> Ints:
    """Return the numbers of the points nearest to every place, the nearest first, (n, count).

    places: (n, d), points: (m, d), mm. -1 where fewer lie nearer than `within` mm. independent: the
    distance is the longest along an axis, not the straight one.
    """
    if not len(points):
        return np.full((len(places), count), -1, np.int64)
    strips = strips_of(points, count)
    return nearest_in(strips, places, count, independent=independent, within=within)


class Strips(NamedTuple):
    """Points sorted for `nearest_in`. axes: (d,) in the order in which they are used.

    order: (m,) the points' numbers, strip by strip, and points: (m, d), so sorted. first: (s + 1,)
    where strips begin; sides: (s, 2) their extent along the first axis.
    """

    axes: Ints
    order: Ints
    points: FloatArray
    first: Ints
    sides: FloatArray


def strips_of(points: FloatArray, count: int) -> Strips:
    """Return points, (m, d), m > 0, sorted for finding `count` of them near many places."""
    axes = np.argsort(-np.ptp(points, axis=0), kind="stable")
    points = points[:, axes]
    first, order = _strips(points, max(int(np.sqrt(count * len(points)) / 2.0), 1))
    points = np.ascontiguousarray(points[order])
    low = np.minimum.reduceat(points[:, 0], first[:-1])
    high = np.maximum.reduceat(points[:, 0], first[:-1])
    return Strips(axes, order, points, first, np.column_stack([low, high]))


def nearest_in(
    strips: Strips, places: FloatArray, count: int, *, independent: bool, within: float = math.inf
) -> Ints:
    """Return what `nearest` does, of points that were sorted once for several calls."""
    places = np.ascontiguousarray(places[:, strips.axes])
    own = np.searchsorted(strips.sides[:, 1], places[:, 0])
    found = np.full((len(places), count), -1, np.int64)
    find_nearest(
        places, strips.points, strips.first, strips.sides, own, independent, within, found,
        np.empty(count),
    )  # fmt: skip
    return np.append(strips.order, -1)[found]


def _strips(points: FloatArray, size: int) -> tuple[Ints, Ints]:
    """Divide points into strips of so many, across the first axis; sort each along the second.

    points: (n, d). Returns where the strips begin and the last ends in the order, and the order.
    """
    strip = np.empty(len(points), np.int64)
    strip[np.argsort(points[:, 0], kind="stable")] = np.arange(len(points)) // size
    return np.append(np.arange(0, len(points), size), len(points)), np.lexsort(
        [points[:, 1], strip]
    )


@compiled
def find_nearest(
    places: FloatArray, points: FloatArray, first: Ints, sides: FloatArray, own: Ints,
    independent: bool, within: float, found: Ints, far: FloatArray,
) -> None:  # fmt: skip
    """Find the points nearest to every place, in its strip and then in those on both sides of it.

    points: (m, d), in strips, see `_strips`; first: (s + 1,) where these begin, sides: (s, 2) their
    extent along the first axis; own: (n,) the first strip that does not end before the place.
    found: (n, count), receives the points' numbers; it is -1 at first. far: (count,), for working.
    """
    for place in range(len(places)):
        known, limit, x = 0, within if independent else within * within, places[place, 0]
        below, above = own[place] - 1, own[place]
        while below >= 0 or above < len(sides):
            down = x - sides[below, 1] if below >= 0 else math.inf
            up = max(sides[above, 0] - x, 0.0) if above < len(sides) else math.inf
            step = min(down, up)
            if (step if independent else step * step) >= limit:
                break
            strip = below if down < up else above
            below, above = (below - 1, above) if down < up else (below, above + 1)
            known = _along_strip(
                places[place], points, first[strip], first[strip + 1], independent, limit,
                found[place], far, known,
            )  # fmt: skip
            if known == len(far):
                limit = far[-1]


@compiled_inner
def _along_strip(
    place: FloatArray, points: FloatArray, begin: int, end: int, independent: bool, limit: float,
    found: Ints, far: FloatArray, known: int,
) -> int:  # fmt: skip
    """Look at a strip's points, going out from the place; return how many are known now.

    found: (count,) the nearest so far, far: (count,) their distances, squared if not independent.
    """
    low, high = begin, end
    while low < high:
        middle = (low + high) // 2
        if points[middle, 1] < place[1]:
            low = middle + 1
        else:
            high = middle
    below = low - 1
    while below >= begin or high < end:
        down = place[1] - points[below, 1] if below >= begin else math.inf
        up = points[high, 1] - place[1] if high < end else math.inf
        step = min(down, up)
        if (step if independent else step * step) >= limit:
            break
        point = below if down < up else high
        below, high = (below - 1, high) if down < up else (below, high + 1)
        gap = 0.0
        for axis in range(len(place)):
            off = abs(place[axis] - points[point, axis])
            gap = max(gap, off) if independent else gap + off * off
        if gap < limit:
            rank = min(known, len(far) - 1)
            while rank > 0 and far[rank - 1] > gap:
                far[rank], found[rank] = far[rank - 1], found[rank - 1]
                rank -= 1
            far[rank], found[rank] = gap, point
            known = min(known + 1, len(far))
            if known == len(far):
                limit = far[-1]
    return known


def clusters(points: FloatArray, tolerance: float) -> Ints:
    """Return the cluster numbers of points, (n, d): chains within `tolerance` mm."""
    longest = int(np.argmax(np.ptp(points, axis=0))) if len(points) else 0
    # one point per small cell first, so that many points in one place give few pairs
    cells = np.round(points / (tolerance / 4.0))
    order = np.lexsort([*cells.T, cells[:, longest]])
    begins = np.append(True, (np.diff(cells[order], axis=0) != 0.0).any(axis=1))[: len(order)]
    cell = np.empty(len(points), np.int64)
    cell[order] = np.cumsum(begins) - 1
    first = points[order[begins]]
    first = first[rank := np.argsort(first[:, longest], kind="stable")]
    label = np.arange(len(first))
    join_near(np.ascontiguousarray(first), longest, tolerance, label)
    of_cell = np.empty(len(first), np.int64)
    of_cell[rank] = label
    return np.asarray(of_cell[cell])


@compiled_inner
def end_of(number: int, label: Ints) -> int:
    """Return where a number's chain of labels ends, and halve the way there."""
    while label[number] != number:
        label[number] = label[label[number]]
        number = label[number]
    return number


@compiled_inner
def _join(one: int, other: int, label: Ints) -> None:
    """Make two numbers' chains of labels lead to the same, the lower of their ends."""
    one, other = end_of(one, label), end_of(other, label)
    label[max(one, other)] = min(one, other)


@compiled_inner
def _settle(label: Ints) -> None:
    for number in range(len(label)):
        label[number] = label[label[number]]  # which is settled: labels lead to lower numbers


@compiled
def join_near(points: FloatArray, axis: int, reach: float, label: Ints) -> None:
    """Give points in chains within `reach` the same label. points: (n, d), sorted by the axis.

    label: (n,), the points' own numbers at first.
    """
    for one in range(len(points)):
        for other in range(one + 1, len(points)):
            if points[other, axis] - points[one, axis] > reach:
                break
            square = 0.0
            for each in range(points.shape[1]):
                square += (points[other, each] - points[one, each]) ** 2
            if square <= reach * reach:
                _join(one, other, label)
    _settle(label)


def connected(node: Ints) -> Ints:
    """Return the numbers of the connected parts of nodes. node: (m, 2), those that edges join."""
    label = np.arange(int(node.max()) + 1)
    join_pairs(np.ascontiguousarray(node), label)
    return label


@compiled
def join_pairs(pairs: Ints, label: Ints) -> None:
    """Give numbers that pairs connect the same label: their lowest. label: (n,), their own."""
    for pair in range(len(pairs)):
        _join(pairs[pair, 0], pairs[pair, 1], label)
    _settle(label)


def loops() -> list[tuple[Callable[..., object], Any]]:
    """Return every loop that Python calls, and its type for numba, for compiling it ahead."""
    import numba

    types: Any = numba.types
    points, far = types.Array(types.float64, 2, "C"), types.Array(types.float64, 1, "C")
    whole, number, truth = types.int64, types.float64, types.boolean
    wholes, pairs = types.Array(whole, 1, "C"), types.Array(whole, 2, "C")
    nothing = types.void
    return [
        (
            find_nearest,
            nothing(points, points, wholes, points, wholes, truth, number, pairs, far),
        ),
        (join_near, nothing(points, whole, number, wholes)),
        (join_pairs, nothing(pairs, wholes)),
    ]
