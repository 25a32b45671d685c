"""Finds the pricks of an earlier table again in a new reading."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from plotout import FloatArray, Place, UserError

SAME = 1.5  # mm: the same prick is no further off in a new reading
ROUNDS = 8


def found_again(
    old: Mapping[int, FloatArray], at: FloatArray, path: Path
) -> tuple[dict[int, int], float, FloatArray]:
    """Return the new numbers by the old ones, and the scale and shift from old places to new ones.

    Both differ where a distance was measured meanwhile, or another mark is the lowest now.
    """
    before = np.array(list(old.values()))
    spread = float(np.linalg.norm(before.std(axis=0)))
    scale = float(np.linalg.norm(at.std(axis=0))) / max(spread, 1e-9)
    ways = [
        (1.0, np.zeros(2)),
        (scale, np.zeros(2)),
        *((each, at.mean(axis=0) - each * before.mean(axis=0)) for each in (1.0, scale)),
    ]
    settled = [_settled(before, at, *way) for way in ways]
    scale, shift = max(settled, key=lambda way: int((_nearest(before, at, *way)[0] < SAME).sum()))
    gap, which = _nearest(before, at, scale, shift)
    # a stab that is not found again must not pass for its neighbour: each is the other's nearest
    back = cKDTree(scale * before + shift).query(at)[1]
    again = {
        number: int(index) + 1
        for row, (number, far, index) in enumerate(zip(old, gap, which, strict=True))
        if far < SAME and back[index] == row
    }  # fmt: skip
    if len(again) < 0.7 * len(old):
        raise UserError(
            f"only {len(again)} of the {len(old)} pricks in it are found again",
            fix="It seems to be from another sheet: write to another file with --out.",
            place=Place(path),
        )
    return again, scale, shift


def _nearest(
    before: FloatArray, at: FloatArray, scale: float, shift: FloatArray
) -> tuple[FloatArray, NDArray[np.intp]]:
    gap, which = cKDTree(at).query(scale * before + shift)
    return np.asarray(gap), np.asarray(which)


def _settled(
    before: FloatArray, at: FloatArray, scale: float, shift: FloatArray
) -> tuple[float, FloatArray]:
    """Return the scale and shift by which the half that fits best lies on new places."""
    for _ in range(ROUNDS):
        gap, which = _nearest(before, at, scale, shift)
        best = gap <= np.median(gap)
        old, new = before[best], at[which[best]]
        apart = old - old.mean(axis=0)
        scale = float((apart * new).sum() / max((apart**2).sum(), 1e-9))
        shift = new.mean(axis=0) - scale * old.mean(axis=0)
    return scale, shift
