"""Measures of polylines: arrays of points, shape (n, 2), mm, y up."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from plotout.geometry.strokes import FloatArray


def distances(points: FloatArray) -> FloatArray:
    """Return the distance along the line to each point, shape (n,), starting at 0."""
    reached = np.zeros(len(points))
    np.cumsum(_steps(points), out=reached[1:])
    return reached


def length(points: FloatArray) -> float:
    """Return the line's length in mm."""
    return float(_steps(points).sum())


def _steps(points: FloatArray) -> FloatArray:
    """Return the distances from point to point, (n - 1,); several times as fast as by np.diff."""
    x, y = points[:, 0], points[:, 1]
    return np.asarray(np.hypot(x[1:] - x[:-1], y[1:] - y[:-1]))


def lengths(lines: Sequence[FloatArray]) -> list[float]:
    """Return the length of every line in mm."""
    if not lines:
        return []
    count = np.array([len(line) for line in lines])
    steps = _steps(np.concatenate([*lines, lines[0][:1]]))
    steps[np.cumsum(count) - 1] = 0.0  # in between
    found: list[float] = np.add.reduceat(steps, np.cumsum(count) - count).tolist()
    return found


def whole_length(lines: Sequence[FloatArray]) -> float:
    """Return the length of all lines together in mm."""
    if not lines:
        return 0.0
    steps = _steps(np.concatenate(lines))
    steps[np.cumsum([len(line) for line in lines[:-1]], dtype=np.int64) - 1] = 0.0  # in between
    return float(steps.sum())


def tips(lines: Sequence[FloatArray]) -> FloatArray:
    """Return the first and last points of all lines, (n, 2, 2), mm."""
    if not lines:
        return np.empty((0, 2, 2))
    whole = np.concatenate(lines)  # a tenth of the time of an array of single points
    count = np.array([len(line) for line in lines])
    ends = np.cumsum(count)
    return np.stack([whole[ends - count], whole[ends - 1]], axis=1)


def all_bounds(lines: Sequence[FloatArray]) -> FloatArray:
    """Return the lowest and the highest x and y of all lines, (n, 2, 2), mm."""
    if not lines:
        return np.empty((0, 2, 2))
    whole, count = np.concatenate(lines), np.array([len(line) for line in lines])
    begin = np.cumsum(count) - count
    return np.stack([np.minimum.reduceat(whole, begin), np.maximum.reduceat(whole, begin)], axis=1)


def goes_somewhere(points: FloatArray) -> bool:
    """Return False for a dot: a single point, or points all in one place."""
    apart = points[0, 0] != points[-1, 0] or points[0, 1] != points[-1, 1]
    return bool(apart or (points != points[0]).any())  # the first is true of most, and quick


def all_go_somewhere(lines: Sequence[FloatArray]) -> list[bool]:
    """Return `goes_somewhere` of every line."""
    if not lines:
        return []
    ends = tips(lines)
    found: list[bool] = (ends[:, 0] != ends[:, 1]).any(axis=1).tolist()
    return [
        apart or goes_somewhere(line) for apart, line in zip(found, lines, strict=True)
    ]  # fmt: skip


def turns(ring: FloatArray) -> FloatArray:
    """Return by how many degrees a closed line turns at each of its points but the repeated one."""
    steps = np.diff(ring, axis=0)
    before = np.roll(steps, 1, axis=0)
    cross = before[:, 0] * steps[:, 1] - before[:, 1] * steps[:, 0]
    return np.asarray(np.degrees(np.abs(np.arctan2(cross, (before * steps).sum(axis=1)))))


def inner_turns(line: FloatArray) -> FloatArray:
    """Return how far a line turns left at each of its inner points: (n - 2,), radians."""
    turns = np.diff(np.arctan2(*np.diff(line, axis=0).T[::-1]))
    return np.asarray((turns + np.pi) % (2.0 * np.pi) - np.pi)


def rotated(points: FloatArray, degrees: float) -> FloatArray:
    """Return the points, (n, 2) or (2,), turned counter-clockwise about the origin."""
    cos, sin = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return np.asarray(points @ np.array([[cos, sin], [-sin, cos]]))


def signed_area(points: FloatArray) -> float:
    """Return the area within a closed line in mm2, positive counter-clockwise (shoelace)."""
    x, y = (points - points[0]).T
    return float(0.5 * (x[:-1] @ y[1:] - x[1:] @ y[:-1] + x[-1] * y[0] - x[0] * y[-1]))


def is_closed(points: FloatArray) -> bool:
    """True when the last point repeats the first."""
    return len(points) > 2 and bool((points[0] == points[-1]).all())


def point_at(points: FloatArray, along: float) -> FloatArray:
    """Return the point, shape (2,), at `along` mm from the start; clamped to the line's ends."""
    reached = distances(points)
    return np.array(
        [np.interp(along, reached, points[:, 0]), np.interp(along, reached, points[:, 1])]
    )


