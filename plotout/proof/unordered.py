"""Checks whether lines in any order, divided anywhere, make up the intended lines."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from plotout.geometry.strokes import FloatArray


def uncovered(
    meant: Sequence[FloatArray], drawn: Sequence[FloatArray], tolerance: float
) -> Iterator[tuple[int, FloatArray]]:
    """Give the numbers of meant lines not fully drawn, each with a missing place, (2,).

    A stretch counts as drawn where parts of drawn lines lie along it within `tolerance` mm and
    leave no gap longer than twice that, and something is drawn within `tolerance` of both its ends.
    """
    starts, ends, owners = _with_vertices(*_segments(meant))
    have_a, have_b, _ = _segments(drawn)
    if not len(starts):
        return
    tree = shapely.STRtree(_lines(have_a, have_b).tolist())
    wanted = _lines(starts, ends)
    which, piece = tree.query(wanted, predicate="dwithin", distance=tolerance)
    reported: set[int] = set()
    low, high = _stretches(starts[which], ends[which], have_a[piece], have_b[piece], tolerance)
    sizes = np.hypot(*(ends - starts).T)
    order = np.lexsort((low, which))
    which, low, high = which[order], low[order], high[order]
    first = np.searchsorted(which, np.arange(len(starts) + 1))
    for index in range(len(starts)):
        gap = _gap(low[first[index] : first[index + 1]], high[first[index] : first[index + 1]],
                   float(sizes[index]), 2.0 * tolerance)  # fmt: skip
        if gap is not None and int(owners[index]) not in reported:
            reported.add(int(owners[index]))
            share = gap / sizes[index] if sizes[index] > 0.0 else 0.0
            yield int(owners[index]), starts[index] + share * (ends[index] - starts[index])


def unmatched(
    one: Sequence[FloatArray],
    other: Sequence[FloatArray],
    tolerance: float,
    fits: Callable[[int, int], bool],
) -> tuple[list[int], list[int]]:
    """Pair lines that agree vertex by vertex; return the numbers of those unpaired in either list.

    fits: whether two, by their numbers, may be a pair. Quick, and enough for most drawings: only
    the rest needs `uncovered`.
    """
    if not one or not other:
        return list(range(len(one))), list(range(len(other)))
    from plotout.geometry.nearest import nearest

    near = nearest(_ends(one), _ends(other), within=3.0 * tolerance)[:, 0]
    left: list[int] = []
    free = set(range(len(other)))
    for index, found in enumerate(near.tolist()):
        if found in free and fits(index, found):
            steps = one[index] - other[found]
            if (steps * steps).sum(axis=1).max() <= tolerance * tolerance:
                free.remove(found)
                continue
        left.append(index)
    return left, sorted(free)


def _ends(lines: Sequence[FloatArray]) -> FloatArray:
    """Return what distinguishes lines: first, last and middle points, and number of vertices."""
    return np.array(
        [[*line[0], *line[-1], *line[len(line) // 2], 1000.0 * len(line)] for line in lines]
    )


def _segments(lines: Sequence[FloatArray]) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the starts, ends and owners of all segments; a single point has length 0."""
    kept = [(index, line) for index, line in enumerate(lines) if len(line)]
    if not kept:
        return np.empty((0, 2)), np.empty((0, 2)), np.empty(0)
    starts = [line[:-1] if len(line) > 1 else line for _, line in kept]
    ends = [line[1:] if len(line) > 1 else line for _, line in kept]
    owners = [
        np.full(len(start), float(index)) for (index, _), start in zip(kept, starts, strict=True)
    ]
    return np.vstack(starts), np.vstack(ends), np.concatenate(owners)


def _with_vertices(
    starts: FloatArray, ends: FloatArray, owners: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the segments, and all their ends as segments of length 0."""
    begins = np.concatenate([[True], owners[1:] != owners[:-1]])[: len(owners)]
    points = np.vstack([ends, starts[begins]])
    of = np.concatenate([owners, owners[begins]])
    return np.vstack([starts, points]), np.vstack([ends, points]), np.concatenate([owners, of])


def _lines(starts: FloatArray, ends: FloatArray) -> NDArray[np.object_]:
    """Return the segments as geometries; those of length 0 as points, or nothing is near them."""
    lines = np.asarray(shapely.linestrings(np.stack([starts, ends], axis=1)), dtype=object)
    still = (starts == ends).all(axis=1)
    lines[still] = shapely.points(starts[still])
    return lines


def _stretches(
    start: FloatArray, end: FloatArray, a: FloatArray, b: FloatArray, tolerance: float
) -> tuple[FloatArray, FloatArray]:
    """Return the range, mm along start-end, covered by the part of a-b that lies beside it."""
    along = end - start
    size = np.hypot(*along.T)
    direction = along / np.where(size > 0.0, size, 1.0)[:, None]
    across = np.column_stack([-direction[:, 1], direction[:, 0]])
    a_along, b_along = ((a - start) * direction).sum(axis=1), ((b - start) * direction).sum(axis=1)
    a_off, b_off = ((a - start) * across).sum(axis=1), ((b - start) * across).sum(axis=1)
    slope = b_off - a_off  # clip a-b to the strip that is `tolerance` wide on either side
    steep = np.where(np.abs(slope) > 1e-12, slope, 1e-12)
    one, other = (-tolerance - a_off) / steep, (tolerance - a_off) / steep
    enter = np.clip(np.minimum(one, other), 0.0, 1.0)
    leave = np.clip(np.maximum(one, other), 0.0, 1.0)
    p, q = a_along + enter * (b_along - a_along), a_along + leave * (b_along - a_along)
    return np.minimum(p, q), np.maximum(p, q)


def _gap(low: FloatArray, high: FloatArray, size: float, most: float) -> float | None:
    """Return where along 0 to `size` the intervals, sorted by `low`, leave a gap over `most`."""
    if not len(low):
        return 0.0
    reach = 0.0
    for start, end in zip(low.tolist(), high.tolist(), strict=True):
        if start - reach > most:
            return reach
        reach = max(reach, end)
    return reach if size - reach > most else None
