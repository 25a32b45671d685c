"""Loose lines joined end to end."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from plotout.geometry.polyline import length
from plotout.geometry.strokes import FloatArray

JOIN = 0.05  # mm


class BranchingError(ValueError):
    """More than two lines meet at `at`, (x, y) mm."""

    def __init__(self, at: FloatArray) -> None:
        super().__init__("more than two lines meet")
        self.at = (float(at[0]), float(at[1]))


def joined(lines: Sequence[FloatArray], tolerance: float = JOIN) -> list[FloatArray]:
    """Return `lines`, each (n, 2), mm, joined where their ends lie within `tolerance`.

    A line is reversed where needed; a chain that returns to its start is closed exactly. Lines
    drawn twice, and lines shorter than the tolerance, count once. Raises BranchingError.
    """
    closed, loose = [], []
    for line in _each_once(lines):
        gap = float(np.hypot(*(line[-1] - line[0])))
        if length(line) <= tolerance:
            continue
        if gap <= tolerance and len(line) > 2:
            closed.append(np.vstack([line[:-1], line[:1]]))
        else:
            loose.append(line)
    return closed + _chains(loose, _mates(loose, tolerance))


def _each_once(lines: Sequence[FloatArray]) -> list[FloatArray]:
    kept: dict[bytes, FloatArray] = {}
    for line in lines:
        there, back = (np.round(ends, 6) + 0.0 for ends in (line, line[::-1]))
        kept.setdefault(min(there.tobytes(), back.tobytes()), line)
    return list(kept.values())


def _mates(lines: Sequence[FloatArray], tolerance: float) -> dict[int, int]:
    """Return which end meets which: line n has the ends 2n (its first point) and 2n + 1."""
    if not lines:
        return {}
    ends = np.array([point for line in lines for point in (line[0], line[-1])])
    points = np.asarray(shapely.points(ends))
    near = shapely.STRtree(points).query(points, predicate="dwithin", distance=tolerance)
    mates: dict[int, int] = {}
    for a, b in sorted((int(a), int(b)) for a, b in near.T if a < b):
        if a in mates or b in mates:
            raise BranchingError(ends[a])
        mates[a], mates[b] = b, a
    return mates


def _chains(lines: Sequence[FloatArray], mates: dict[int, int]) -> list[FloatArray]:
    left = dict.fromkeys(range(len(lines)))
    chains = []
    while left:
        # begin at a free end, if any, so that an open chain is walked whole
        free = (end for index in left for end in (2 * index, 2 * index + 1) if end not in mates)
        end: int | None = next(free, 2 * next(iter(left)))
        parts: list[FloatArray] = []
        first = end
        while end is not None and end // 2 in left:
            del left[end // 2]
            line = lines[end // 2].copy()
            line = line[::-1] if end % 2 else line
            if parts:
                line[0] = parts[-1][-1] = (line[0] + parts[-1][-1]) / 2.0
            parts.append(line)
            end = mates.get(end ^ 1)
        points = np.vstack([parts[0], *(line[1:] for line in parts[1:])])
        if end == first:
            points[0] = points[-1] = (points[0] + points[-1]) / 2.0
        chains.append(points)
    return chains
