"""Tidies pricks before fitting: slips of the pen, key points, duplicates, order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from plotout import FloatArray, Place, UserError
from plotout.kit import FEWEST_PRICKS, fit_line, in_order
from plotout_pricks.table import Pricks

FEWEST = {"straight": 2, "curve": FEWEST_PRICKS, "closed": FEWEST_PRICKS + 1}
DOUBLED = 0.2  # mm: two pricks nearer than this are one, pricked twice (common practice)
ONE_PLACE = 1.0  # mm: stabs within it are in one place, though some are no nearer than `DOUBLED`
ALONE = 2.5  # times as far as from each other lie stabs from the next pricks (judgement)
SHORT = 40.0  # mm: hardly a run of a piece's is shorter and has three pricks within a key point
KEY_POINT = 4.0  # mm: three or more stabs within it mark a key point (common practice)
SLIPPED = 12.0  # times as far from a piece's middle as half its pricks: no piece is that long
SWAPPED = 60.0  # mm: a prick that is so near to its neighbours with x and y swapped is meant so
DETOUR, DETOURS = 60.0, 3.0  # mm, and steps between pricks: no seam makes such a detour to one
FAR = 300.0  # mm: nothing nearer to the middle is a slip of the pen


@dataclass(frozen=True, slots=True, eq=False)
class Tidy:
    """A run put in order. numbers: of the pricks in the run as read, from 1.

    key_points: where stabs lie together, (2,), mm.
    """

    run: Pricks
    numbers: tuple[int, ...]
    key_points: tuple[FloatArray, ...] = ()

    @property
    def sure(self) -> tuple[int, ...]:
        """The indices of key points: three stabs that agree are no slip of the hand."""
        at = [(self.run.points == key).all(axis=1) for key in self.key_points]
        return tuple(np.flatnonzero(np.any(at, axis=0)).tolist()) if at else ()


def check_places(runs: Sequence[Pricks], path: Path) -> None:
    """Raise UserError for a prick so far from all others that a digit must be wrong.

    It lies many times further from their middle than is usual, or by itself and further from the
    nearest than they from each other: at a corner of an outline two runs are pricked. The same is
    so of a curve's pricks among themselves; on a straight run, they may lie anywhere.
    """
    points = np.vstack([run.points for run in runs])
    middle = np.median(points, axis=0)
    away = np.abs(points - middle)
    usual = max(float(np.median(np.hypot(*away.T))), FAR / SLIPPED)
    furthest = int(away.max(axis=1).argmax())
    if away.max() > SLIPPED * usual or _alone(points, furthest):
        run, within = _within(runs, furthest)
        around = points[[n for n in (furthest - 1, furthest + 1) if 0 <= n < len(points)]]
        raise _slip(run, within, middle, SLIPPED * usual, around, path)
    for run in runs:
        own = np.median(run.points, axis=0)
        furthest = int(np.abs(run.points - own).max(axis=1).argmax())
        curved = run.kind != "straight" and len(run.points) >= FEWEST_PRICKS
        if curved and _alone(run.points, furthest):
            near = [n for n in (furthest - 1, furthest + 1) if 0 <= n < len(run.points)]
            raise _slip(run, furthest, own, np.inf, run.points[near], path)


def _alone(points: FloatArray, index: int) -> bool:
    """Return whether a point lies further from the nearest than all others from each other."""
    others = np.delete(points, index, axis=0)
    if len(others) <= 2:
        return False
    nearest = float(np.hypot(*(others - points[index]).T).min())
    return nearest > max(float(np.hypot(*np.ptp(others, axis=0))), FAR)


def _slip(
    run: Pricks, within: int, middle: FloatArray, most: float, around: FloatArray, path: Path
) -> UserError:
    """Return what to say of a prick. most: mm from the middle at which its neighbours are right.

    around: the pricks before and after it, though they be of other runs, (k, 2).
    """
    prick = run.points[within]
    away = np.abs(prick - middle)
    axis = int(away.argmax())
    beside = [n for n in (within - 1, within + 1) if 0 <= n < len(run.points)]
    like = run.points[beside] if beside else middle[None]
    ok = np.abs(like - middle).max(axis=1) <= most
    near = like[ok].mean(axis=0) if ok.any() else middle
    return UserError(
        f"prick {within + 1} of '{run.name}' lies {away[axis] / 1000.0:.1f} m from the rest: "
        f"its {'xy'[axis]} is {prick[axis] / run.unit:g}",
        fix=_meant(prick, near, axis, run.unit, around[:, axis].tolist()),
        place=Place(path, run.lines[within]),
    )


def _within(runs: Sequence[Pricks], index: int) -> tuple[Pricks, int]:
    """Return the run that a prick is in, and its number there, from 0."""
    for run in runs:
        if index < len(run.points):
            return run, index
        index -= len(run.points)
    raise IndexError(index)


def _meant(
    prick: FloatArray, near: FloatArray, axis: int, unit: float, around: Sequence[float]
) -> str:
    """Return what the value should be: with its point moved, or like its neighbours'.

    around: the values of the pricks before and after it, to either of which it may be next.
    """
    beside = f"Beside it x is about {near[0] / unit:.4g} and y about {near[1] / unit:.4g}."
    if np.hypot(*(prick[::-1] - near)) < SWAPPED:
        return f"Are its x and y swapped? {beside}"
    moved = [float(prick[axis]) / 10.0**places for places in (1, 2, 3, 4)]
    found = {}
    for value in (*around, near[axis]):
        best = min(moved, key=lambda one, value=value: abs(one - value))  # type: ignore[misc]
        if abs(best - value) < 100.0:
            found[best] = f"{best / unit:g}"
    return f"Did you mean {' or '.join(found.values())}? {beside}" if found else beside


def tidied(run: Pricks, path: Path, notes: list[str]) -> Tidy:
    """Merge key points, remove repeated pricks, put the rest in order; note every change."""
    numbers, points, keys = _key_points(run, notes)
    for index in range(len(points) - 1, 0, -1):
        if np.hypot(*(points[:index] - points[index]).T).min() < DOUBLED:
            notes.append(f"prick {numbers[index]} of '{run.name}' is repeated; left out")
            del numbers[index]
            points = np.delete(points, index, axis=0)
    if run.kind != "straight" and (slip := _slipped(points)) is not None:
        notes.append(_left_out(run, numbers[slip], points, slip))
        del numbers[slip]
        points = np.delete(points, slip, axis=0)
    if len(points) < FEWEST[run.kind]:
        fewer = len(points) < len(run.points)
        many = f"{len(points)} prick{'s' * (len(points) != 1)}"
        many += f" in different places, of {len(run.points)}" if fewer else ""
        fix = "Prick more along the seam."
        if fewer and run.unit == 1.0:
            fix += ' If its table is in cm or inches, write so: from = { ..., unit = "cm" }.'
        raise UserError(
            f"run '{run.name}' has {many}; a {run.kind} run needs {FEWEST[run.kind]}",
            fix=fix,
            place=Place(path, run.line),
        )
    order = _order(run.kind, points)
    if order != sorted(order):
        notes.append(f"pricks of '{run.name}' were out of order; put right")
    return Tidy(
        replace(run, points=points[order]), tuple(numbers[index] for index in order), tuple(keys)
    )


def _slipped(points: FloatArray) -> int | None:
    """Return the index of a prick of a curve, (n, 2), that is a detour of many steps anywhere.

    A digit of it must be wrong. It would take its neighbours' place in the order along the seam. An
    outermost one may be far from the others for all that.
    """
    for index in range(1, len(points) - 1):
        others = np.delete(points, index, axis=0)
        steps, to = np.hypot(*np.diff(others, axis=0).T), np.hypot(*(others - points[index]).T)
        detour = min(to[0], to[-1], (to[:-1] + to[1:] - steps).min())
        if detour > max(DETOUR, DETOURS * float(np.median(steps))):
            return index
    return None


def _left_out(run: Pricks, number: int, points: FloatArray, index: int) -> str:
    """Return a note on a prick that slipped: how far off, and what is meant."""
    beside = points[[index - 1, index + 1]]
    prick, near = points[index], beside.mean(axis=0)
    axis, off = int(np.abs(prick - near).argmax()), float(np.hypot(*(prick - near)))
    return (
        f"prick {number} of '{run.name}' lies {off:.0f} mm off; left out: its "
        f"{'xy'[axis]} is {prick[axis] / run.unit:g}. "
        f"{_meant(prick, near, axis, run.unit, beside[:, axis].tolist())}"
    )


def _key_points(run: Pricks, notes: list[str]) -> tuple[list[int], FloatArray, list[FloatArray]]:
    """Return the pricks' numbers and places with clusters merged; and the clusters' middles."""
    numbers: list[int] = []
    places: list[FloatArray] = []
    keys: list[FloatArray] = []
    index, count = 0, len(run.points)
    while index < count:
        last = index + _stabs(run.points, index)
        cluster = run.points[index:last]
        if len(cluster) > 1:
            keys.append(cluster.mean(axis=0))
            numbers.append(index + 1)
            places.append(keys[-1])
            notes.append(f"pricks {index + 1} to {last} of '{run.name}' mark one key point, at "
                         f"x {keys[-1][0]:.1f}, y {keys[-1][1]:.1f} mm")  # fmt: skip
        else:
            last = index + 1
            numbers.append(last)
            places.append(run.points[index])
        index = last
    return numbers, np.array(places), keys


def _stabs(pricks: FloatArray, first: int) -> int:
    """Return how many of a run's pricks, (n, 2), from one on mark one key point; 1 if none do.

    Three stabs in one place do, and three places that lie by themselves: a curve may be pricked as
    closely. Two stabs in one place are a prick that was repeated.
    """
    points = pricks[first:]
    near = _within_reach(points, KEY_POINT)
    steps = points[:near, None] - points[None, :near]
    repeated = np.triu(np.hypot(steps[..., 0], steps[..., 1]) < DOUBLED, k=1).any(axis=0)
    if near - repeated.sum() >= 3 and _by_themselves(pricks, first, first + near):
        return near
    together = _within_reach(points, ONE_PLACE)
    return together if together >= 3 else 1


def _by_themselves(pricks: FloatArray, first: int, last: int) -> bool:
    """Return whether those before and after some of a run's pricks lie far from them.

    Of a short run it is not asked: it is hardly in mm, and has too few places then.
    """
    if np.hypot(*np.ptp(pricks, axis=0)) < SHORT:
        return True
    steps = np.hypot(*np.diff(pricks, axis=0).T)
    beside = [steps[n] for n in (first - 1, last - 1) if 0 <= n < len(steps)]
    return min(beside, default=np.inf) >= ALONE * float(steps[first : last - 1].max())


def _within_reach(points: FloatArray, reach: float) -> int:
    """Return how many of some pricks, (n, 2), from the first on are no further apart, mm."""
    count = 1
    while count < len(points) and _furthest(points[:count], points[count]) <= reach:
        count += 1
    return count


def _furthest(points: FloatArray, place: FloatArray) -> float:
    return float(np.hypot(*(points - place).T).max())


def _order(kind: str, points: FloatArray) -> list[int]:
    if kind == "straight":
        line = fit_line(points)
        along = (points - line.at) @ line.along
        by_place = [int(index) for index in np.argsort(along, kind="stable")]
        rising = np.corrcoef(along, np.arange(len(along)))[0, 1]
        return by_place if not rising < 0 else by_place[::-1]
    return in_order(points)
