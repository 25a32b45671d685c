"""The true position of a sheet: a fit from its marks' intended places to the found ones.

After printing, or on another machine, the marks are measured; the work then goes through the fit.
A fit is judged by predicting each mark from all the others. The residuals of a fit through all of
them hide an error: with four marks in a rectangle's corners, an affine fit shows a quarter of it,
and three marks fit exactly whatever is wrong.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import fdtrc

from plotout.errors import UserError
from plotout.geometry.strokes import FloatArray
from plotout.layout.registration.places import check_places
from plotout.layout.registration.solve import (
    FEWEST,
    UNKNOWNS,
    WORST_CONDITION,
    Allow,
    carries,
    condition,
    foretold,
    off,
    solved,
)

WORDS = {
    Allow.SHIFT: "shift",
    Allow.TURN: "shift and turn",
    Allow.SCALE: "shift, turn and one scale",
    Allow.SHEAR: "shift, turn, two scales and shear",
}
FINE = 0.005  # mm: resolution of places; smaller residuals mean nothing
CHANCE = 0.01  # that measuring errors alone suggest more than shift and turn; our choice
MOST_SCALED = 0.03  # a sheet that differs by more was printed to fit, or measured in another unit
STANDS_OUT = 3.0  # a mark is named if the others fit this many times better without it


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """A fit. matrix: (2, 3), from the sheet's mm to real mm. residuals: (n,), mm, mark by mark.

    allow: what it does, which may be less than was allowed. condition: see `solve.condition`.
    foretold: (n,), mm, each mark's distance from its place predicted by all the others; nan if
    impossible. notes: for the user, on its certainty.
    """

    matrix: FloatArray
    residuals: FloatArray
    allow: Allow
    condition: float
    foretold: FloatArray
    notes: tuple[str, ...] = ()

    @property
    def turn(self) -> float:
        """Degrees by which the sheet's x axis is turned, counter-clockwise."""
        return float(np.degrees(np.arctan2(self.matrix[1, 0], self.matrix[0, 0])))

    @property
    def scales(self) -> tuple[float, float]:
        """Scale along the sheet's x axis, and across it."""
        along = float(np.hypot(*self.matrix[:, 0]))
        return along, float(np.linalg.det(self.matrix[:, :2])) / along

    @property
    def shear(self) -> float:
        """Degrees by which the y axis leans off square to x; positive is to the right."""
        x, y = self.matrix[:, 0], self.matrix[:, 1]
        return float(np.degrees(np.arctan2(x @ y, np.linalg.det(self.matrix[:, :2]))))

    @property
    def checked(self) -> bool:
        """Return whether all marks are predicted by others."""
        return not bool(np.isnan(self.foretold).any())

    @property
    def could_hide(self) -> float:
        """Return the greatest error of a single mark, mm; infinite if undetectable."""
        return float(self.foretold.max()) if self.checked else float("inf")


def fit_marks(
    meant: FloatArray,
    found: FloatArray,
    *,
    allow: Allow | None = None,
    limit: float = 0.5,
    names: Sequence[str] = (),
) -> Fit:
    """Fit marks, (n, 2) each, mm: by shift and turn, unless they require more.

    allow: the most that the fit may do, even if the marks can't check it; None: what they can
    check. limit: the greatest distance, mm, of a mark from its place predicted by the others.
    names: of the marks, for messages. Raises UserError for too few marks, marks too close or in a
    line, in another order or unit than intended, and for a fit worse than `limit`, naming the
    wrong mark if it is known.
    """
    names = names or [f"mark {number}" for number in range(1, len(meant) + 1)]
    check_places(meant, found, allow, names)
    tried = [_fit(meant, found, kind) for kind in _kinds(meant, allow)]
    made = _chosen(tried, limit)
    worst = _worst(made)
    if worst > limit and allow is not None and not tried[-1].checked:
        made, worst = tried[-1], _worst(tried[-1])  # on the user's responsibility
    if worst > limit and allow is Allow.SHEAR and len(meant) >= 3 and made.allow is not allow:
        spread = condition(meant)
        if spread > WORST_CONDITION:
            raise _in_a_line(spread)
    if worst > limit:
        raise _worse(made, tried, meant, found, limit, names)
    _believable(made)
    return replace(made, notes=tuple(_notes(made, allow, names)))


def wild_mark(meant: FloatArray, found: FloatArray, allow: Allow, limit: float) -> int | None:
    """Return the index of the one mark without which the others fit, else None.

    None also if too few are left to identify it.
    """
    if len(meant) - 1 <= FEWEST[allow]:
        return None
    without = []
    for index in range(len(meant)):
        rest = np.arange(len(meant)) != index
        if not carries(meant[rest], allow):
            return None
        matrix = solved(meant[rest], found[rest], allow)
        without.append(float(off(matrix, meant[rest], found[rest]).max()))
    best, second = np.argsort(without)[:2].tolist()
    plain = without[second] >= STANDS_OUT * max(without[best], FINE)
    return best if without[best] <= limit and plain else None


def _kinds(meant: FloatArray, allow: Allow | None) -> list[Allow]:
    """Return the kinds of fit to try, the simplest first. Raises UserError for too few marks."""
    kinds = [Allow.SHIFT] if allow is Allow.SHIFT else [Allow.TURN, Allow.SCALE, Allow.SHEAR]
    most = kinds.index(allow) if allow is not None else len(kinds) - 1
    least = FEWEST[kinds[0]]
    if len(meant) < least:
        raise UserError(
            f"{len(meant)} mark is too few for a fit by {WORDS[kinds[0]]}",
            fix="Give two or more, best four; or --allow shift.",
        )
    possible = [kind for kind in kinds[: most + 1] if carries(meant, kind)]
    if allow is None:
        possible = [kind for kind in possible if 2 * len(meant) > UNKNOWNS[kind]]
    return possible


