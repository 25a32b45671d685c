"""Where neighbouring runs meet, in all their variants."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from plotout import FloatArray
from plotout.kit import crossings
from plotout_pricks.continued import REACH, STRAIGHT_REACH
from plotout_pricks.variants import FLAT, Variants

ASTRAY = 1e6  # mm: no line of a piece


def meetings(first: Variants, second: Variants) -> tuple[FloatArray, FloatArray]:
    """Return where a run meets the next, (m, 2), nan if it doesn't; and how far apart they pass."""
    if first.along is not None and second.along is not None:
        assert first.at is not None
        assert second.at is not None
        met = crossings(first.at, first.along, second.at, second.along)
        return met, np.zeros(len(met))
    if first.curve is not None and second.at is not None and first.fit.joined[1]:
        met = second.foot(first.curve[:, -1])
        return met, np.zeros(len(met))
    if second.curve is not None and first.at is not None and second.fit.joined[0]:
        met = first.foot(second.curve[:, 0])
        return met, np.zeros(len(met))
    met, apart = _nearest_meetings(first, second, REACH)
    if np.isnan(met).any() and (first.along is not None or second.along is not None):
        far, _ = _nearest_meetings(first, second, STRAIGHT_REACH)
        met = np.where(np.isnan(met), far, met)
    return met, apart


def _nearest_meetings(
    first: Variants, second: Variants, reach: float
) -> tuple[FloatArray, FloatArray]:
    """Return where runs, of which one is a curve, meet as `meetings` does.

    Where they don't cross, the curve may end beside the straight. But a straight that ends short of
    the curve has its corner further on: the curve isn't bent to its end.
    reach: mm by which a straight is lengthened.
    """
    a, b = _lengthened(first, reach, end=True), _lengthened(second, reach, end=False)
    near = (first.fit.run.points[-1] + second.fit.run.points[0]) / 2
    if first.along is not None:
        met = _crossed(b, a, near)
    elif second.along is not None:
        met = _crossed(a, b, near)
    else:
        met = _nearest_crossed(a, b, near)
    apart = np.zeros(len(met))
    off = np.isnan(met[:, 0])
    met[off], apart[off] = _passed(first, second, a[off], b[off])
    return met, apart


def _crossed(lines: FloatArray, straights: FloatArray, near: FloatArray) -> FloatArray:
    """Return where lines, (m, k, 2), cross straights, (m, 2, 2), (m, 2): nearest to a place.

    Nan where they don't.
    """
    along = straights[:, 1] - straights[:, 0]
    gap = lines - straights[:, :1]
    off = along[:, :1] * gap[..., 1] - along[:, 1:] * gap[..., 0]
    before, after = off[:, :-1], off[:, 1:]
    row, step = np.nonzero((before * after <= 0.0) & (before != after))
    share = before[row, step] / (before[row, step] - after[row, step])
    found = lines[row, step] + share[:, None] * (lines[row, step + 1] - lines[row, step])
    reached = ((found - straights[row, 0]) * along[row]).sum(axis=1)
    there = (reached >= 0.0) & (reached <= (along[row] ** 2).sum(axis=1))
    return _nearest_of(found[there], row[there], near, len(lines))


def _nearest_crossed(lines: FloatArray, others: FloatArray, near: FloatArray) -> FloatArray:
    """Return the same of two curves."""
    crossings = shapely.intersection(_geometries(lines), _geometries(others))
    found, row = shapely.get_coordinates(crossings, return_index=True)
    return _nearest_of(found, row, near, len(lines))


def _nearest_of(
    found: FloatArray, row: NDArray[np.intp], near: FloatArray, count: int
) -> FloatArray:
    """Return of places found, (f, 2), the nearest of every row, (count, 2); nan if there's none."""
    met = np.full((count, 2), np.nan)
    order = np.lexsort((np.hypot(*(found - near).T), row))
    rows, nearest = np.unique(row[order], return_index=True)
    met[rows] = found[order][nearest]
    return met


def _passed(
    first: Variants, second: Variants, lines: FloatArray, others: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return where runs that don't cross come nearest, and how far apart they pass there."""
    a, b = _geometries(lines), _geometries(others)
    gap = shapely.shortest_line(a, b)
    apart = shapely.length(gap)
    met = np.full((len(gap), 2), np.nan)
    near_by = apart <= REACH / 2
    met[near_by] = shapely.get_coordinates(gap[near_by]).reshape(-1, 2, 2).mean(axis=1)
    for run, sought, on in ((first, a, 0), (second, b, 1)):
        if run.along is not None:
            nearest = shapely.get_point(gap, on)
            met[shapely.distance(nearest, shapely.boundary(sought)) < FLAT] = np.nan
    return met, apart


def _geometries(lines: FloatArray) -> NDArray[np.object_]:
    """Return lines, (m, k, 2), as geometries, (m,): None for one that was led far astray."""
    there = (np.abs(lines) < ASTRAY).all(axis=(1, 2))
    made = np.full(len(lines), None, dtype=object)
    made[there] = shapely.linestrings(lines[there])
    return made


def _lengthened(run: Variants, reach: float, *, end: bool) -> FloatArray:
    """Return the lines, (m, k, 2), continued beyond the corner at the run's end or start.

    reach: mm by which a straight is.
    """
    if run.along is not None:
        points, ahead = run.fit.run.points, run.along * reach
        ends = [run.foot(points[0]) - ahead, run.foot(points[-1]) + ahead]
        return np.stack(ends, axis=1)
    assert run.curve is not None
    whole = [run.curve, run.past[1]] if end else [run.past[0][:, ::-1], run.curve]
    return np.concatenate(whole, axis=1)
