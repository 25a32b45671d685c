"""From pricked runs to an outline: tidied, fitted, and joined at their corners."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import shapely
import shapely.ops

from plotout import (
    FEWEST_PRICKS,
    Drawing,
    End,
    FloatArray,
    Line,
    Place,
    Role,
    Shape,
    UserError,
    crossing,
    fit_curve,
    fit_line,
    in_order,
    length,
    nearest,
    strays,
)
from plotout_pricks.table import Pricks

FEWEST = {"straight": 2, "curve": FEWEST_PRICKS, "closed": FEWEST_PRICKS + 1}
DOUBLED = 0.2  # mm: two pricks nearer than this are one, pricked twice (common practice)
FLAT = 0.01  # mm: points of the curve this near to its corner are the corner
REACH = 60.0  # mm that a curve may be lengthened to meet its neighbour


@dataclass(slots=True)
class Fitted:
    """A run with what was fitted to it: a line for a straight, points for a curve."""

    run: Pricks
    line: Line | None = None
    curve: FloatArray | None = None


def outline(runs: Sequence[Pricks], path: Path, pick: Mapping[str, Any]) -> Drawing:
    """Return the outline's edges in order, each ending where the next begins. Raises UserError."""
    notes: list[str] = []
    tidy = [_tidied(run, path, notes) for run in runs]
    if len(tidy) == 1 and tidy[0].kind == "closed":
        curve = fit_curve(tidy[0].points, closed=True)
        return Drawing((Shape(curve, Role.OUTLINE, tidy[0].name),), tuple(notes))
    _check_joinable(tidy, path)
    fits = [Fitted(run) for run in tidy]
    for fit in fits:
        if fit.run.kind == "straight":
            fit.line = _straight(fit.run, pick, notes)
    square, tangent = _ends(pick, "square", tidy, path), _ends(pick, "tangent", tidy, path)
    for nth, fit in enumerate(fits):
        if fit.run.kind == "curve":
            before, after = fits[nth - 1].line, fits[(nth + 1) % len(fits)].line
            fit.curve = _curve(fit.run, before, after, square, tangent)
    corners = [_corner(fits[nth - 1], fits[nth], path) for nth in range(len(fits))]
    shapes = []
    for nth, fit in enumerate(fits):
        points = _between(fit, corners[nth], corners[(nth + 1) % len(fits)])
        shapes.append(Shape(points, Role.OUTLINE, fit.run.name))
    return Drawing(tuple(shapes), tuple(notes))


def _check_joinable(runs: Sequence[Pricks], path: Path) -> None:
    for run in runs:
        if run.kind == "closed":
            raise UserError(f"closed run '{run.name}' can't be joined to others",
                            fix="Take it by itself: runs = [...]",
                            place=Place(path, run.line))  # fmt: skip
    if len(runs) < 2:
        raise UserError(f"run '{runs[0].name}' alone closes nothing",
                        fix="Prick the other seams, or call its kind closed.",
                        place=Place(path, runs[0].line))  # fmt: skip


def _tidied(run: Pricks, path: Path, notes: list[str]) -> Pricks:
    """Take out doubled pricks, put the rest in order, leave out strays; note each."""
    numbers = list(range(len(run.points)))
    for nth in range(len(run.points) - 1, 0, -1):
        gaps = np.hypot(*(run.points[:nth] - run.points[nth]).T)
        if gaps.min() < DOUBLED:
            notes.append(f"prick {nth + 1} of '{run.name}' is doubled; left out")
            numbers.remove(nth)
    points = run.points[numbers]
    if len(points) < FEWEST[run.kind]:
        raise UserError(
            f"run '{run.name}' has {len(points)} pricks; a {run.kind} run needs {FEWEST[run.kind]}",
            fix="Prick more along the seam.",
            place=Place(path, run.line),
        )
    order = _order(run, points)
    if order != sorted(order):
        notes.append(f"pricks of '{run.name}' were out of order; put right")
    points, numbers = points[order], [numbers[nth] for nth in order]
    left_out = strays(points, straight=run.kind == "straight", closed=run.kind == "closed")
    for nth, gap in left_out.items():
        notes.append(f"prick {numbers[nth] + 1} of '{run.name}' lies {gap:.1f} mm off; left out")
    kept = [nth for nth in range(len(points)) if nth not in left_out]
    return replace(run, points=points[kept])


