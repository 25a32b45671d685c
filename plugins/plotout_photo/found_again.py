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
ENOUGH = 0.7  # share of a table's pricks that must be found again
TURN = 10  # degrees between the turns that are tried: what is refined finds the rest (measured)


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
    if len(again) < ENOUGH * len(old):
        raise _lost(before, at, len(again), Place(path))
    return again, scale, shift


def _lost(before: FloatArray, at: FloatArray, found: int, place: Place) -> UserError:
    """Return the error for a table whose pricks are not found again, with the reason."""
    turned = _turned(before, at)
    if turned is None:
        return UserError(
            f"only {found} of the {len(before)} pricks in it are found again",
            fix="It seems to be from another sheet: write to another file with --out.",
            place=place,
        )
    return UserError(
        f"its pricks are found again turned by {turned:.0f} degrees",
        fix="Take the picture from the same side as the first one of the table, give that one, "
        "too, before it, or write to another file with --out.",
        place=place,
    )


def _turned(before: FloatArray, at: FloatArray) -> float | None:
    """Return by how many degrees, 0 to 360, pricks (n, 2) lie turned in a new reading, or None.

    Every way is tried, and refined by the half that fits best.
    """
    old, new = (places @ (1.0, 1.0j) for places in (before, at))
    tree = cKDTree(at)
    for start in range(0, 360, TURN):
        turn = np.exp(1.0j * np.radians(start))
        shift = new.mean() - turn * old.mean()
        for _ in range(ROUNDS):
            laid = turn * old + shift
            gap, which = tree.query(np.column_stack([laid.real, laid.imag]))
            best = gap <= np.median(gap)
            apart = old[best] - old[best].mean()
            turn = (apart.conj() * new[which[best]]).sum()
            turn /= max(abs(turn), 1e-9)
            shift = (new[which[best]] - turn * old[best]).mean()
        if (gap < SAME).mean() >= ENOUGH:
            return float(np.degrees(np.angle(turn)) % 360.0)
    return None


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
