"""Tabs: bridges that hold a card in its stock until it is broken out."""

from __future__ import annotations

from itertools import pairwise
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.polyline import distances, is_closed, length, part
from plotout.geometry.strokes import FloatArray

Choice: TypeAlias = NDArray[np.bool_]

SAMPLE = 1.0  # mm
AWAY = 8.0  # mm from a tab's middle to corners, notches and other marks
BEND = 6.0  # degrees by which the line may turn within that
CLOSE = 2.0  # mm from a tab's end to them where there is no better place
CURVE = 40.0  # degrees by which the line may turn there, evenly
CORNER = 15.0  # degrees of turn at one vertex that make it a corner, not a curve


def tabbed(
    line: FloatArray, count: int, width: float, spacing: float, marks: FloatArray
) -> tuple[list[FloatArray], int]:
    """Return a line, (n, 2), cut into stretches with a tab between any two, and how many tabs.

    count: tabs wanted; more where `spacing` (mm, 0: any) would be exceeded. They are spaced as
    evenly as possible: on a straight stretch away from corners and `marks`, (m, 2), mm, else on an
    even curve, else wherever there is neither a corner nor a mark. A closed line has a tab after
    every stretch. There are fewer if there is no such place.
    """
    whole = length(line)
    wanted = max(count, int(np.ceil(whole / spacing)) if spacing > 0.0 else 0)
    places = _places(line, whole, wanted, width, marks)
    if not places:
        return [line], 0
    half = width / 2.0
    if is_closed(line):
        line = np.vstack([line, line[1:]])
        bounds = [*places, places[0] + whole]
    else:
        bounds = [-half, *places, whole + half]
    return [part(line, begin + half, end - half) for begin, end in pairwise(bounds)], len(places)


def _places(
    line: FloatArray, whole: float, wanted: int, width: float, marks: FloatArray
) -> list[float]:
    """Return where along the line the tabs' centres are, mm, in order."""
    samples = np.arange(0.0, whole, SAMPLE)
    choices = [
        _fit(line, samples, marks, AWAY + width / 2.0, BEND),
        _fit(line, samples, marks, CLOSE + width / 2.0, CURVE),
    ]
    if not is_closed(line):
        choices = [c & (samples > width) & (samples < whole - width) for c in choices]
    places: list[float] = []
    for index in range(wanted):
        off = np.abs(samples - (index + 0.5) * whole / wanted)
        for fit in choices:
            near = np.flatnonzero(
                fit & (off < 0.5 * whole / wanted) & _apart(samples, places, whole, width)
            )
            if len(near):
                places.append(float(samples[near[np.argmin(off[near])]]))
                break
    if len(places) < wanted:  # then as many as there is room for, in any share
        places = _spread(samples[choices[-1]], whole, wanted, 2.0 * width + CLOSE) or places
    return sorted(places)


def _spread(open_places: FloatArray, whole: float, wanted: int, least: float) -> list[float]:
    """Return as many of a ring's open places as are more than `least` mm apart, at most `wanted`.

    Of the ways to choose so many, one in which the two nearest are about as far apart as can be.
    """
    for count in range(min(wanted, len(open_places)), 0, -1):
        best = _chosen(open_places, whole, count, least)
        if best is None:
            continue
        near, far = least, whole / count
        while far - near > SAMPLE:
            middle = (near + far) / 2.0
            found = _chosen(open_places, whole, count, middle)
            near, far, best = (middle, far, found) if found is not None else (near, middle, best)
        return [float(place) for place in best % whole]
    return []


def _chosen(open_places: FloatArray, whole: float, count: int, apart: float) -> FloatArray | None:
    """Return `count` places on a ring that are more than `apart` mm from each other, if any."""
    if whole <= apart:
        return open_places[:1] if count == 1 else None
    twice = np.append(open_places, open_places + whole)
    following = np.append(np.searchsorted(twice, twice + apart, side="right"), len(twice))
    series = [np.arange(len(open_places))]
    for _ in range(count - 1):
        series.append(following[series[-1]])
    ends = np.append(twice, np.inf)[series[-1]]
    good = np.flatnonzero(ends < open_places + whole - apart)
    return twice[[indices[good[0]] for indices in series]] if len(good) else None


def _apart(samples: FloatArray, places: list[float], whole: float, width: float) -> Choice:
    """Return for every sample whether a tab there is more than its width from its neighbours."""
    return np.asarray(_gaps(samples, places, whole) > 2.0 * width + CLOSE)


def _gaps(samples: FloatArray, places: list[float], whole: float) -> FloatArray:
    """Return the distance along the line, either way, from every sample to the nearest place."""
    if not places:
        return np.full(len(samples), np.inf)
    off = np.abs(samples[:, None] - np.array(places)) % whole
    return np.asarray(np.minimum(off, whole - off).min(axis=1))


def _fit(
    line: FloatArray, samples: FloatArray, marks: FloatArray, reach: float, bend: float
) -> Choice:
    """Return for every sample whether the line is even and free of marks within `reach` mm."""
    reached = distances(line)
    fit = _even(line, samples, reached, reach, bend)
    if len(marks):
        at = np.column_stack([np.interp(samples, reached, line[:, k]) for k in (0, 1)])
        gaps = np.hypot(*(at[:, None, :] - marks[None, :, :]).transpose(2, 0, 1))
        fit &= gaps.min(axis=1) > reach
    return fit


def _even(
    line: FloatArray, samples: FloatArray, reached: FloatArray, reach: float, bend: float
) -> Choice:
    """Return for every sample whether the line turns by less than `bend` degrees, and evenly."""
    steps = np.diff(line, axis=0)
    angles = np.arctan2(steps[:, 1], steps[:, 0])
    before = angles[-1:] if is_closed(line) else angles[:1]
    turns = np.diff(np.concatenate([before, angles]))
    turns = np.degrees(np.abs((turns + np.pi) % (2.0 * np.pi) - np.pi))
    turns[turns > CORNER] = 360.0
    whole = float(reached[-1])
    place = np.concatenate([reached[:-1] - whole, reached[:-1], reached[:-1] + whole])
    total = np.concatenate([[0.0], np.cumsum(np.tile(turns, 3))])
    high = total[np.searchsorted(place, samples + reach, side="right")]
    low = total[np.searchsorted(place, samples - reach, side="left")]
    return np.asarray(high - low < bend)
