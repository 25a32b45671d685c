"""Lines broken into dashes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from plotout.geometry.polyline import distances, length
from plotout.geometry.strokes import FloatArray

# ISO 128-2: line type 04, dashes and gaps in line widths; these are for a 0.5 mm pen
LONG_DASH_DOT = (12.0, 1.5, 0.25, 1.5)


def dashed(points: FloatArray, pattern: Sequence[float] = LONG_DASH_DOT) -> list[FloatArray]:
    """Return the dashes of a line, (n, 2) each, mm: it begins and ends with the first dash.

    pattern: as for `dashes_along`; stretched evenly so that a whole number of repeats and one
    more dash fill the line. A line too short for that stays whole.
    """
    whole, repeat, first = length(points), sum(pattern), pattern[0]
    count = round((whole - first) / repeat)
    if count < 1:
        return [points]
    stretch = whole / (count * repeat + first)
    return list(dashes_along([points], [dash * stretch for dash in pattern]))


def dashes_along(lines: Sequence[FloatArray], dashes: Sequence[float]) -> Iterator[FloatArray]:
    """Yield the dashes of lines, (n, 2) each, starting at each line's beginning.

    dashes: lengths in mm of dash, gap, dash, gap ..., repeated.
    """
    straight = [points for points in lines if len(points) == 2]
    if straight:
        yield from _dashed_straights(np.array(straight), dashes)
    for points in lines:
        if len(points) > 2:
            reached = distances(points)
            starts, ends = _dashes(float(reached[-1]), dashes)
            tips = [np.column_stack([np.interp(at, reached, axis) for axis in points.T])
                    for at in (starts, ends)]  # fmt: skip
            firsts = np.searchsorted(reached, starts, side="right").tolist()
            lasts = np.searchsorted(reached, ends, side="left").tolist()
            for start, end, first, last in zip(*tips, firsts, lasts, strict=True):
                yield np.concatenate([start[None], points[first:last], end[None]])


def _dashes(whole: float, dashes: Sequence[float]) -> tuple[FloatArray, FloatArray]:
    """Return where the dashes of a line of length `whole` begin and end, (n,), mm."""
    if whole <= dashes[0]:
        return np.zeros(1), np.array([whole])
    turns = int(np.ceil(whole / sum(dashes)))
    marks = np.concatenate([[0.0], np.cumsum(np.tile(dashes, turns))])
    starts, ends = marks[:-1:2], np.minimum(marks[1::2], whole)
    return starts[starts < whole], ends[starts < whole]


def _dashed_straights(lines: FloatArray, dashes: Sequence[float]) -> FloatArray:
    """Return the dashes, (m, 2, 2), of straight lines, (n, 2, 2), all at once."""
    spans = lines[:, 1] - lines[:, 0]
    whole = np.hypot(*spans.T)
    starts, ends = _dashes(max(float(whole.max()), dashes[0]), dashes)
    many = np.maximum(np.searchsorted(starts, np.where(whole <= dashes[0], 0.0, whole)), 1)
    line = np.repeat(np.arange(len(lines)), many)
    dash = np.arange(len(line)) - np.repeat(np.cumsum(many) - many, many)
    size = np.maximum(whole[line], 1e-12)
    shares = np.column_stack([starts[dash], np.minimum(ends[dash], whole[line])]) / size[:, None]
    return np.asarray(lines[line, :1] + shares[:, :, None] * spans[line, None])
