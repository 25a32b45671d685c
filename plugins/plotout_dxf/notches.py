"""Notches that a DXF holds twice: as a record, and as a line or a dent in the boundary."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray

from plotout import FloatArray, NotchKind, Shape

_ON = 0.3  # mm: a foot this near to the boundary is cut into it
_FLAT = 0.1  # of a depth: the boundary is out of the notch again (a concave edge bows in a little)
_WIDEST = 6.0  # depths between a dent's corners at most
_LEVEL = 0.01  # mm: a floor's corners are equally deep
_SAME = 0.5  # mm: a line that begins this near to a record is the same notch


def filled_in(shapes: Sequence[Shape], records: Sequence[Shape]) -> tuple[list[Shape], list[Shape]]:
    """Return an outline without the dents of the recorded notches, and the records.

    A record on the layer of slits and V notches whose notch is a dent is a V.
    """
    if len(shapes) != 1:
        return list(shapes), list(records)
    ring, known = shapes[0].points, []
    for record in records:
        less = _without_dent(ring, record)
        if less is None:
            known.append(record)
            continue
        ring = less
        known.append(replace(record, text=record.text or NotchKind.V.value))
    return [replace(shapes[0], points=ring)], known


def known_once(drawn: Sequence[Shape], records: Sequence[Shape]) -> list[Shape]:
    """Return drawn and recorded notches; one that is both has its line's kind."""
    made: list[Shape] = []
    left = list(drawn)
    for record in records:
        same = [one for one in left if _is_of(one, record)]
        left = [one for one in left if not any(one is other for other in same)]
        kind = record.text or next((one.text for one in same), "")
        made.append(replace(record, text=kind))
    return left + made


def _is_of(drawn: Shape, record: Shape) -> bool:
    """Return whether a drawn notch is that of a record: either of its ends is at its mouth.

    At an inner corner both ends of a slit lie as near to the boundary.
    """
    ends = [drawn.points[0]]
    if drawn.angle is not None:
        turn = np.radians(drawn.angle)
        ends.append(ends[0] + drawn.size * np.array([np.cos(turn), np.sin(turn)]))
    return any(np.hypot(*(end - record.points[0])) < _SAME for end in ends)


def _without_dent(ring: FloatArray, record: Shape) -> FloatArray | None:
    """Return a closed line, (n, 2), without the dent of a notch; None if it has none there."""
    if record.angle is None or record.size <= 0.0 or len(ring) < 5:
        return None
    turn = np.radians(record.angle)
    inward = np.array([np.cos(turn), np.sin(turn)])
    at, depth = record.points[0], record.size
    foot = at + inward * depth
    line = shapely.LineString(ring)
    if line.distance(shapely.Point(foot)) > _ON:
        return None
    points = ring[:-1]
    deep = (points - at) @ inward
    near = np.hypot(*(points - at).T) <= _WIDEST * depth
    inside = near & (deep > _FLAT * depth)
    nearest = int(np.where(inside, np.hypot(*(points - foot).T), np.inf).argmin())
    if not inside[nearest]:
        return None
    first, last = (_rim(deep, inside, nearest, by) for by in (-1, 1))
    corners = points[[first, last]]
    if first == last or np.hypot(*(corners[1] - corners[0])) > _WIDEST * depth:
        return None
    count = len(points)
    kept = [points[(last + n) % count] for n in range((first - last) % count + 1)]
    return np.vstack([*kept, kept[0]])


def _rim(deep: FloatArray, inside: NDArray[np.bool_], foot: int, by: int) -> int:
    """Return the vertex at which a dent ends, from its foot on in one direction.

    That is the first that is not inside, or the last before the boundary goes in again, as it does
    past a notch that is not square to it.
    """
    at = foot
    for _ in range(len(deep)):
        after = (at + by) % len(deep)
        if at != foot and deep[after] > deep[at] + _LEVEL:
            return at
        at = after
        if not inside[at]:
            break
    return at
