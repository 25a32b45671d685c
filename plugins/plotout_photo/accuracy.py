"""The expected error of a place on the table, from the uncertainty that the marks leave.

The solver's unknowns are drawn at random from their covariance, and the resulting places are
compared after a rigid alignment, since the table's own place does not matter. Where no distance was
measured, the strips are taken to be true to scale, unless they contradict themselves.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from plotout import FloatArray
from plotout_photo.camera import eye_of, on_table
from plotout_photo.heights import Heights
from plotout_photo.scale import printed
from plotout_photo.shot import Shot
from plotout_photo.solve import Solution
from plotout_photo.uncertain import draws

if TYPE_CHECKING:
    from plotout_photo.survey import Survey

LIFT = 0.13  # mm, one sigma, by which paper lifts unevenly, or its solved height is off as a whole
ALIKE = 200.0  # mm over which it lifts about as much


@dataclass(frozen=True, slots=True, eq=False)
class Sights:
    """Places on the table and where pictures see them. rows: the places seen by the pictures."""

    count: int
    rows: Sequence[NDArray[np.intp]]
    pixels: Sequence[FloatArray]
    sigma: Sequence[FloatArray]


def expected_error(solution: Solution, shots: Sequence[Shot], sights: Sights) -> FloatArray:
    """Return the places' expected errors, (n,), mm: two sigma, which 95 of 100 stay within."""
    drawn = [solution.x, *draws(solution)]
    made = np.array([_places(solution, shots, sights, x) for x in drawn])
    made = np.where(np.isfinite(made), made, 0.0)
    base = made[0]
    moved = np.array([_laid_over(other, base) - base for other in made[1:]])
    variance = (moved**2).mean(axis=0).sum(axis=1)
    variance += _own(sights, shots) + _lifted(base, _slants(solution, shots, sights))
    variance += disagreed(shots, sights, base) ** 2
    false = printed(solution, shots).doubt / 2.0 * (base - base.mean(axis=0))
    variance += (false**2).sum(axis=1)
    return np.asarray(2.0 * np.sqrt(variance))


def disagreed(shots: Sequence[Shot], sights: Sights, base: FloatArray) -> FloatArray:
    """Return how far strips that don't agree move places, (n,) mm, one sigma: 0 where they do.

    By leaving out one after another (the jackknife; Tukey, Annals of Mathematical Statistics 29,
    1958). base: (n, 2) the places with all of them.
    """
    most = np.zeros(sights.count)
    for index, shot in enumerate(shots):
        rows, tried = sights.rows[index], shot.without_one
        if len(rows) < 2 or not tried:
            continue
        square = np.zeros(len(rows))
        for one in tried:
            at = one.table(0, sights.pixels[index])
            square += ((_laid_over(at, base[rows]) - base[rows]) ** 2).sum(axis=1)
        most[rows] = np.maximum(most[rows], np.sqrt(square * (len(tried) - 1) / len(tried)))
    return most


def _places(solution: Solution, shots: Sequence[Shot], sights: Sights, x: FloatArray) -> FloatArray:
    heights = Heights.of(solution, x)
    sums, weights = np.zeros((sights.count, 2)), np.zeros(sights.count)
    for index, shot in enumerate(shots):
        rows, pixels = sights.rows[index], sights.pixels[index]
        if not len(rows):
            continue
        values = solution.model.camera(x, index)
        at = on_table(solution.model.views[index].kind, values, pixels)
        if heights is not None:
            at = on_table(solution.model.views[index].kind, values, pixels, heights(at))
        weight = (shot.scale / sights.sigma[index]) ** 2
        np.add.at(sums, rows, at * weight[:, None])
        np.add.at(weights, rows, weight)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(sums / weights[:, None])


def _own(sights: Sights, shots: Sequence[Shot]) -> FloatArray:
    """Return the variances of the places' centres in the pictures, (n,) mm2."""
    sharp = np.zeros(sights.count)
    for shot, rows, sigma in zip(shots, sights.rows, sights.sigma, strict=True):
        np.add.at(sharp, rows, (shot.scale / sigma) ** 2)
    return np.asarray(2.0 / np.maximum(sharp, 1e-9))


