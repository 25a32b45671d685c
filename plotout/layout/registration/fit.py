"""Where a sheet really lies: a fit from where its marks were meant to be to where they are.

After printing, or on another machine, the marks are measured; the work then goes through the fit.
Shift and turn: Kabsch 1976; with one scale: Umeyama 1991; shift, turn, scales and shear together
are any affine map: linear least squares.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from plotout.errors import UserError
from plotout.geometry.strokes import FloatArray


class Allow(StrEnum):
    """What a fit may do; each allows what stands before it, too."""

    SHIFT = "shift"
    TURN = "turn"
    SCALE = "scale"
    SHEAR = "shear"


_FEWEST = {Allow.SHIFT: 1, Allow.TURN: 2, Allow.SCALE: 2, Allow.SHEAR: 3}
CLOSEST = 30.0
"""Marks must lie at least so far apart, mm."""
WORST_CONDITION = 20.0


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """A fit. matrix: (2, 3), from the sheet's mm to real mm. residuals: (n,), mm, mark by mark.

    allow: what it was allowed, which is less than was asked when there are only two marks.
    condition: how many times an error across the marks' narrow direction weighs against one along
    their wide one; 1 is best.
    """

    matrix: FloatArray
    residuals: FloatArray
    allow: Allow
    condition: float

    @property
    def turn(self) -> float:
        """Degrees that the sheet's x axis is turned, counter-clockwise."""
        return float(np.degrees(np.arctan2(self.matrix[1, 0], self.matrix[0, 0])))

    @property
    def scales(self) -> tuple[float, float]:
        """Scale along the sheet's x axis, and across it."""
        along = float(np.hypot(*self.matrix[:, 0]))
        return along, float(np.linalg.det(self.matrix[:, :2])) / along

    @property
    def shear(self) -> float:
        """Degrees that the y axis leans from being square to x; positive is to the right."""
        x, y = self.matrix[:, 0], self.matrix[:, 1]
        return float(np.degrees(np.arctan2(x @ y, np.linalg.det(self.matrix[:, :2]))))


def fit_marks(
    meant: FloatArray,
    found: FloatArray,
    *,
    allow: Allow = Allow.SHEAR,
    limit: float = 0.5,
    names: Sequence[str] = (),
) -> Fit:
    """Fit marks, each (n, 2), mm, by least squares.

    limit: the greatest residual in mm that is good enough. names: of the marks, for messages.
    Raises UserError for too few marks, marks too close or in a line, marks in another order than
    was meant, and for a fit worse than `limit`, naming the mark that is off where it can be told.
    """
    names = names or [f"mark {index}" for index in range(1, len(meant) + 1)]
    _check(meant, found)
    if allow is Allow.SHEAR and len(meant) == 2:
        allow = Allow.SCALE
    if len(meant) < _FEWEST[allow]:
        raise UserError(
            f"{len(meant)} marks are too few for a fit of {allow}",
            fix=f"Give {_FEWEST[allow]} or more, or allow less.",
        )
    condition = _condition(meant, allow)
    matrix = _SOLVE[allow](meant, found)
    if np.linalg.det(matrix[:, :2]) <= 0.0:
        raise UserError(
            "the marks are found as in a mirror",
            fix="Are they given in the same order, and is the right side of the sheet up?",
        )
    made = Fit(matrix, _residuals(matrix, meant, found), allow, condition)
    if made.residuals.max() > limit:
        raise _worse(made, meant, found, limit, names)
    return made


def wild_mark(meant: FloatArray, found: FloatArray, allow: Allow, limit: float) -> int | None:
    """Return the number from 0 of the one mark without which the others fit, else None.

    None also where too few are left to tell which it is.
    """
    if len(meant) - 1 <= _FEWEST[allow]:
        return None
    worst = []
    for index in range(len(meant)):
        rest = np.arange(len(meant)) != index
        matrix = _SOLVE[allow](meant[rest], found[rest])
        worst.append(float(_residuals(matrix, meant[rest], found[rest]).max()))
    good = [index for index, value in enumerate(worst) if value <= limit]
    return good[0] if len(good) == 1 else None