def _fit(meant: FloatArray, found: FloatArray, kind: Allow) -> Fit:
    matrix = solved(meant, found, kind)
    spread = condition(meant) if kind is Allow.SHEAR else 1.0
    expected = foretold(meant, found, kind)
    return Fit(matrix, off(matrix, meant, found), kind, spread, expected)


def _worst(made: Fit) -> float:
    """Return the greatest error of a mark's prediction, mm; with two marks, of their distance."""
    if made.checked:
        return float(made.foretold.max())
    if np.isnan(made.foretold).all():
        return float(made.residuals.sum() if len(made.residuals) == 2 else made.residuals.max())
    return float(max(np.nanmax(made.foretold), made.residuals.max()))


def _chosen(tried: Sequence[Fit], limit: float) -> Fit:
    """Return the simplest fit within the limit, or a freer one that is clearly better."""
    best = tried[0]
    for other in tried[1:]:
        if not other.checked:
            continue
        needed = _worst(best) > limit >= _worst(other)
        if needed or (_worst(other) <= limit and _asked_for(best, other)):
            best = other
    return best


def _asked_for(plain: Fit, free: Fit) -> bool:
    """Return whether a freer fit is better than measuring errors explain.

    An F test of nested models (common practice in regression; from memory).
    """
    count = 2 * len(plain.residuals)
    more, left = UNKNOWNS[free.allow] - UNKNOWNS[plain.allow], count - UNKNOWNS[free.allow]
    floor = left * FINE**2 / 3.0
    rest = max(float((free.residuals**2).sum()), floor)
    gained = float((plain.residuals**2).sum()) - rest
    return bool(gained > 0.0 and fdtrc(more, left, gained / more / (rest / left)) < CHANCE)


def _in_a_line(spread: float) -> UserError:
    return UserError(
        f"the marks lie nearly in a line (condition number {spread:.0f}, and {WORST_CONDITION:g} "
        f"is the most): an error of 0.1 mm in measuring them would move work beside that line by "
        f"{0.1 * spread:.1f} mm",
        fix="Use a mark well beside the line, or allow only shift, turn and one scale.",
    )


def _believable(made: Fit) -> None:
    much = max(made.scales, key=lambda scale: abs(scale - 1.0)) - 1.0
    if abs(much) > MOST_SCALED:
        raise UserError(
            f"according to its marks the sheet is {100.0 * abs(much):.1f} % too "
            f"{'large' if much > 0.0 else 'small'}, and so is everything cut",
            fix="Check that it was printed at actual size, and that the places are in mm.",
        )


def _worse(
    made: Fit,
    tried: Sequence[Fit],
    meant: FloatArray,
    found: FloatArray,
    limit: float,
    names: Sequence[str],
) -> UserError:
    for candidate in tried:
        wild = wild_mark(meant, found, candidate.allow, limit)
        if wild is not None:
            return UserError(
                f"{names[wild]} is {candidate.foretold[wild]:.2f} mm from where the others put it",
                fix="Measure it again, or leave it out.",
            )
    if len(meant) == 2:
        much = float(np.hypot(*np.diff(found, axis=0)[0]) - np.hypot(*np.diff(meant, axis=0)[0]))
        return UserError(
            f"the two marks are found {abs(much):.2f} mm too {'far apart' if much > 0 else 'close'}"
            f", which is more than {limit:g} mm: a wrong mark, or a stretched sheet?",
            fix="Find a third mark; or --allow scale, if you know that the sheet stretched.",
        )
    places = [
        f"{name} {far:.2f} mm" if np.isfinite(far) else f"{name} unknown"
        for name, far in zip(names, made.foretold, strict=True)
    ]
    if len(meant) == 3:
        fix = (
            "Measure them again. Three marks can't distinguish a wrong one from a stretched sheet: "
            "find a fourth; or --allow shear, if you know that it stretched."
        )
    else:
        fix = "Measure them again. With one or two more marks, a wrong one could be identified."
    return UserError(
        f"the marks don't fit to {limit:g} mm: from where the others put them, they are off "
        f"by {', '.join(places)}",
        fix=fix,
    )


def _notes(made: Fit, allow: Allow | None, names: Sequence[str]) -> Iterator[str]:
    count = len(names)
    exact = 2 * count <= UNKNOWNS[made.allow]
    if exact:
        yield (
            f"{'one mark fits' if count == 1 else f'{count} marks fit'} by {WORDS[made.allow]} "
            "exactly, even if one is wrong: nothing checks this fit. Find another mark"
        )
    elif count == 2:
        yield (
            f"two marks check only the distance between them, {made.residuals.sum():.2f} mm off: "
            "an error across that line turns the work undetected. Find a third"
        )
    elif not made.checked:
        alone = [name for name, far in zip(names, made.foretold, strict=True) if np.isnan(far)]
        yield (
            f"nothing checks {' and '.join(alone)}: the others lie in a line or too close "
            "together. Find another mark beside that line"
        )
    if allow is Allow.SHEAR and count == 2:
        yield f"two marks show neither shear nor two scales: fitted by {WORDS[made.allow]}"
