"""Where neighbouring runs meet, and the runs' lines from corner to corner."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import shapely
import shapely.ops

from plotout import FloatArray, Place, UserError
from plotout.kit import CurveFit, StraightLine, crossing, likely_lines
from plotout_pricks.table import Pricks

FLAT = 0.01  # mm: points of the curve nearer to its corner are the corner
REACH = 60.0  # mm by which a run may be lengthened to meet its neighbour
BEND = 20.0  # mm of a curve's end whose bend is continued when it is lengthened
TURN = np.radians(60.0)  # by which the extension may turn
STEPS = 30
OUTLINES = 60  # drawn by their likelihood: their spread is then known to a tenth
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


def joined_up(fits: Sequence[Fitted], path: Path) -> list[FloatArray]:
    """Return the runs' points, (n, 2), from corner to corner. Raises UserError."""
    corners = [_corner(fits[index - 1], fits[index], path) for index in range(len(fits))]
    return [
        _between(fit, corners[index], corners[(index + 1) % len(fits)])
        for index, fit in enumerate(fits)
    ]


def known_to(fits: Sequence[Fitted], path: Path) -> list[float]:
    """Return to how many mm the runs' lengths from corner to corner are known: two sigma.

    It is the spread over outlines drawn by their likelihood: every line and curve is moved as its
    scatter allows, and the corners with them. Infinite if the pricks don't determine it.
    """
    others = [_likely(fit) for fit in fits]
    sizes = np.full((OUTLINES, len(fits)), np.nan)
    for index in range(OUTLINES):
        try:
            moved = joined_up([some[index] for some in others], path)
        except UserError:  # its corners are nearly straight
            continue
        sizes[index] = [shapely.LineString(points).length for points in moved]
    met = sizes[np.isfinite(sizes).all(axis=1)]
    if len(met) < OUTLINES // 2:
        return [math.inf] * len(fits)
    sigmas = 2.0 * met.std(axis=0, ddof=1)
    unsaid = [fit.curve is not None and others[index][0] is fit for index, fit in enumerate(fits)]
    return [math.inf if none else float(sigma) for none, sigma in zip(unsaid, sigmas, strict=True)]


def _likely(fit: Fitted) -> list[Fitted]:
    if fit.line is not None:
        return [replace(fit, line=line) for line in likely_lines(fit.run.points, OUTLINES)]
    made = fit.fit.likely(OUTLINES) if fit.fit is not None else []
    return [replace(fit, curve=curve[::STRIDE]) for curve in made] or [fit] * OUTLINES


def _corner(first: Fitted, second: Fitted, path: Path) -> FloatArray:
    """Return where a run meets the next. Raises UserError if they don't meet."""
    if first.line is not None and second.line is not None:
        met = crossing(first.line, second.line)
        if met is None:
            raise UserError(
                f"'{first.run.name}' and '{second.run.name}' lie along one line: they have no "
                "corner",
                fix="Make them one run, or prick the seam between them.",
                place=Place(path, second.run.line),
            )
        return met
    if first.curve is not None and second.line is not None and first.joined[1]:
        return second.line.foot(first.curve[-1])
    if second.curve is not None and first.line is not None and second.joined[0]:
        return first.line.foot(second.curve[0])
    a, b = _lengthened(first, end=True), _lengthened(second, end=False)
    near = (first.run.points[-1] + second.run.points[0]) / 2
    crossings = shapely.get_coordinates(shapely.intersection(a, b))
    if len(crossings):
        return np.asarray(crossings[np.hypot(*(crossings - near).T).argmin()])
    gap = shapely.shortest_line(a, b)
    if gap.length > REACH / 2:
        raise UserError(
            f"'{first.run.name}' and '{second.run.name}' don't meet: they pass {gap.length:.1f} "
            "mm apart",
            fix="Prick them nearer to their corner, or put the runs in order round the piece.",
            place=Place(path, second.run.line, at=(float(near[0]), float(near[1]))),
        )
    return np.asarray(shapely.get_coordinates(gap).mean(axis=0))


def _lengthened(fit: Fitted, *, end: bool) -> shapely.LineString:
    if fit.line is not None:
        ends = [fit.line.foot(fit.run.points[0]), fit.line.foot(fit.run.points[-1])]
        return shapely.LineString([ends[0] - fit.line.along * REACH,
                                   ends[1] + fit.line.along * REACH])  # fmt: skip
    assert fit.curve is not None
    if end:
        return shapely.LineString(np.vstack([fit.curve, _beyond(fit.curve)]))
    return shapely.LineString(np.vstack([_beyond(fit.curve[::-1])[::-1], fit.curve]))


def _beyond(curve: FloatArray) -> FloatArray:
    """Return the curve's continuation past its end, (STEPS, 2), with its bend there.

    Extended straight, a curve that still bends would meet a line at a small angle far too late.
    """
    line = shapely.LineString(curve[::-1])
    back = min(BEND, line.length / 2.0)
    last, middle, first = (
        shapely.get_coordinates(line.interpolate(at))[0] for at in (0.0, back / 2.0, back)
    )
    one, other = middle - first, last - middle
    turn = float(np.arctan2(one[0] * other[1] - one[1] * other[0], one @ other))
    bend = turn / (back / 2.0)
    heading = float(np.arctan2(other[1], other[0])) + turn / 2.0
    at = np.linspace(0.0, REACH, STEPS + 1)
    turned = heading + np.clip(bend * (at[1:] + at[:-1]) / 2.0, -TURN, TURN)
    steps = np.column_stack([np.cos(turned), np.sin(turned)]) * at[1]
    return np.asarray(curve[-1] + np.cumsum(steps, axis=0))


def _between(fit: Fitted, start: FloatArray, end: FloatArray) -> FloatArray:
    """Return the run's line from corner to corner, meeting both exactly."""
    if fit.curve is None:
        return np.array([start, end])
    before, after = _beyond(fit.curve[::-1])[::-1], _beyond(fit.curve)
    parts = [fit.curve]
    if not fit.joined[0]:
        parts.insert(0, before)
    if not fit.joined[1]:
        parts.append(after)
    line = shapely.LineString(np.vstack(parts))
    low, high = line.project(shapely.Point(start)), line.project(shapely.Point(end))
    inner = shapely.get_coordinates(shapely.ops.substring(line, low, high))
    apart = [np.hypot(*(inner - corner).T) > FLAT for corner in (start, end)]
    return np.vstack([[start], inner[apart[0] & apart[1]], [end]])
