"""Pricked runs as fitted, and drawn by their likelihood: where they meet, how long they are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
import shapely.ops

from plotout import FloatArray
from plotout.kit import CurveFit, Hand, StraightLine, likely_lines
from plotout_pricks.bend import Tails, distances, points_at
from plotout_pricks.continued import NEAR, REACH, bent_to, beyond
from plotout_pricks.table import Pricks
from plotout_pricks.tightening import Neighbour, meets_square

LOOSE = 2.0  # mm: pricks may lie so far past a corner; e times as few do for each more
FLAT = 0.01  # mm: points of the curve nearer to its corner are the corner
SHORTEST = 0.3  # mm: a facet at a corner that is shorter shows no direction of the curve's end
LEAST_OWN = 0.3  # chance of a fit itself, at least, beside its rivals
UNCLEAR = 0.3  # chance of all rivals, from which a run says nothing of the hand that pricked it
OUTLINES = 60  # curves drawn by their likelihood: their spread is then known to a tenth
OF_A_RIVAL = 20  # the same of a rival that is hardly likely
HARDLY = 0.1  # chance of such a rival
TIMES = 4  # as many lines are drawn for each: with few pricks their spread has long tails
STRIDE = 4  # every fourth point of a likely curve is kept


@dataclass(frozen=True, slots=True, eq=False)
class Fitted:
    """A run and its fit: a line for a straight run, points for a curve.

    joined: whether the curve's start, and its end, already lies on its neighbour. astray: the
    outermost prick, (2,), that was left out at its start, and at its end, or None.
    rivals: fits by other explanations of its pricks, that are not ruled out. chance: that of a
    rival; why: what must be so for it, in words.
    """

    run: Pricks
    line: StraightLine | None = None
    curve: FloatArray | None = None
    fit: CurveFit | None = None
    joined: tuple[bool, bool] = (False, False)
    astray: tuple[FloatArray | None, ...] = (None, None)
    rivals: tuple[Fitted, ...] = ()
    chance: float = 1.0
    why: str = ""

    def short(self, end: int) -> float:
        """How far before the outermost prick that was left out the start, 0, or end, -1, is, mm."""
        prick = self.astray[end]
        if prick is None or self.curve is None:
            return 0.0
        return float(np.hypot(*(prick - self.curve[end])))

    @property
    def clear(self) -> bool:
        """Whether its pricks are hardly explained otherwise."""
        return sum(rival.chance for rival in self.rivals) < UNCLEAR


@dataclass(frozen=True, eq=False)
class Variants:
    """A fit in m variants. at, along: (m, 2) of a straight run; curve: (m, k, 2) of another.

    times: how often the same curves follow one another, of which only the drift differs.
    drift: (2, m), by how much the bend of a curve past its start and its end is another than that
    expected (see continued). neighbours: which its start and its end are led on to.
    """

    fit: Fitted
    at: FloatArray | None = None
    along: FloatArray | None = None
    curve: FloatArray | None = None
    times: int = 1
    drift: FloatArray | None = None
    neighbours: tuple[Neighbour | None, Neighbour | None] = (None, None)

    @cached_property
    def past(self) -> tuple[FloatArray, FloatArray]:
        """The curves' continuations past their start and their end, (m, STEPS, 2), outwards."""
        drift = (None, None) if self.drift is None else self.drift
        start, end = (
            beyond(self.tails[end], drift[end], self.neighbours[end], REACH + self.fit.short(-end))
            for end in (0, 1)
        )
        return start, end

    @cached_property
    def whole(self) -> FloatArray:
        """The curves, (m, k, 2), continued at the ends that don't lie on their neighbours."""
        assert self.curve is not None
        parts = [self.curve]
        if not self.fit.joined[0]:
            parts.insert(0, self.past[0][:, ::-1])
        if not self.fit.joined[1]:
            parts.append(self.past[1])
        return np.concatenate(parts, axis=1)

    @cached_property
    def tails(self) -> tuple[Tails, Tails]:
        """The curves in the direction of their start, and of their end."""
        assert self.curve is not None
        distinct = self.curve[: len(self.curve) // self.times]
        return Tails(distinct[:, ::-1], self.times), Tails(distinct, self.times)

    def beside(self, other: Variants, *, end: bool) -> Neighbour:
        """Return what the curves' end or start is led on to: another run's lines, or tangents."""
        if other.at is not None and other.along is not None:
            met = Neighbour(other.at, other.along)
        else:
            towards = other.tails[int(not end)]
            heading = towards.ends(NEAR)[1]
            along = np.column_stack([np.cos(heading), np.sin(heading)])
            met = Neighbour(towards.last, along)
        return met._replace(square=meets_square(self.tails[int(end)], met))

    def pricked_past(self, corners: FloatArray) -> FloatArray:
        """Return how far a straight run's last prick, or first, lies past corners, (m, 2): (m,) mm.

        It may be listed the wrong way round: its end nearer to the corners counts. Nan without one.
        """
        assert self.along is not None
        there = np.isfinite(corners).all(axis=1)
        if not there.any():
            return np.full(len(corners), np.nan)
        pricks = self.fit.run.points
        ends = pricks[[0, -1]]
        nearer = ends[int(np.hypot(*(ends - np.median(corners[there], axis=0)).T).argmin())]
        onwards = np.sign((nearer - pricks.mean(axis=0)) @ self.along[0])
        return np.asarray(((nearer - corners) * self.along).sum(axis=1) * onwards)

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

    seed: another for each run, since their pricks are not off alike. hand: along other straight
    runs: it is about as steady along a straight one, and no steadier along a curve.
    """
    if fit.line is not None:
        return Variants(fit, *likely_lines(fit.run.points, TIMES * OUTLINES, seed, hand)), True
    count = OUTLINES if fit.chance > HARDLY else OF_A_RIVAL
    made = [curve[::STRIDE] for curve in fit.fit.likely(count, seed, hand)] if fit.fit else []
    assert fit.curve is not None
    drift = np.random.default_rng(seed).standard_normal((2, TIMES * OUTLINES))
    distinct = np.stack([made[n % len(made)] for n in range(count)] if made else [fit.curve])
    curve = np.tile(distinct, (TIMES * OUTLINES // len(distinct), 1, 1))
    return Variants(fit, curve=curve, times=len(curve) // len(distinct), drift=drift), bool(made)


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


def lengths_of(run: Variants, starts: FloatArray, ends: FloatArray) -> FloatArray:
    """Return the lengths, (m,), of what `between` makes; nan where a corner is missing."""
    if run.curve is None:
        return np.asarray(np.hypot(*(ends - starts).T))
    sizes = np.full(len(starts), np.nan)
    there = np.isfinite(starts).all(axis=1) & np.isfinite(ends).all(axis=1)
    lines = run.whole[there]
    low, high = located(lines, starts[there]), located(lines, ends[there])
    found = points_at(lines, distances(lines), np.column_stack([low, high]))
    gaps = np.hypot(*(found - np.stack([starts[there], ends[there]], axis=1)).T)
    sizes[there] = np.abs(high - low) + np.where(gaps > FLAT, gaps, 0.0).sum(axis=0)
    return sizes


def located(lines: FloatArray, points: FloatArray) -> FloatArray:
    """Return how far along lines, (m, k, 2), their places nearest to points, (m, 2), are, mm."""
    return np.asarray(shapely.line_locate_point(shapely.linestrings(lines), shapely.points(points)))


def line_between(run: Variants, start: FloatArray, end: FloatArray) -> FloatArray:
    """Return the line of a run's first variant from corner to corner, meeting both exactly."""
    if run.curve is None:
        return np.array([start, end])
    line = shapely.LineString(run.whole[0])
    low, high = line.project(shapely.Point(start)), line.project(shapely.Point(end))
    inner = shapely.get_coordinates(shapely.ops.substring(line, low, high))
    inner = bent_to(start, bent_to(end, inner)[::-1])[-2:0:-1]
    apart = [np.hypot(*(inner - corner).T) > SHORTEST for corner in (start, end)]
    return np.vstack([[start], inner[apart[0] & apart[1]], [end]])
