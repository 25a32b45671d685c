"""Refuses pictures that show no pricks, or too few for an outline, with what is missing."""

from __future__ import annotations

from collections.abc import Sequence

from plotout import Place, UserError
from plotout_photo.large import FINER
from plotout_photo.shot import Shot

LOOK = "Lay the pricked sheet between the strips, and light it from the side."
READ = "Holes of 0.5 to 1.3 mm are read."
OUTLINE = (
    "An outline needs two corners, each of three or more stabs in one place, or six pricks around "
    "it."
)


def no_outline(shots: Sequence[Shot], seen: int) -> UserError:
    """Return the error for pictures without an outline. seen: number of certain pricks."""
    problem = "no pricks are seen in it"
    if seen:
        pricks = "1 prick is" if seen == 1 else f"{seen} pricks are"
        problem = f"only {pricks} seen in it, too few for an outline"
    if large := _too_large(shots, problem):
        return large
    fix = f"{OUTLINE} If the sheet holds more: {LOOK[0].lower()}{LOOK[1:]}" if seen else LOOK
    return UserError(problem, fix=f"{fix} {READ}", place=Place(shots[0].path))


def only_a_row(shots: Sequence[Shot], seen: int) -> UserError:
    """Return the error for pricks that lie in one row. seen: their number."""
    problem = f"the {seen} pricks in it lie in one row, and enclose no piece"
    return _too_large(shots, problem) or UserError(
        problem,
        fix="Prick the piece all round, with three or more stabs at each corner.",
        place=Place(shots[0].path),
    )


def _too_large(shots: Sequence[Shot], problem: str) -> UserError | None:
    """Return the same problem with the spots that are too large for pricks, if there are any."""
    for shot in shots:
        if shot.too_large:
            return UserError(f"{problem}: {shot.too_large}", fix=FINER, place=Place(shot.path))
    return None
