"""DXF curves as polylines, and loose lines joined end to end."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from plotout import FloatArray

GAP = 0.05  # mm that the ends of loose lines may lie apart


def flattened(entity: Any, tolerance: float) -> Iterator[FloatArray]:
    """Give the entity's lines, (n, 2), within `tolerance` drawing units; nothing if it has none."""
    from ezdxf import path as paths

    try:
        made = paths.make_path(entity)
    except TypeError:  # not a line: a hatch, an image ...
        return
    for part in made.sub_paths():
        points = np.array([[v.x, v.y] for v in part.flattening(tolerance, segments=4)])
        if len(points) > 1:
            if part.is_closed:
                points[-1] = points[0]
            yield points


def joined(lines: list[FloatArray]) -> list[FloatArray]:
    """Join lines, (n, 2) in mm, whose ends meet within GAP, turning them where needed."""
    left = [line for line in lines if len(line) > 1]
    whole: list[FloatArray] = []
    while left:
        chain = left.pop(0)
        while not _closed(chain):
            nth, line = _next(chain[-1], left)
            if line is None:
                break
            left.pop(nth)
            chain = np.vstack([chain, line[1:]])
        if _closed(chain):
            chain = np.vstack([chain[:-1], chain[:1]])
        whole.append(chain)
    return whole


def _closed(line: FloatArray) -> bool:
    return len(line) > 2 and bool(np.hypot(*(line[0] - line[-1])) <= GAP)


def _next(end: FloatArray, left: list[FloatArray]) -> tuple[int, FloatArray | None]:
    for nth, line in enumerate(left):
        if np.hypot(*(line[0] - end)) <= GAP:
            return nth, line
        if np.hypot(*(line[-1] - end)) <= GAP:
            return nth, line[::-1]
    return -1, None