def direction_at(points: FloatArray, along: float) -> FloatArray:
    """Return the unit vector, shape (2,), of travel at `along` mm from the start.

    At a vertex it is the direction of the segment that leaves it.
    """
    reached = distances(points)
    step = int(np.searchsorted(reached, along, side="right")) - 1
    long_enough = np.flatnonzero(_steps(points) > 1e-12)
    if not len(long_enough):
        return np.array([1.0, 0.0])
    index = long_enough[min(int(np.searchsorted(long_enough, max(step, 0))), len(long_enough) - 1)]
    return unit(points[index + 1] - points[index])


def unit(vector: FloatArray) -> FloatArray:
    """Return the vector, shape (2,), scaled to length 1."""
    return np.asarray(vector / np.hypot(vector[0], vector[1]), dtype=np.float64)


def extent(points: FloatArray, along: FloatArray) -> tuple[float, float]:
    """Return how far points, (n, 2), reach along a vector, (2,), and square to it, in mm."""
    x, y = unit(along)
    long, wide = np.ptp(points @ np.array([[x, -y], [y, x]]), axis=0)
    return float(long), float(wide)


def part(points: FloatArray, start: float, end: float) -> FloatArray:
    """Return the stretch of the line between two distances along it, start < end, in mm."""
    reached = distances(points)
    inside = points[(reached > start + 1e-9) & (reached < end - 1e-9)]
    return np.vstack([point_at(points, start), inside, point_at(points, end)])


def without_repeats(points: FloatArray, tolerance: float = 1e-9) -> FloatArray:
    """Drop points within `tolerance` mm of the one before."""
    if len(points) < 2:
        return points
    keep = np.concatenate([[True], _steps(points) > tolerance])
    return np.asarray(points[keep])


def turned_by(one: FloatArray, other: FloatArray) -> float:
    """Return by how many degrees a direction, (2,), turns into another, 0 to 180."""
    (x, y), (u, v) = one, other
    return float(abs(np.degrees(np.arctan2(x * v - y * u, x * u + y * v))))


def without_stubs(points: FloatArray, least: float = 0.05) -> FloatArray:
    """Drop inner points within `least` mm of the ends of a longer line: from a chord so short, the
    direction in which the line begins or ends can't be known.
    """
    reached = distances(points)
    if reached[-1] < 4.0 * least:
        return points
    keep = (reached >= least) & (reached <= reached[-1] - least)
    keep[[0, -1]] = True
    return np.asarray(points[keep])


def all_without_repeats(lines: Sequence[FloatArray], tolerance: float = 1e-9) -> list[FloatArray]:
    """Return `without_repeats` of every line."""
    if not lines:
        return []
    owner = np.repeat(np.arange(len(lines)), [len(line) for line in lines])
    near = _steps(np.concatenate(lines)) <= tolerance
    repeats = set(owner[1:][near & (owner[1:] == owner[:-1])].tolist())
    return [
        without_repeats(line, tolerance) if index in repeats else line
        for index, line in enumerate(lines)
    ]


def bounds(points: FloatArray) -> tuple[float, float, float, float]:
    """Return least x, least y, greatest x, greatest y in mm."""
    low, high = points.min(axis=0), points.max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def placing(
    angle: float = 0.0, shift: tuple[float, float] = (0.0, 0.0), *, mirrored: bool = False
) -> FloatArray:
    """Return a (2, 3) affine map: mirror in the y axis if asked, turn by `angle` degrees, shift."""
    cos, sin = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    flip = -1.0 if mirrored else 1.0
    return np.array([[cos * flip, -sin, shift[0]], [sin * flip, cos, shift[1]]])


def moved(points: FloatArray, matrix: FloatArray) -> FloatArray:
    """Return points (n, 2) under a (2, 3) affine map."""
    return np.asarray(points @ matrix[:, :2].T + matrix[:, 2])


def mirrored(points: FloatArray, start: FloatArray, end: FloatArray) -> FloatArray:
    """Return points (n, 2) mirrored in the line through `start` and `end`, each (2,), mm."""
    along = unit(end - start)
    across = np.array([-along[1], along[0]])
    away = (points - start) @ across
    return np.asarray(points - 2.0 * away[:, None] * across)


def ring_of(lines: Sequence[FloatArray]) -> FloatArray:
    """Return one closed line, (n, 2), from lines that follow one another end to start."""
    return np.vstack([*(line[:-1] for line in lines), lines[0][:1]])


def at_shares(line: FloatArray, share: FloatArray) -> FloatArray:
    """Return the places at shares, (k,), of a line's length, (k, 2)."""
    reached = distances(line)
    along = share * reached[-1]
    return np.column_stack([np.interp(along, reached, line[:, k]) for k in (0, 1)])
