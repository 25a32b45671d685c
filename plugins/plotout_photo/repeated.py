"""Leaves out a picture that shows what another one does from the same place: a copy of it.

It isn't a second measurement: all that is wrong in the one, such as paper that lifts, is as wrong
in the other.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.spatial import cKDTree

from plotout import FloatArray
from plotout_photo.shot import Shot
from plotout_photo.sift import DOUBTFUL

STILL = 0.5  # pixels rms that marks may differ; in photographs taken by hand they do by dozens
NEAR = 1.5  # pixels, between what is one and the same spot
MOST = 0.8  # share of spots that are
ENOUGH = 8  # spots that show it, where there is no mark


def without_repeated(shots: Sequence[Shot]) -> tuple[list[Shot], list[str]]:
    """Return the pictures without copies, and a note on each that is left out."""
    kept, notes = list[Shot](), []
    for shot in shots:
        twin = next((k for k, other in enumerate(kept) if _shows_the_same(shot, other)), None)
        if twin is None:
            kept.append(shot)
            continue
        less, more = sorted([shot, kept[twin]], key=lambda one: max(one.kind.size))  # or later
        kept[twin] = more
        notes.append(
            f"{less.path.name} is left out: it shows the same as {more.path.name}, from the same "
            "place, so that it adds nothing. Take further photographs from other sides."
        )
    return kept, notes


def _shows_the_same(one: Shot, other: Shot) -> bool:
    """Return whether two pictures have the same marks and the same spots in the same places."""
    share = max(one.kind.size) / max(other.kind.size)
    mine, theirs = ({mark.number: mark.corners for mark in shot.marks} for shot in (one, other))
    both = sorted(mine.keys() & theirs.keys())
    if len(both) < MOST * max(len(mine), len(theirs)):
        return False
    off = [mine[mark] - share * theirs[mark] for mark in both]
    if off and float(np.sqrt(2.0 * np.mean(np.square(off)))) > STILL:
        return False
    spots, others = _certain(one), share * _certain(other)
    if not off and len(spots) < ENOUGH:
        return False
    return _covered(spots, others) and _covered(others, spots)


def _certain(shot: Shot) -> FloatArray:
    return np.asarray(shot.found.at[shot.sure >= DOUBTFUL])


def _covered(spots: FloatArray, others: FloatArray) -> bool:
    """Return whether most of some spots, (n, 2) pixels, are among others."""
    if not len(spots):
        return True
    if not len(others):
        return False
    return bool((cKDTree(others).query(spots)[0] < NEAR).mean() >= MOST)
