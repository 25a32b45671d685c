"""Maps from where marks were meant to be to where they were found, by least squares.

Shift and turn: Kabsch 1976; with one scale: Umeyama 1991; shift, turn, scales and shear together
are any affine map: linear least squares.
"""

from __future__ import annotations

from enum import StrEnum

import numpy as np

from plotout.geometry.strokes import FloatArray


class Allow(StrEnum):
    """What a fit may do; each allows what stands before it, too."""

    SHIFT = "shift"
    TURN = "turn"
    SCALE = "scale"
    SHEAR = "shear"


FEWEST = {Allow.SHIFT: 1, Allow.TURN: 2, Allow.SCALE: 2, Allow.SHEAR: 3}
"""How many marks each needs."""
UNKNOWNS = {Allow.SHIFT: 2, Allow.TURN: 3, Allow.SCALE: 4, Allow.SHEAR: 6}
CLOSEST = 30.0
"""Marks must lie at least so far apart, mm."""
WORST_CONDITION = 20.0


def solved(meant: FloatArray, found: FloatArray, allow: Allow) -> FloatArray:
    """Return the best map of a kind, (2, 3), mm to mm. meant, found: (n, 2), mm, fit for it."""
    if allow is Allow.SHIFT:
        return np.column_stack([np.eye(2), (found - meant).mean(axis=0)])
    if allow is Allow.SHEAR:
        return _affine(meant, found)
    return _similar(meant, found, scaled=allow is Allow.SCALE)


def apart(places: FloatArray) -> float:
    """Return how far the two that are furthest apart are, mm."""
    return float(np.linalg.norm(places[:, None] - places[None], axis=2).max())


def condition(meant: FloatArray) -> float:
    """Return how many times an error across the marks' narrow direction weighs against one along
    their wide one; 1 is best.
    """
    wide, narrow = np.linalg.svd(meant - meant.mean(axis=0), compute_uv=False)[:2]
    return float(wide / narrow) if narrow > 1e-9 * wide else float("inf")


def off(matrix: FloatArray, meant: FloatArray, found: FloatArray) -> FloatArray:
    """Return how far the marks are found from where a map has them, (n,), mm."""
    return np.asarray(np.hypot(*(meant @ matrix[:, :2].T + matrix[:, 2] - found).T))


def foretold(meant: FloatArray, found: FloatArray, allow: Allow) -> FloatArray:
    """Return how far each mark is found from where all the others say that it is, (n,), mm.

    If only one mark is wrong, it is wrong by just that. nan where the others can't say.
    """
    far = np.full(len(meant), np.nan)
    for nth in range(len(meant)):
        rest = np.arange(len(meant)) != nth
        if carries(meant[rest], allow):
            matrix = solved(meant[rest], found[rest], allow)
            far[nth] = off(matrix, meant[[nth]], found[[nth]])[0]
    return far


def carries(meant: FloatArray, allow: Allow) -> bool:
    """Say whether marks in these places are enough for a fit of a kind, and apart enough."""
    if len(meant) < FEWEST[allow]:
        return False
    if allow is Allow.SHIFT:
        return True
    return apart(meant) >= CLOSEST and (
        allow is not Allow.SHEAR or condition(meant) <= WORST_CONDITION
    )


def _similar(meant: FloatArray, found: FloatArray, *, scaled: bool) -> FloatArray:
    """Turn and shift, with one scale where asked; as complex numbers, whose factor is both."""
    middle, there = meant.mean(axis=0), found.mean(axis=0)
    a, b = (meant - middle) @ (1, 1j), (found - there) @ (1, 1j)
    factor = np.vdot(a, b) / np.vdot(a, a)
    if not scaled:
        factor = factor / abs(factor) if abs(factor) > 0.0 else 1.0 + 0.0j
    linear = np.array([[factor.real, -factor.imag], [factor.imag, factor.real]])
    return np.column_stack([linear, there - linear @ middle])


def _affine(meant: FloatArray, found: FloatArray) -> FloatArray:
    middle = meant.mean(axis=0)
    columns = np.column_stack([meant - middle, np.ones(len(meant))])
    linear = np.linalg.lstsq(columns, found, rcond=None)[0].T
    return np.column_stack([linear[:, :2], linear[:, 2] - linear[:, :2] @ middle])
