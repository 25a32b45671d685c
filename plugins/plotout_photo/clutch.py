"""The stabs of a corner among pricks that are as near to them as they are to each other.

Three or more stabs around one place are a corner (common practice), also where its runs' first
pricks are 3 or 4 mm away: these lie outside of the ring of stabs, to both sides or to one. Stabs in
a row are known by their steps, which are shorter than those to and between the pricks of a run.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np
from scipy.spatial import cKDTree

from plotout import FloatArray
from plotout_photo.ring import STABS, circle

MOST = 5  # stabs of one corner
RADIUS = 1.9  # mm, of a ring of stabs, at most
ON_RING = 0.65  # of the radius: least distance of a stab from the middle
FLAT = 0.35  # of the longest side of three stabs: their least height, else they are a row
CROWD = 40  # places near each other: more are lettering or dots, but for a chain of pricks
CHAIN = 3.5  # places within reach of one, on average, in a chain
OUTSIDE = 2.2  # mm from a ring's middle: what is nearer to it is a stab, or its line's, or dust
AROUND, ASIDE = 5.0, 0.06  # mm around a ring; mm of radius per mm that all there lies to one side
FEWER = 0.12  # mm of radius that a further stab counts for


def clutches(at: FloatArray) -> list[list[int]]:
    """Return the rings of stabs among places, (n, 2) mm: rows of each, the clearest first.

    What lies within a ring or beside it belongs to it; what lies outside is of no ring.
    """
    if len(at) <= STABS:
        return []
    near = cKDTree(at).query_ball_point(at, 2.0 * RADIUS)
    if len(at) > CROWD and sum(map(len, near)) - len(at) > CHAIN * len(at):
        return []
    tried = sorted((_cost(at, rows), rows) for rows in _near(near))
    taken, made = set[int](), list[list[int]]()
    for cost, rows in tried:
        if not np.isfinite(cost) or taken & set(rows):
            continue
        middle, _ = circle(at[list(rows)])
        beside = np.flatnonzero(np.hypot(*(at - middle).T) < OUTSIDE).tolist()
        own = sorted({*rows, *beside} - taken)
        taken.update(own)
        made.append(own)
    return made


def _near(near: Sequence[Sequence[int]]) -> Iterator[tuple[int, ...]]:
    """Return the sets of three to MOST places that are within reach of one ring.

    near: of every place, those within reach of it.
    """
    for first, around in enumerate(near):
        others = sorted(k for k in around if k > first)
        for count in range(STABS, MOST + 1):
            for rest in combinations(others, count - 1):
                yield (first, *rest)


def _cost(at: FloatArray, rows: tuple[int, ...]) -> float:
    """Return how unlike a ring of stabs places are, mm; infinite if they are none."""
    places = at[list(rows)]
    middle, radius = circle(places)
    if radius > RADIUS or np.hypot(*(places - middle).T).min() < ON_RING * radius:
        return np.inf
    if len(rows) == STABS and _height(places) < FLAT:
        return np.inf
    around = np.delete(at, rows, axis=0) - middle
    aside = float(np.hypot(*around[np.hypot(*around.T) < AROUND].sum(axis=0)))
    return float(radius - FEWER * len(rows) + ASIDE * aside)


def _height(three: FloatArray) -> float:
    """Return the height of a triangle over its longest side, as a share of that."""
    sides = np.roll(three, -1, axis=0) - three
    longest = float(np.hypot(*sides.T).max())
    doubled = abs(sides[0, 0] * sides[1, 1] - sides[0, 1] * sides[1, 0])
    return float(doubled / max(longest, 1e-9) ** 2)
