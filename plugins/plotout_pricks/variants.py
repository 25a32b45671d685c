"""Pricked runs as fitted, and drawn by their likelihood: where they meet, how long they are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
import shapely.ops
from numpy.typing import NDArray

from plotout import FloatArray
from plotout.kit import CurveFit, Hand, StraightLine, crossings, likely_lines
from plotout_pricks.bend import ends_of
from plotout_pricks.continued import NEAR, REACH, STRAIGHT_REACH, bent_to, beyond
from plotout_pricks.table import Pricks
from plotout_pricks.tightening import Neighbour, meets_square

FLAT = 0.01  # mm: points of the curve nearer to its corner are the corner
SHORTEST = 0.3  # mm: a facet at a corner that is shorter shows no direction of the curve's end
OUTLINES = 60  # curves drawn by their likelihood: their spread is then known to a tenth
TIMES = 4  # as many lines are drawn for each: with few pricks their spread has long tails
STRIDE = 4  # every fourth point of a likely curve is kept


@dataclass(frozen=True, slots=True, eq=False)
class Fitted:
    """A run and its fit: a line for a straight run, points for a curve.

    joined: whether the curve's start, and its end, already lies on its neighbour.
    rivals: fits by other explanations of its pricks, that are not ruled out. chance: that of a
    rival.
    """

    run: Pricks
    line: StraightLine | None = None
    curve: FloatArray | None = None
    fit: CurveFit | None = None
    joined: tuple[bool, bool] = (False, False)
    rivals: tuple[Fitted, ...] = ()
    chance: float = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Variants:
    """A fit in m variants. at, along: (m, 2) of a straight run; curve: (m, k, 2) of another.

    drift: (2, m), by how much the bend of a curve past its start and its end is another than that
    expected (see continued). neighbours: which its start and its end are led on to.
    """

    fit: Fitted
    at: FloatArray | None = None
    along: FloatArray | None = None
    curve: FloatArray | None = None
    drift: FloatArray | None = None
    neighbours: tuple[Neighbour | None, Neighbour | None] = (None, None)

    def past(self, *, end: bool) -> FloatArray:
        """Return the curves' continuations past their start or end, (m, STEPS, 2), outwards."""
        drift = None if self.drift is None else self.drift[int(end)]
        return beyond(self.outwards(end=end), drift, self.neighbours[int(end)])

    def outwards(self, *, end: bool) -> FloatArray:
        """Return the curves, (m, k, 2), in the direction of their end or start."""
        assert self.curve is not None
        return self.curve if end else self.curve[:, ::-1]

    def beside(self, other: Variants, *, end: bool) -> Neighbour:
        """Return what the curves' end or start is led on to: another run's lines, or tangents."""
        if other.at is not None and other.along is not None:
            met = Neighbour(other.at, other.along)
        else:
            outwards = other.outwards(end=not end)
            heading = ends_of(outwards, NEAR)[1]
            along = np.column_stack([np.cos(heading), np.sin(heading)])
            met = Neighbour(outwards[:, -1], along)
        return met._replace(square=meets_square(self.outwards(end=end), met))

    def foot(self, points: FloatArray) -> FloatArray:
        """Return the places on the straight lines nearest to points, (m, 2) or (2,)."""
        assert self.at is not None
        assert self.along is not None
        return np.asarray(
            self.at + self.along * ((points - self.at) * self.along).sum(axis=1)[:, None]
        )


def itself(fit: Fitted) -> Variants:
    """Return the fit itself as its only variant."""
    if fit.line is not None:
        return Variants(fit, fit.line.at[None], fit.line.along[None])
    assert fit.curve is not None
    return Variants(fit, curve=fit.curve[None])


def variants_of(fit: Fitted, seed: int, hand: Hand) -> tuple[Variants, bool]:
    """Return variants drawn by their likelihood, and whether the pricks say anything about it.

    seed: another for each run, since their pricks are not off alike. hand: along straight runs:
    it is no steadier along a curve.
    """
    if fit.line is not None:
        return Variants(fit, *likely_lines(fit.run.points, TIMES * OUTLINES, seed)), True
    made = [curve[::STRIDE] for curve in fit.fit.likely(OUTLINES, seed, hand)] if fit.fit else []
    assert fit.curve is not None
    drift = np.random.default_rng(seed).standard_normal((2, TIMES * OUTLINES))
    curve = np.tile(np.stack(made or [fit.curve] * OUTLINES), (TIMES, 1, 1))
    return Variants(fit, curve=curve, drift=drift), bool(made)


