"""Tabs: bridges that hold a card in its stock until it is broken out."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from plotout.geometry.polyline import distances, length, part
from plotout.geometry.strokes import FloatArray

SAMPLE = 1.0  # mm
AWAY = 8.0  # mm that a tab's middle keeps from corners, notches and other marks
BEND = 6.0  # degrees that the line may turn within that


def tabbed(
    ring: FloatArray, count: int, width: float, spacing: float, marks: FloatArray
) -> tuple[list[FloatArray], int]:
    """Return a closed line, (n, 2), cut into stretches with a tab after each, and their number.

    count: tabs wanted; more where `spacing` (mm, 0: any) would be exceeded. Each lies as near as
    it can to its even share of the way, away from corners, curves and `marks`, (m, 2), mm. Where
    there is no such place, there is no tab.
    """
    whole = length(ring)
    wanted = max(count, int(np.ceil(whole / spacing)) if spacing > 0.0 else 0)
    places = _places(ring, whole, wanted, width, marks)
    if not places:
        return [ring], 0
    twice = np.vstack([ring, ring[1:]])
    bounds = [*places, places[0] + whole]
    stretches = [
        part(twice, begin + width / 2.0, end - width / 2.0) for begin, end in pairwise(bounds)
    ]
    return stretches, len(places)


def _places(
    ring: FloatArray, whole: float, wanted: int, width: float, marks: FloatArray
) -> list[float]:
    samples = np.arange(0.0, whole, SAMPLE)
    reached = distances(ring)
    at = np.column_stack([np.interp(samples, reached, ring[:, k]) for k in (0, 1)])
    fit = _straight(ring, samples, reached, whole, AWAY + width / 2.0)
    if len(marks):
        gaps = np.hypot(*(at[:, None, :] - marks[None, :, :]).transpose(2, 0, 1))
        fit &= gaps.min(axis=1) > AWAY + width / 2.0
    places: list[float] = []
    for nth in range(wanted):
        ideal = (nth + 0.5) * whole / wanted
        off = np.abs(samples - ideal)
        near = np.flatnonzero(fit & (off < 0.5 * whole / wanted))
        if len(near):
            place = float(samples[near[np.argmin(off[near])]])
            if not places or place - places[-1] > 2.0 * AWAY + width:
                places.append(place)
    return places


def _straight(
    ring: FloatArray, samples: FloatArray, reached: FloatArray, whole: float, reach: float
) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Say for each sample whether the line turns by little within `reach` mm of it."""
    steps = np.diff(ring, axis=0)
    angles = np.arctan2(steps[:, 1], steps[:, 0])
    turns = np.diff(np.concatenate([angles[-1:], angles]))
    turns = np.abs((turns + np.pi) % (2.0 * np.pi) - np.pi)
    place = np.concatenate([reached[:-1] - whole, reached[:-1], reached[:-1] + whole])
    total = np.concatenate([[0.0], np.cumsum(np.tile(turns, 3))])
    high = total[np.searchsorted(place, samples + reach, side="right")]
    low = total[np.searchsorted(place, samples - reach, side="left")]
    return np.asarray(high - low < np.radians(BEND))