def _order(run: Pricks, points: FloatArray) -> list[int]:
    if run.kind == "straight":
        line = fit_line(points)
        along = (points - line.at) @ line.along
        by_place = [int(nth) for nth in np.argsort(along, kind="stable")]
        rising = np.corrcoef(along, np.arange(len(along)))[0, 1]
        return by_place if not rising < 0 else by_place[::-1]
    return in_order(points)


def _straight(run: Pricks, pick: Mapping[str, Any], notes: list[str]) -> Line:
    """The line through the pricks, turned along x or y if that moves it by no more than `snap`."""
    line = fit_line(run.points)
    if "snap" not in pick:
        return line
    axis = int(np.abs(line.along).argmax())
    along = np.zeros(2)
    along[axis] = np.sign(line.along[axis])
    turned = Line(line.at, along)
    half = float(np.hypot(*(run.points[-1] - run.points[0]))) / 2
    moved = half * float(np.abs(line.along[1 - axis]))
    if 1e-6 < moved <= length(pick["snap"]):
        notes.append(f"'{run.name}' was turned to lie along {'xy'[axis]}: its ends moved "
                     f"{moved:.2f} mm")  # fmt: skip
        return turned
    return line


def _ends(
    pick: Mapping[str, Any], key: str, runs: Sequence[Pricks], path: Path
) -> set[tuple[str, str]]:
    """Return (run, "start" or "end") for what the set file says of runs' ends."""
    told: set[tuple[str, str]] = set()
    names = [run.name for run in runs if run.kind == "curve"]
    for text in pick.get(key, []):
        name, _, which = str(text).rpartition(" ")
        if which not in ("start", "end") or name not in names:
            name, which = str(text), ""
        if name not in names:
            raise UserError(f"{key}: there is no curve '{text}'", fix=nearest(str(text), names),
                            place=Place(path))  # fmt: skip
        told |= {(name, end) for end in ("start", "end") if which in ("", end)}
    return told


def _curve(
    run: Pricks,
    before: Line | None,
    after: Line | None,
    square: set[tuple[str, str]],
    tangent: set[tuple[str, str]],
) -> FloatArray:
    ends: dict[str, End] = {}
    for which, line in (("start", before), ("end", after)):
        asked = (run.name, which)
        if line is not None and asked in square | tangent:
            ends[which] = End(line, square=asked in square)
    return fit_curve(run.points, start=ends.get("start"), end=ends.get("end"))


def _corner(first: Fitted, second: Fitted, path: Path) -> FloatArray:
    """Where a run and the next meet. Raises UserError when they do not."""
    if first.line is not None and second.line is not None:
        met = crossing(first.line, second.line)
        if met is None:
            raise UserError(
                f"'{first.run.name}' and '{second.run.name}' lie along one line: they have no "
                "corner",
                fix="Make them one run, or prick what lies between.",
                place=Place(path, second.run.line),
            )
        return met
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
    curve = fit.curve
    if end:
        step = curve[-1] - curve[-2]
        more = curve[-1] + step / np.hypot(*step) * REACH
        return shapely.LineString(np.vstack([curve, [more]]))
    step = curve[0] - curve[1]
    more = curve[0] + step / np.hypot(*step) * REACH
    return shapely.LineString(np.vstack([[more], curve]))


def _between(fit: Fitted, start: FloatArray, end: FloatArray) -> FloatArray:
    """The run's line from corner to corner, meeting both exactly."""
    if fit.curve is None:
        return np.array([start, end])
    line = shapely.LineString(fit.curve)
    low, high = line.project(shapely.Point(start)), line.project(shapely.Point(end))
    inner = shapely.get_coordinates(shapely.ops.substring(line, low, high))
    apart = [np.hypot(*(inner - corner).T) > FLAT for corner in (start, end)]
    return np.vstack([[start], inner[apart[0] & apart[1]], [end]])