def side_by_side(
    runs: Sequence[Variants], like: Sequence[Variants] | None = None
) -> list[Variants]:
    """Return runs round a piece, with every curve's neighbours set.

    like: the same runs, by which it is judged whether a curve meets them square; else themselves.
    """
    made = list(runs)
    for index, run in enumerate(runs):
        if run.curve is None:
            continue
        others = runs[index - 1], runs[(index + 1) % len(runs)]
        ends = [run.beside(other, end=bool(end)) for end, other in enumerate(others)]
        if like is not None:
            judged = like[index].neighbours
            ends = [
                one._replace(square=as_one.square)
                for one, as_one in zip(ends, judged, strict=True)
                if as_one
            ]
        made[index] = replace(run, neighbours=(ends[0], ends[1]))
    return made


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
    gap = shapely.shortest_line(a, b)
    apart = shapely.length(gap)
    met = shapely.get_coordinates(gap).reshape(-1, 2, 2).mean(axis=1)
    met[apart > REACH / 2] = np.nan
    for run, lines, on in ((first, a, 0), (second, b, 1)):
        if run.along is not None:
            nearest = shapely.get_point(gap, on)
            met[shapely.distance(nearest, shapely.boundary(lines)) < FLAT] = np.nan
    near = (first.fit.run.points[-1] + second.fit.run.points[0]) / 2
    found, owner = shapely.get_coordinates(shapely.intersection(a, b), return_index=True)
    order = np.lexsort((np.hypot(*(found - near).T), owner))
    owner, nearest = np.unique(owner[order], return_index=True)
    met[owner] = found[order][nearest]
    return met, apart


def _lengthened(run: Variants, reach: float, *, end: bool) -> NDArray[np.object_]:
    """Return the lines, (m,), continued beyond the corner at the run's end or start.

    reach: mm by which a straight is.
    """
    if run.along is not None:
        points, ahead = run.fit.run.points, run.along * reach
        ends = [run.foot(points[0]) - ahead, run.foot(points[-1]) + ahead]
        return np.asarray(shapely.linestrings(np.stack(ends, axis=1)))
    assert run.curve is not None
    past = run.past(end=end)
    whole = [run.curve, past] if end else [past[:, ::-1], run.curve]
    return np.asarray(shapely.linestrings(np.concatenate(whole, axis=1)))


def whole_curves(run: Variants) -> NDArray[np.object_]:
    """Return the curves, (m,), continued at the ends that don't lie on their neighbours."""
    assert run.curve is not None
    parts = [run.curve]
    if not run.fit.joined[0]:
        parts.insert(0, run.past(end=False)[:, ::-1])
    if not run.fit.joined[1]:
        parts.append(run.past(end=True))
    return np.asarray(shapely.linestrings(np.concatenate(parts, axis=1)))


def lengths_of(run: Variants, starts: FloatArray, ends: FloatArray) -> FloatArray:
    """Return the lengths, (m,), of what `between` makes; nan where a corner is missing."""
    if run.curve is None:
        return np.asarray(np.hypot(*(ends - starts).T))
    lines, sizes = whole_curves(run), np.full(len(starts), np.nan)
    there = np.isfinite(starts).all(axis=1) & np.isfinite(ends).all(axis=1)
    low, high = (
        shapely.line_locate_point(lines[there], shapely.points(corners[there]))
        for corners in (starts, ends)
    )
    off = [
        np.hypot(*(shapely.get_coordinates(shapely.line_interpolate_point(lines[there], at))
                   - corners[there]).T)
        for at, corners in ((low, starts), (high, ends))
    ]  # fmt: skip
    sizes[there] = np.abs(high - low) + sum(np.where(gap > FLAT, gap, 0.0) for gap in off)
    return sizes


def line_between(run: Variants, start: FloatArray, end: FloatArray) -> FloatArray:
    """Return the line of a run's first variant from corner to corner, meeting both exactly."""
    if run.curve is None:
        return np.array([start, end])
    line = whole_curves(run)[0]
    low, high = line.project(shapely.Point(start)), line.project(shapely.Point(end))
    inner = shapely.get_coordinates(shapely.ops.substring(line, low, high))
    inner = bent_to(start, bent_to(end, inner)[::-1])[-2:0:-1]
    apart = [np.hypot(*(inner - corner).T) > SHORTEST for corner in (start, end)]
    return np.vstack([[start], inner[apart[0] & apart[1]], [end]])
