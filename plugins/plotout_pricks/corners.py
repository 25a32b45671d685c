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
from plotout.kit import CurveFit, Hand, StraightLine, crossings, likely_lines
from plotout_pricks.continued import REACH, bent_to, beyond, touching
from plotout_pricks.run_shape import straight_hand
from plotout_pricks.table import Pricks

FLAT = 0.01  # mm: points of the curve nearer to its corner are the corner
SHORTEST = 0.3  # mm: a facet at a corner that is shorter shows no direction of the curve's end
USUAL_GAP = 25.0  # mm: curves are pricked nearer than this to most of their corners, so that one
# that lies so much further off is e times as unlikely (common practice)
OUTLINES = 60  # curves drawn by their likelihood: their spread is then known to a tenth
TIMES = 4  # as many lines are drawn for each: with few pricks their spread has long tails
TWO_SIGMA = 0.954  # share of a normal error within two sigma
UNFORESEEN = 1.15  # so that two sigma hold 95 of a hundred (tests/bench/known.py families)
PLACED, DOUBTED = 4, 2  # one in so many curves that may meet a straight smoothly does: for
# the corner's place, and for how sure it is. Most curves that meet a line at a small angle cross it
STRIDE = 4  # every fourth point of a likely curve is kept


@dataclass(frozen=True, slots=True, eq=False)
class Fitted:
    """A run and its fit: a line for a straight run, points for a curve.

    joined: whether the curve's start, and its end, already lies on its neighbour.
    rivals: fits by other explanations of its pricks, that are not ruled out.
    """

    run: Pricks
    line: StraightLine | None = None
    curve: FloatArray | None = None
    fit: CurveFit | None = None
    joined: tuple[bool, bool] = (False, False)
    rivals: tuple[Fitted, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class _Likely:
    """A fit in m variants. at, along: (m, 2) of a straight run; curve: (m, k, 2) of another.

    drift: (2, m), by how much the bend of a curve past its start and its end is another than that
    expected (see continued).
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


def joined_up(fits: Sequence[Fitted], path: Path) -> tuple[list[FloatArray], list[float]]:
    """Return the runs' points, (n, 2), from corner to corner, and to how many mm they are known.

    Both come from outlines drawn by their likelihood: every line and curve is moved as its scatter
    allows, and the corners with them. A curve's corner is the mean of all that may be its corner,
    since at a small angle one that is a little off meets its neighbour far off. How sure a length
    is (two sigma) is the spread of their lengths about it; infinite if the pricks don't determine
    it. Raises UserError.
    """
    alone = [_alone(fit) for fit in fits]
    hand = straight_hand([fit.run.points for fit in fits if fit.line and not fit.rivals])
    drawn = [_drawn(fit, seed, hand) for seed, fit in enumerate(fits, 1)]
    corners, others, chances = [], [], []
    for index, second in enumerate(alone):
        met, apart = _corners(alone[index - 1], second)
        if np.isnan(met).any():
            raise _unmet(fits[index - 1], fits[index], float(apart[0]), path)
        (first, first_known), (last, last_known) = drawn[index - 1], drawn[index]
        crossed = _corners(first, last)[0]
        led = (first.curve is not None and not first.fit.joined[1]) or (
            last.curve is not None and not last.fit.joined[0]
        )
        averaged = led and first_known and last_known and np.isfinite(crossed).any()
        placed = _with_touching(first, last, crossed, PLACED)
        corners.append(_likeliest(first, last, placed) if averaged else met[0])
        others.append(_with_touching(first, last, crossed, DOUBTED))
        chances.append(_chances(first, last, others[-1]))
    lines, known_to = [], []
    for index, (fit, (one, known)) in enumerate(zip(fits, drawn, strict=True)):
        after = (index + 1) % len(fits)
        lines.append(_between(fit, corners[index], corners[after]))
        off = _lengths(one, others[index], others[after]) - shapely.LineString(lines[-1]).length
        weights = chances[index] * chances[after]
        met_both = np.isfinite(off).sum() >= TIMES * OUTLINES // 2 and weights.max() > 0.0
        known_to.append(two_sigma(off, weights) if known and met_both else math.inf)
    return lines, [sum(both) for both in zip(known_to, _by_rivals(fits), strict=True)]


def _by_rivals(fits: Sequence[Fitted]) -> list[float]:
    """Return by how much runs' lengths change, mm, at most, if a rival of any run is the true one.

    That of its neighbours changes with it, since the corner does.
    """
    most = np.zeros(len(fits))
    if not any(fit.rivals for fit in fits):
        return most.tolist()
    own = plain_lengths(fits)
    for index, fit in enumerate(fits):
        for rival in fit.rivals:
            other = plain_lengths([*fits[:index], rival, *fits[index + 1 :]])
            most = np.fmax(most, np.abs(other - own))
    return most.tolist()


def plain_lengths(fits: Sequence[Fitted]) -> FloatArray:
    """Return the lengths of the fits themselves, (n,), from where they meet; nan if they don't."""
    alone = [_alone(fit) for fit in fits]
    corners = [_corners(alone[index - 1], second)[0] for index, second in enumerate(alone)]
    return np.array(
        [
            _lengths(one, corners[index], corners[(index + 1) % len(fits)])[0]
            for index, one in enumerate(alone)
        ]
    )


def two_sigma(off: FloatArray, weights: FloatArray | None = None) -> float:
    """Return two sigma of drawn sizes' distances from the fit's own, (m,): 95.4 % are within.

    Of few pricks their spread has long tails, and a mean square is no measure of it. A curve that
    is fair in another way than is reckoned with is less sure than its draws say.
    weights: (m,), how likely each is. Those that are nan don't count.
    """
    weights = np.ones(len(off)) if weights is None else weights
    there = np.isfinite(off)
    order = np.argsort(np.abs(off[there]))
    share = np.cumsum(weights[there][order])
    at = np.interp(TWO_SIGMA * share[-1], share, np.abs(off[there])[order])
    return UNFORESEEN * float(at)


def _with_touching(first: _Likely, second: _Likely, corners: FloatArray, every: int) -> FloatArray:
    """Return drawn corners, (m, 2), one in `every` where the curve would touch a straight.

    Only where it may, that is where its end bends towards the line.
    """
    for one, other, end in ((first, second, True), (second, first, False)):
        if one.curve is None or other.at is None or one.fit.joined[int(end)]:
            continue
        assert other.along is not None
        ends = one.curve if end else one.curve[:, ::-1]
        touched = touching(ends, other.at, other.along)
        chosen = np.isfinite(touched).all(axis=1) & (np.arange(len(touched)) % every == 0)
        corners = np.where(chosen[:, None], touched, corners)
    return corners


def _chances(first: _Likely, second: _Likely, corners: FloatArray) -> FloatArray:
    """Return how likely drawn corners of two runs are, (m,), by how far past the curves' pricks."""
    gaps = np.zeros(len(corners))
    for one, index in ((first, -1), (second, 0)):
        if one.curve is not None and not one.fit.joined[index]:
            gaps += np.hypot(*(corners - one.curve[:, index]).T)
    there = np.isfinite(gaps)
    nearest = gaps[there].min(initial=np.inf)
    return np.where(there, np.exp(np.minimum(nearest - gaps, 0.0) / USUAL_GAP), 0.0)


def _likeliest(first: _Likely, second: _Likely, corners: FloatArray) -> FloatArray:
    """Return the mean of drawn corners, (2,), on the straight run's own line if there is one."""
    chances = _chances(first, second, corners)
    mean = (chances[:, None] * np.nan_to_num(corners)).sum(axis=0) / chances.sum()
    for one in (first, second):
        if one.fit.line is not None:
            mean = one.fit.line.foot(mean)
    return np.asarray(mean)


def _alone(fit: Fitted) -> _Likely:
    """Return the fit itself as its only variant."""
    if fit.line is not None:
        return _Likely(fit, fit.line.at[None], fit.line.along[None])
    assert fit.curve is not None
    return _Likely(fit, curve=fit.curve[None])


def _drawn(fit: Fitted, seed: int, hand: Hand) -> tuple[_Likely, bool]:
    """Return variants drawn by their likelihood, and whether the pricks say anything about it.

    seed: another for each run, since their pricks are not off alike. hand: along straight runs:
    it is no steadier along a curve.
    """
    if fit.line is not None:
        return _Likely(fit, *likely_lines(fit.run.points, TIMES * OUTLINES, seed)), True
    made = [curve[::STRIDE] for curve in fit.fit.likely(OUTLINES, seed, hand)] if fit.fit else []
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
    inner = bent_to(start, bent_to(end, inner)[::-1])[-2:0:-1]
    apart = [np.hypot(*(inner - corner).T) > SHORTEST for corner in (start, end)]
    return np.vstack([[start], inner[apart[0] & apart[1]], [end]])
