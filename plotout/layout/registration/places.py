"""Check for impossible places of marks, before any fit."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from plotout.errors import UserError
from plotout.geometry.strokes import FloatArray
from plotout.layout.registration.solve import CLOSEST, Allow, apart, carries, solved

SAME = 0.02  # marks found nearer than this share of their distance are one mark


def check_places(
    meant: FloatArray, found: FloatArray, allow: Allow | None, names: Sequence[str]
) -> None:
    """Raise UserError for impossible places of marks, (n, 2), mm. names: of the marks."""
    if meant.shape != found.shape or meant.ndim != 2 or meant.shape[1] != 2:
        raise UserError(
            f"places given: {len(found)}; marks: {len(meant)}",
            fix="Give x and y of every mark, in the same order.",
        )
    if not (np.isfinite(meant).all() and np.isfinite(found).all()):
        raise UserError("a mark's place is not a number", fix="Give x and y in mm.")
    if allow is Allow.SHIFT or len(meant) < 2:
        return
    if apart(meant) < CLOSEST:
        raise UserError(
            f"the marks lie within {apart(meant):.1f} mm: too close together to show how the sheet "
            "lies",
            fix=f"Use marks that are {CLOSEST:g} mm apart or more, best in the sheet's corners.",
        )
    _same_place(meant, found, names)
    if carries(meant, Allow.SHEAR):
        _mirror(meant, found)


def _same_place(meant: FloatArray, found: FloatArray, names: Sequence[str]) -> None:
    """Raise UserError for marks that were found in the same place."""
    x, y = found.mean(axis=0)
    fix = "Move the tool over the marks in turn, and give the positions read there in mm."
    if apart(found) < SAME * apart(meant):
        raise UserError(
            f"all {len(found)} marks are found within {apart(found):.1f} mm of one another, about "
            f"x {x:.1f}, y {y:.1f} mm, though they lie {apart(meant):.0f} mm apart",
            fix=fix,
        )
    for one in range(len(meant)):
        for other in range(one):
            between = float(np.hypot(*(meant[one] - meant[other])))
            if float(np.hypot(*(found[one] - found[other]))) < SAME * between:
                raise UserError(
                    f"{names[other]} and {names[one]} are found in the same place, though they lie "
                    f"{between:.0f} mm apart",
                    fix=fix,
                )


def _mirror(meant: FloatArray, found: FloatArray) -> None:
    linear = solved(meant, found, Allow.SHEAR)[:, :2]
    wide, narrow = np.linalg.svd(linear, compute_uv=False)
    if narrow > SAME * wide and np.linalg.det(linear) < 0.0:
        raise UserError(
            "the found places are mirrored",
            fix="Are they given in the same order, x before y, and is the right side of the sheet "
            "up?",
        )
