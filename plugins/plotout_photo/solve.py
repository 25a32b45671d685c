"""Solves cameras, strips and pricks together: bundle adjustment on the table.

Pictures are first solved separately, and marks that don't fit are dropped; then all together.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import least_squares
from scipy.sparse import diags_array

from plotout import FloatArray
from plotout_photo.camera import Kind, on_table
from plotout_photo.marks import Seen, straightened
from plotout_photo.model import Model, View
from plotout_photo.slopes import jacobian
from plotout_photo.start import begin
from plotout_photo.strips import strip_of

DENSE = 260  # unknowns up to which a dense solver is faster
FAR = 3.0  # sigmas from which a residual counts less
MISFIT = 6.0  # times the usual residual: a mark further off is dropped


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """A solution. x: the model's unknowns; off: by view and mark, the rms in pixels."""

    model: Model
    x: FloatArray
    off: tuple[Mapping[int, float], ...]

    def table(self, index: int, pixels: FloatArray, height: FloatArray | float = 0.0) -> FloatArray:
        """Return where pixels (n, 2) of a view lie on the table, (n, 2) mm."""
        view = self.model.views[index]
        return on_table(view.kind, self.model.camera(self.x, index), pixels, height)

    def see(self, index: int, world: FloatArray) -> FloatArray:
        """Return the pixels of places (n, 2) or (n, 3) in a view."""
        if world.shape[1] == 2:
            world = np.column_stack([world, np.zeros(len(world))])
        return self.model.views[index].kind.see(self.model.camera(self.x, index), world)

    @property
    def rms(self) -> float:
        """The marks' residual, pixels rms per coordinate."""
        squares = [off**2 for view in self.off for off in view.values()]
        return float(np.sqrt(np.mean(squares))) if squares else 0.0


class SeenWronglyError(Exception):
    """Marks that no camera can see so: the picture is blurred, or they are no marks."""


def alone(
    kind: Kind, seen: Sequence[Seen], thickness: float = 0.0
) -> tuple[Solution, tuple[int, ...]]:
    """Solve one picture. Returns the solution, and the numbers of the marks that didn't fit.

    thickness: of the strips, mm.
    """
    marks = {one.number: one for one in seen}
    dropped: list[int] = []
    by_strip: dict[int, dict[int, FloatArray]] = {}
    for number, mark in marks.items():
        by_strip.setdefault(strip_of(number), {})[number] = mark.corners
    by_strip = dict(sorted(by_strip.items(), key=lambda item: (-len(item[1]), item[0])))
    kind, values, poses = begin(kind, by_strip)
    view = _view(kind, {number: one.corners for number, one in marks.items()})
    model = Model([view], tuple(by_strip), thickness=thickness)
    x = np.zeros(model.count)
    for strip, at in model.strip_at.items():
        x[at : at + 3] = poses[strip]
    x[model.camera_at[0] : model.camera_at[0] + len(values)] = values
    solution = run(model, x)
    for _ in range(4):
        off = solution.off[0]
        usual = max(float(np.median(list(off.values()))), 0.05)
        bad = [number for number, error in off.items() if error > MISFIT * usual]
        bad = sorted(bad, key=lambda number: -off[number])[: max(1, len(marks) // 8)]
        marks = {number: one for number, one in marks.items() if number not in bad}
        dropped += bad
        left = {strip_of(number) for number in marks}
        if len(left) < 2 or len(marks) < 6:
            break
        camera = solution.model.camera(solution.x, 0)
        view = _view(kind, {n: straightened(one, kind, camera) for n, one in marks.items()})
        solution = run(*_kept(solution, [view], left), near=True)
        if not bad:
            break
    return solution, tuple(dropped)


def run(model: Model, x: FloatArray, *, near: bool = False) -> Solution:
    """Solve a model from start values. near: they are a solution's of nearly the same model.

    Raises SeenWronglyError if these put marks nowhere.
    """
    if not np.isfinite(model.residuals(x)).all():
        raise SeenWronglyError
    dense = model.count <= DENSE
    found = None
    for soft in (False, True)[near:]:  # a robust loss is slow from far away

        def residuals(at: FloatArray, soft: bool = soft) -> FloatArray:
            off = model.residuals(at)
            return _softened(off)[0] if soft else off

        def slopes(at: FloatArray, soft: bool = soft) -> Any:
            rows = jacobian(model, at)
            if soft:
                rows = diags_array(_softened(model.residuals(at))[1]) @ rows
            return rows.toarray() if dense else rows

        # MINPACK's own arithmetic: for so few unknowns, the threads of a matrix library take ten
        # times as much of the processors
        ways = {"method": "lm"} if dense else {"method": "trf", "tr_solver": "lsmr"}
        found = least_squares(
            residuals,
            x if found is None else found.x,
            jac=slopes,
            x_scale="jac",
            ftol=1e-6,
            xtol=1e-9,
            gtol=1e-7,
            max_nfev=50,
            **ways,
        )
    assert found is not None
    return Solution(model, found.x, _off(model, found.x))


def _softened(off: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return residuals (n,) whose squares grow like a pseudo-Huber loss, and their slopes, (n,).

    That is a square up to FAR or so, and a straight beyond (Charbonnier et al., IEEE Transactions
    on Image Processing 6, 1997).
    """
    part = off / FAR
    root = np.sqrt(1.0 + part**2)
    softened = part * np.sqrt(2.0 / (1.0 + root))  # with part^2 = (root - 1) (root + 1)
    return FAR * softened, np.sqrt((1.0 + root) / 2.0) / root


def _off(model: Model, x: FloatArray) -> tuple[dict[int, float], ...]:
    """Return every mark's residual, pixels rms per coordinate, view by view."""
    made = []
    for index, view in enumerate(model.views):
        squares = (model.off(x, index) ** 2).reshape(len(view.marks), 8)  # four corners, x and y
        rms = np.sqrt(squares.mean(axis=1))
        made.append(dict(zip(view.marks, (float(value) for value in rms), strict=True)))
    return tuple(made)


def _view(kind: Kind, corners: Mapping[int, FloatArray]) -> View:
    return View(kind, tuple(corners), np.array(list(corners.values())))


def _kept(solution: Solution, views: list[View], left: set[int]) -> tuple[Model, FloatArray]:
    """Return a model of other views, with the remaining strips, begun where another ended."""
    old, x = solution.model, solution.x
    first = old.strips[0] if old.strips[0] in left else next(s for s in old.strips if s in left)
    model = Model(
        views,
        (first, *(s for s in old.strips if s in left and s != first)),
        known=old.known,
        thickness=old.thickness,
    )
    again = np.zeros(model.count)
    again[:2] = x[:2]
    for index in range(len(views)):
        at, was = model.camera_at[index], old.camera_at[index]
        size = views[index].count
        again[at : at + size] = x[was : was + size]
    for strip, at in model.strip_at.items():
        again[at : at + 3] = old.pose(x, strip)
    return model, again
