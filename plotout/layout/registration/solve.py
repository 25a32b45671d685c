"""Maps from where marks were meant to be to where they were found, by least squares.

Shift and turn: Kabsch 1976; with one scale: Umeyama 1991; shift, turn, scales and shear together
are any affine map: linear least squares.
"""

from __future__ import annotations

from enum import StrEnum

import numpy as np

from plotout.geometry.strokes import FloatArray


class Allow(StrEnum):
    """What a fit may do; each includes those before it."""

    SHIFT = "shift"
    TURN = "turn"
    SCALE = "scale"
    SHEAR = "shear"


FEWEST = {Allow.SHIFT: 1, Allow.TURN: 2, Allow.SCALE: 2, Allow.SHEAR: 3}
"""Number of marks required."""
UNKNOWNS = {Allow.SHIFT: 2, Allow.TURN: 3, Allow.SCALE: 4, Allow.SHEAR: 6}
CLOSEST = 30.0
"""Least distance of the marks, mm."""
WORST_CONDITION = 20.0


def solved(meant: FloatArray, found: FloatArray, allow: Allow) -> FloatArray:
    """Return the best map of a kind, (2, 3), mm to mm. meant, found: (n, 2), mm, fit for it."""
    if allow is Allow.SHIFT:
        return np.column_stack([np.eye(2), (found - meant).mean(axis=0)])
    if allow is Allow.SHEAR:
        return _affine(meant, found)
    return _similar(meant, found, scaled=allow is Allow.SCALE)


def apart(places: FloatArray) -> float:
    """Return the greatest distance between two places, mm."""
    return float(np.linalg.norm(places[:, None] - places[None], axis=2).max())


def condition(meant: FloatArray) -> float:
    """Return how many times an error across the marks' narrow direction outweighs one along their
    wide one; 1 is best.
    """
    wide, narrow = np.linalg.svd(meant - meant.mean(axis=0), compute_uv=False)[:2]
    return float(wide / narrow) if narrow > 1e-9 * wide else float("inf")


def off(matrix: FloatArray, meant: FloatArray, found: FloatArray) -> FloatArray:
    """Return the found marks' distances from their places by a map, (n,), mm."""
    return np.asarray(np.hypot(*(meant @ matrix[:, :2].T + matrix[:, 2] - found).T))


def foretold(meant: FloatArray, found: FloatArray, allow: Allow) -> FloatArray:
    """Return each mark's distance from its place predicted by all the others, (n,), mm.

    If only one mark is wrong, that is its error. nan if the others can't predict it.
    """
    far = np.full(len(meant), np.nan)
    for index in range(len(meant)):
        rest = np.arange(len(meant)) != index
        if carries(meant[rest], allow):
            matrix = solved(meant[rest], found[rest], allow)
            far[index] = off(matrix, meant[[index]], found[[index]])[0]
    return far


def carries(meant: FloatArray, allow: Allow) -> bool:
    """Return whether marks in these places suffice, in number and distance, for a kind of fit."""
    if len(meant) < FEWEST[allow]:
        return False
    if allow is Allow.SHIFT:
        return True
    return apart(meant) >= CLOSEST and (
        allow is not Allow.SHEAR or condition(meant) <= WORST_CONDITION
    )


def _similar(meant: FloatArray, found: FloatArray, *, scaled: bool) -> FloatArray:
    """Return turn and shift, optionally with one scale, by a complex factor."""
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
