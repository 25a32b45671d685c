"""Where neighbouring runs meet, and the runs' lines from corner to corner."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
import shapely.ops
from numpy.typing import NDArray

from plotout import FloatArray, Place, UserError
from plotout.kit import CurveFit, StraightLine, crossings, likely_lines
from plotout_pricks.table import Pricks

FLAT = 0.01  # mm: points of the curve nearer to its corner are the corner
REACH = 60.0  # mm by which a run may be lengthened to meet its neighbour
BEND = 20.0  # mm of a curve's end whose bend is continued when it is lengthened
TURN = np.radians(60.0)  # by which the extension may turn
STEPS = 30
OUTLINES = 60  # curves drawn by their likelihood: their spread is then known to a tenth
TIMES = 4  # as many lines are drawn for each: with few pricks their spread has long tails
TWO_SIGMA = 0.954  # share of a normal error within two sigma
UNFORESEEN = 1.15  # so that two sigma hold 95 of a hundred (tests/bench/known.py families)
STRIDE = 4  # every fourth point of a likely curve is kept


@dataclass(frozen=True, slots=True, eq=False)
class Fitted:
    """A run and its fit: a line for a straight run, points for a curve.

    joined: whether the curve's start, and its end, already lies on its neighbour.
    """

    run: Pricks
    line: StraightLine | None = None
    curve: FloatArray | None = None
    fit: CurveFit | None = None
    joined: tuple[bool, bool] = (False, False)


@dataclass(frozen=True, slots=True, eq=False)
class _Likely:
    """A fit in m variants. at, along: (m, 2) of a straight run; curve: (m, k, 2) of another.

    drift: (2, m), by how much the bend of a curve goes on changing past its start and its end, as a
    share of how it changes there.
    """

    fit: Fitted
    at: FloatArray | None = None
    along: FloatArray | None = None
    curve: FloatArray | None = None
    drift: FloatArray | None = None

    def past(self, *, end: bool) -> FloatArray:
        """Return the curves' continuations past their start or end, (m, STEPS, 2), outwards."""
        assert self.curve is not None
        drift = None if self.drift is None else self.drift[int(end)]
        return beyond(self.curve if end else self.curve[:, ::-1], drift)

    def foot(self, points: FloatArray) -> FloatArray:
        """Return the places on the straight lines nearest to points, (m, 2) or (2,)."""
        assert self.at is not None
        assert self.along is not None
        return np.asarray(
            self.at + self.along * ((points - self.at) * self.along).sum(axis=1)[:, None]
        )


def joined_up(fits: Sequence[Fitted], path: Path) -> list[FloatArray]:
    """Return the runs' points, (n, 2), from corner to corner. Raises UserError."""
    alone = [_alone(fit) for fit in fits]
    corners = []
    for index, second in enumerate(alone):
        met, apart = _corners(alone[index - 1], second)
        if np.isnan(met).any():
            raise _unmet(fits[index - 1], fits[index], float(apart[0]), path)
        corners.append(met[0])
    return [
        _between(fit, corners[index], corners[(index + 1) % len(fits)])
        for index, fit in enumerate(fits)
    ]


def known_to(fits: Sequence[Fitted], lines: Sequence[FloatArray]) -> list[float]:
    """Return to how many mm the runs' lengths from corner to corner are known: two sigma.

    lines: the runs' points from corner to corner. It is the spread about their lengths of outlines
    drawn by their likelihood: every line and curve is moved as its scatter allows, and the corners
    with them. Infinite if the pricks don't determine it.
    """
    drawn = [_drawn(fit, seed) for seed, fit in enumerate(fits, 1)]
    likely = [sample[0] for sample in drawn]
    corners = [_corners(likely[index - 1], second)[0] for index, second in enumerate(likely)]
    sizes = np.column_stack(
        [
            _lengths(one, corners[index], corners[(index + 1) % len(fits)])
            for index, one in enumerate(likely)
        ]
    )
    met = sizes[np.isfinite(sizes).all(axis=1)]
    if len(met) < TIMES * OUTLINES // 2:
        return [math.inf] * len(fits)
    sigmas = two_sigma(met, np.array([shapely.LineString(line).length for line in lines]))
    return [
        float(sigma) if said else math.inf for (_, said), sigma in zip(drawn, sigmas, strict=True)
    ]


def two_sigma(sizes: FloatArray, own: FloatArray | float) -> FloatArray:
    """Return two sigma of drawn sizes (m, ...) about a fit's own: 95.4 of a hundred are within.

    Of few pricks their spread has long tails, and a mean square is no measure of it. A curve that
    is fair in another way than is reckoned with is less sure than its draws say.
    """
    return np.asarray(UNFORESEEN * np.quantile(np.abs(sizes - own), TWO_SIGMA, axis=0))


def _alone(fit: Fitted) -> _Likely:
    """Return the fit itself as its only variant."""
    if fit.line is not None:
        return _Likely(fit, fit.line.at[None], fit.line.along[None])
    assert fit.curve is not None
    return _Likely(fit, curve=fit.curve[None])


def _drawn(fit: Fitted, seed: int) -> tuple[_Likely, bool]:
    """Return variants drawn by their likelihood, and whether the pricks say anything about it.

    seed: another for each run, since their pricks are not off alike.
    """
    if fit.line is not None:
        return _Likely(fit, *likely_lines(fit.run.points, TIMES * OUTLINES, seed)), True
    made = [curve[::STRIDE] for curve in fit.fit.likely(OUTLINES, seed)] if fit.fit else []
    assert fit.curve is not None
    drift = np.random.default_rng(seed).standard_normal((2, TIMES * OUTLINES))
    curve = np.tile(np.stack(made or [fit.curve] * OUTLINES), (TIMES, 1, 1))
    return _Likely(fit, curve=curve, drift=drift), bool(made)