def _slants(solution: Solution, shots: Sequence[Shot], sights: Sights) -> FloatArray:
    """Return how far places are seen off where they are higher, (n, 2) mm per mm."""
    sums, views = np.zeros((sights.count, 2)), np.zeros(sights.count)
    for index, shot in enumerate(shots):
        rows = sights.rows[index]
        if len(rows) and not shot.kind.flat:
            kind, values = (
                solution.model.views[index].kind,
                solution.model.camera(solution.x, index),
            )
            eye = eye_of(kind, values)
            at = on_table(kind, values, sights.pixels[index])
            np.add.at(sums, rows, (at - eye[:2]) / eye[2])
        np.add.at(views, rows, 1.0)
    return np.asarray(sums / np.maximum(views, 1.0)[:, None])


def _lifted(base: FloatArray, slants: FloatArray) -> FloatArray:
    """Return the variances, (n,) mm2, of places, (n, 2) mm, that lift, seen at slants, (n, 2).

    What moves all of them alike is of no account, as they are laid over the true ones: but where
    most are seen off, that puts off those that aren't. Heights are a smooth random surface
    (Rasmussen and Williams, Gaussian Processes for Machine Learning, 2006, chapter 4).
    """
    far = ((base[:, None] - base) ** 2).sum(axis=2)
    alike = LIFT**2 * np.exp(-far / (2.0 * ALIKE**2))
    here = base - base.mean(axis=0)
    shifts = np.broadcast_to(np.eye(2), (len(base), 2, 2))
    moves = np.concatenate([shifts, np.stack([-here[:, 1:], here[:, :1]], axis=1)], axis=2)
    rigid = np.linalg.qr(moves.reshape(-1, 3))[0].reshape(-1, 2, 3)  # of shifts and turn
    shared = slants[:, :, None] * (alike @ np.einsum("na,nak->nk", slants, rigid))[:, None]
    both = np.einsum("nak,nal->kl", rigid, shared)
    own = np.diag(alike) * (slants**2).sum(axis=1)
    taken = 2.0 * np.einsum("nak,nak->n", shared, rigid)
    back = np.einsum("nak,kl,nal->n", rigid, both, rigid)
    return np.asarray(np.maximum(own - taken + back, 0.0))


def _laid_over(points: FloatArray, base: FloatArray) -> FloatArray:
    """Return points rigidly turned and shifted onto others, (n, 2)."""
    here, there = points - points.mean(axis=0), base - base.mean(axis=0)
    angle = np.arctan2(
        np.sum(here[:, 0] * there[:, 1] - here[:, 1] * there[:, 0]), np.sum(here * there)
    )
    cos, sin = np.cos(angle), np.sin(angle)
    return np.asarray(here @ np.array([[cos, sin], [-sin, cos]]) + base.mean(axis=0))


@dataclass(frozen=True, slots=True)
class ErrorMap:
    """Expected errors over the sheet, mm: rows from the top down, at x and y; None: unseen.

    most: the greatest within the pricks' reach; at: where that is.
    """

    x: list[float]
    y: list[float]
    rows: list[list[float | None]]
    most: float
    at: tuple[float, float]


def error_map(made: Survey, across: int = 8) -> ErrorMap:
    """Return a small map of the expected error over the pricked part of the sheet."""
    low, high = made.on_runs.min(axis=0), made.on_runs.max(axis=0)
    step = max(float((high - low).max()) / (across - 1), 1.0)
    x = np.arange(low[0], high[0] + step / 2, step)
    y = np.arange(low[1], high[1] + step / 2, step)[::-1]
    grid = np.array([(a, b) for b in y for a in x])
    table = made.on_table(grid)
    rows, pixels, sigma = [], [], []
    heights = Heights.of(made.solution)
    up = heights(table) if heights else np.zeros(len(table))
    for index, shot in enumerate(made.shots):
        seen = made.solution.see(index, np.column_stack([table, up]))
        inside = ((seen > 0) & (seen < np.array(shot.kind.size) - 1)).all(axis=1)
        rows.append(np.flatnonzero(inside))
        pixels.append(seen[inside])
        usual = float(np.median(shot.found.sigma)) if len(shot.found) else 0.2
        sigma.append(np.full(int(inside.sum()), usual))
    error = expected_error(made.solution, made.shots, Sights(len(grid), rows, pixels, sigma))
    seen_by = np.zeros(len(grid))
    for row in rows:
        seen_by[row] += 1
    shown = [round(float(e), 3) if s else None for e, s in zip(error, seen_by, strict=True)]
    worst = int(np.argmax(np.where(seen_by > 0, error, -1.0)))
    return ErrorMap(
        [round(float(v), 1) for v in x],
        [round(float(v), 1) for v in y],
        [shown[k * len(x) : (k + 1) * len(x)] for k in range(len(y))],
        float(error[worst]),
        (float(grid[worst][0]), float(grid[worst][1])),
    )
