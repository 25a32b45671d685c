"""What the pictures show of every prick: how certain it is, where, and what lies beside it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from plotout import FloatArray
from plotout_photo.accuracy import Sights
from plotout_photo.shot import Shot
from plotout_photo.solve import Solution
from plotout_photo.together import Prick

SUREST = 0.98  # certainty of a prick without any doubt
ONCE = 0.45  # share of its certainty kept by a prick that only one of several pictures shows


def certainty(
    solution: Solution, shots: Sequence[Shot], pricks: Sequence[Prick], table: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the pricks' certainties, and how many pictures show them.

    What looks like a prick, or like a dot of writing, looks so in every picture: a further one says
    nothing new of it. So the clearest counts.
    """
    sure = np.array([
        SUREST * max(shots[index].sure[row] for index, row in prick.spots.items())
        for prick in pricks])  # fmt: skip
    seen = np.array([float(len(prick.spots)) for prick in pricks])
    could = np.zeros(len(pricks))
    for index, shot in enumerate(shots):
        pixels = solution.see(index, table)
        could += ((pixels > 10) & (pixels < np.array(shot.kind.size) - 10)).all(axis=1)
    once = (seen < 2) & (could > 1)
    return np.asarray(np.where(once, ONCE * sure, sure)), seen


def lined(shots: Sequence[Shot], pricks: Sequence[Prick]) -> NDArray[np.intp]:
    """Return the pairs of pricks between which a picture shows a line, (m, 2)."""
    pairs = [np.empty((0, 2), dtype=np.intp)]
    for index, shot in enumerate(shots):
        home = np.full(len(shot.found), -1, dtype=np.intp)
        for k, prick in enumerate(pricks):
            if index in prick.spots:
                home[prick.spots[index]] = k
        pairs.append(home[shot.sheet.lined])
    every = np.vstack(pairs)
    return every[(every >= 0).all(axis=1)]


def beside(shots: Sequence[Shot], pricks: Sequence[Prick]) -> NDArray[np.intp]:
    """Return which may be dots of the writing that they lie beside."""
    return np.array([
        k for k, prick in enumerate(pricks)
        if any(shots[index].sheet.beside[row] for index, row in prick.spots.items())
    ], dtype=np.intp)  # fmt: skip


def sights(shots: Sequence[Shot], pricks: Sequence[Prick]) -> Sights:
    """Return where every picture shows which pricks, and how exactly."""
    rows, pixels, sigma = [], [], []
    for index, shot in enumerate(shots):
        mine = [(k, prick.spots[index]) for k, prick in enumerate(pricks) if index in prick.spots]
        rows.append(np.array([k for k, _ in mine], dtype=np.intp))
        spots = np.array([row for _, row in mine], dtype=np.intp)
        pixels.append(shot.found.at[spots])
        sigma.append(shot.found.sigma[spots])
    return Sights(len(pricks), rows, pixels, sigma)


def best(shots: Sequence[Shot], prick: Prick) -> tuple[int, int]:
    """Return the picture that shows a prick best, and the row of its Holes there."""
    return max(prick.spots.items(), key=lambda item: (shots[item[0]].sure[item[1]], -item[0]))