def _corners(first: _Likely, second: _Likely) -> tuple[FloatArray, FloatArray]:
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
    a, b = _lengthened(first, end=True), _lengthened(second, end=False)
    gap = shapely.shortest_line(a, b)
    apart = shapely.length(gap)
    met = shapely.get_coordinates(gap).reshape(-1, 2, 2).mean(axis=1)
    met[apart > REACH / 2] = np.nan
    near = (first.fit.run.points[-1] + second.fit.run.points[0]) / 2
    found, owner = shapely.get_coordinates(shapely.intersection(a, b), return_index=True)
    order = np.lexsort((np.hypot(*(found - near).T), owner))
    owner, nearest = np.unique(owner[order], return_index=True)
    met[owner] = found[order][nearest]
    return met, apart


def _unmet(first: Fitted, second: Fitted, apart: float, path: Path) -> UserError:
    """Return why two runs have no corner. apart: mm by which their extensions pass."""
    if first.line is not None and second.line is not None:
        return UserError(
            f"'{first.run.name}' and '{second.run.name}' lie along one line: they have no corner",
            fix="Make them one run, or prick the seam between them.",
            place=Place(path, second.run.line),
        )
    near = (first.run.points[-1] + second.run.points[0]) / 2
    return UserError(
        f"'{first.run.name}' and '{second.run.name}' don't meet: they pass {apart:.1f} mm apart",
        fix="Prick them nearer to their corner, or put the runs in order round the piece.",
        place=Place(path, second.run.line, at=(float(near[0]), float(near[1]))),
    )


def _lengthened(likely: _Likely, *, end: bool) -> NDArray[np.object_]:
    """Return the lines, (m,), continued beyond the corner at the run's end or start."""
    if likely.along is not None:
        points, ahead = likely.fit.run.points, likely.along * REACH
        ends = [likely.foot(points[0]) - ahead, likely.foot(points[-1]) + ahead]
        return np.asarray(shapely.linestrings(np.stack(ends, axis=1)))
    assert likely.curve is not None
    if end:
        whole = [likely.curve, likely.past(end=True)]
    else:
        whole = [likely.past(end=False)[:, ::-1], likely.curve]
    return np.asarray(shapely.linestrings(np.concatenate(whole, axis=1)))


def beyond(curves: FloatArray, drift: FloatArray | None = None) -> FloatArray:
    """Return the curves' continuations past their ends, (m, STEPS, 2), with their bend there.

    Extended straight, a curve that still bends would meet a line at a small angle far too late.
    curves: (m, k, 2). drift: (m,), by how much the bend goes on changing, as a share of how it
    changes over the last two stretches; not at all by default.
    """
    lines = shapely.linestrings(curves[:, ::-1])
    back = np.minimum(BEND, shapely.length(lines) / 2.0)
    last, near, middle, far, first = (
        shapely.get_coordinates(shapely.line_interpolate_point(lines, back * share))
        for share in (0.0, 0.5, 1.0, 1.5, 2.0)
    )
    bend, heading = _bend(middle, near, last, back)
    changing = np.zeros_like(bend)
    if drift is not None:
        changing = drift * (bend - _bend(first, far, middle, back)[0]) / back
    at = np.linspace(0.0, REACH, STEPS + 1)
    ahead = (at[1:] + at[:-1]) / 2.0
    turn = bend[:, None] * ahead + changing[:, None] * ahead * (ahead + back[:, None]) / 2.0
    turned = heading[:, None] + np.clip(turn, -TURN, TURN)
    steps = np.stack([np.cos(turned), np.sin(turned)], axis=2) * at[1]
    return np.asarray(curves[:, -1:] + np.cumsum(steps, axis=1))


def _bend(
    first: FloatArray, middle: FloatArray, last: FloatArray, apart: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the bend, 1/mm, and the heading at the last of three places along curves, (m,).

    apart: mm from the first to the last.
    """
    one, other = middle - first, last - middle
    turn = np.arctan2(one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0], (one * other).sum(axis=1))
    heading = np.arctan2(other[:, 1], other[:, 0]) + turn / 2.0
    return turn / (apart / 2.0), heading


def _whole(likely: _Likely) -> NDArray[np.object_]:
    """Return the curves, (m,), continued at the ends that don't lie on their neighbours."""
    assert likely.curve is not None
    parts = [likely.curve]
    if not likely.fit.joined[0]:
        parts.insert(0, likely.past(end=False)[:, ::-1])
    if not likely.fit.joined[1]:
        parts.append(likely.past(end=True))
    return np.asarray(shapely.linestrings(np.concatenate(parts, axis=1)))


def _lengths(likely: _Likely, starts: FloatArray, ends: FloatArray) -> FloatArray:
    """Return the lengths, (m,), of what `_between` makes; nan where a corner is missing."""
    if likely.curve is None:
        return np.asarray(np.hypot(*(ends - starts).T))
    lines, sizes = _whole(likely), np.full(len(starts), np.nan)
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


def _between(fit: Fitted, start: FloatArray, end: FloatArray) -> FloatArray:
    """Return the run's line from corner to corner, meeting both exactly."""
    if fit.curve is None:
        return np.array([start, end])
    line = _whole(_alone(fit))[0]
    low, high = line.project(shapely.Point(start)), line.project(shapely.Point(end))
    inner = shapely.get_coordinates(shapely.ops.substring(line, low, high))
    apart = [np.hypot(*(inner - corner).T) > FLAT for corner in (start, end)]
    return np.vstack([[start], inner[apart[0] & apart[1]], [end]])