def _check(meant: FloatArray, found: FloatArray) -> None:
    if meant.shape != found.shape or meant.ndim != 2 or meant.shape[1] != 2:
        raise UserError(
            f"{len(meant)} marks were meant, and {len(found)} are given",
            fix="Give x and y of each mark, in the same order.",
        )
    if not (np.isfinite(meant).all() and np.isfinite(found).all()):
        raise UserError("a mark's place is not a number", fix="Give x and y in mm.")


def _condition(meant: FloatArray, allow: Allow) -> float:
    """Return the condition number of the marks' spread. Raises UserError where it is too bad."""
    if allow is Allow.SHIFT:
        return 1.0
    spread = np.linalg.svd(meant - meant.mean(axis=0), compute_uv=False)
    apart = float(np.linalg.norm(meant[:, None] - meant[None], axis=2).max())
    if apart < CLOSEST:
        raise UserError(
            f"the marks lie within {apart:.1f} mm: too close together to say how the sheet lies",
            fix=f"Take marks that are {CLOSEST:g} mm apart or more, best in the sheet's corners.",
        )
    if allow is not Allow.SHEAR:
        return 1.0
    condition = float(spread[0] / spread[1]) if spread[1] > 1e-9 * spread[0] else float("inf")
    if condition > WORST_CONDITION:
        raise UserError(
            f"the marks lie nearly in a line (condition number {condition:.0f}): an error of "
            f"0.1 mm in measuring them would move work beside that line by "
            f"{0.1 * condition:.1f} mm",
            fix="Take a mark well beside the line, or allow only shift, turn and one scale.",
        )
    return condition


def _shift(meant: FloatArray, found: FloatArray) -> FloatArray:
    return np.column_stack([np.eye(2), (found - meant).mean(axis=0)])


def _turn(meant: FloatArray, found: FloatArray) -> FloatArray:
    return _similar(meant, found, scaled=False)


def _scale(meant: FloatArray, found: FloatArray) -> FloatArray:
    return _similar(meant, found, scaled=True)


def _similar(meant: FloatArray, found: FloatArray, *, scaled: bool) -> FloatArray:
    """Turn and shift, with one scale where asked; as complex numbers, whose factor is both."""
    middle, there = meant.mean(axis=0), found.mean(axis=0)
    a, b = (meant - middle) @ (1, 1j), (found - there) @ (1, 1j)
    factor = np.vdot(a, b) / np.vdot(a, a)
    if not scaled:
        factor /= abs(factor)
    linear = np.array([[factor.real, -factor.imag], [factor.imag, factor.real]])
    return np.column_stack([linear, there - linear @ middle])


def _affine(meant: FloatArray, found: FloatArray) -> FloatArray:
    middle = meant.mean(axis=0)
    columns = np.column_stack([meant - middle, np.ones(len(meant))])
    solved = np.linalg.lstsq(columns, found, rcond=None)[0].T
    return np.column_stack([solved[:, :2], solved[:, 2] - solved[:, :2] @ middle])


_SOLVE = {
    Allow.SHIFT: _shift,
    Allow.TURN: _turn,
    Allow.SCALE: _scale,
    Allow.SHEAR: _affine,
}


def _residuals(matrix: FloatArray, meant: FloatArray, found: FloatArray) -> FloatArray:
    return np.asarray(np.hypot(*(meant @ matrix[:, :2].T + matrix[:, 2] - found).T))


def _worse(
    made: Fit, meant: FloatArray, found: FloatArray, limit: float, names: Sequence[str]
) -> UserError:
    shown = ", ".join(f"{n} {r:.2f} mm" for n, r in zip(names, made.residuals, strict=True))
    wild = wild_mark(meant, found, made.allow, limit)
    if wild is None:
        return UserError(
            f"the marks don't fit to {limit:g} mm: they are off by {shown}",
            fix="Measure them again. With one or two marks more, a wrong one could be told.",
        )
    rest = np.arange(len(meant)) != wild
    matrix = _SOLVE[made.allow](meant[rest], found[rest])
    off = _residuals(matrix, meant, found)[wild]
    return UserError(
        f"{names[wild]} is {off:.2f} mm from where all the others say it is",
        fix="Measure it again, or leave it out.",
    )
