"""Places that are nearer to each other than the pricks of a run: stabs in a row, or two of a ring.

A run that is pricked every 3 mm, as by a wheel, holds places as near to each other as stabs are.
What lies no nearer together than its neighbours are is of the run.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import minimum_spanning_tree
from scipy.spatial import cKDTree
from scipy.spatial.distance import cdist

from plotout import FloatArray
from plotout_photo.clutch import MOST
from plotout_photo.ring import STABS, circle

NEIGHBOURS = 6  # of a place, among which the usual step is sought
NARROW = 0.6  # of the usual step are steps of stabs, at most
FAR = 2.0  # or as many times as far is the next prick, at least
NEXT = 1.5  # times the steps of stabs in a row is the way from them to the next prick, at least
LONGEST = 2.5  # mm of a step in a row of stabs
RADIUS, FLAT = (2.2, 1.9), 0.3  # mm of a ring of three, or more; least breadth, of its length
CROWDED, WIDE = 0.35, 8.0  # of the usual step; mm that stabs and first pricks extend, at most


class Spacing:
    """How near places, (n, 2) mm, lie to each other."""

    def __init__(self, at: FloatArray) -> None:
        self.at, self.tree = at, cKDTree(at) if len(at) else None
        self.usual = _usual_step(at)

    def are_stabs(self, member: Sequence[int]) -> bool:
        """Return whether places within a few mm of each other are stabs, not pricks of a run."""
        step = longest_step(self.at[list(member)])
        if self._is_ring(member) or step <= NARROW * self.usual:
            return True
        return self.is_clear(member)

    def is_clear(self, member: Sequence[int]) -> bool:
        """Return whether all other places are clearly farther away than these from each other."""
        return self._way_to_next(member) >= FAR * longest_step(self.at[list(member)])

    def rows(self, member: Sequence[int]) -> list[list[int]]:
        """Return the rows of three or more stabs among places that lie close to each other."""
        if len(member) == STABS or self._is_ring(member):
            return []
        made = list[list[int]]()
        for row in sorted(self._joined(member), key=lambda one: -len(one)):
            step = longest_step(self.at[row])
            clear = self._way_to_next(row) >= NEXT * step
            clear &= breadth(self.at[row]) < FLAT
            if clear and self.are_stabs(row) and not any(set(row) & set(one) for one in made):
                made.append(row)
        return made

    def crowded(self, member: Sequence[int]) -> list[int]:
        """Return the nearest three of places where stabs can't be told from a run's first pricks.

        Empty if they are a ring, or nothing shows that there are stabs: the run's own steps may be
        as short.
        """
        places = self.at[list(member)]
        if not STABS < len(member) <= MOST + 2 or np.ptp(places, axis=0).max() > WIDE:
            return []
        if self._is_ring(member):
            return []
        rows = [row for row in self._joined(member) if len(row) == STABS]
        if not rows:
            gaps = np.sort(cdist(places, places), axis=1)[:, :STABS]
            first = int(np.argmin(gaps.sum(axis=1)))
            near = np.argsort(cdist(places[first : first + 1], places)[0], kind="stable")[:STABS]
            rows = [sorted(member[k] for k in near)]
        best = min(rows, key=lambda row: longest_step(self.at[row]))
        step = longest_step(self.at[best])
        return best if step <= min(LONGEST, CROWDED * self.usual) else []

    def _is_ring(self, member: Sequence[int]) -> bool:
        places = self.at[list(member)]
        if len(member) < STABS or circle(places)[1] > RADIUS[len(member) > STABS]:
            return False
        return breadth(places) > FLAT

    def _joined(self, member: Sequence[int]) -> list[list[int]]:
        """Return what steps up to each length join: three to MOST places, near each other."""
        places = self.at[list(member)]
        gaps = cdist(places, places)
        parts = [[k] for k in range(len(member))]
        found = []
        first, second = np.triu_indices(len(member), 1)
        for k in np.argsort(gaps[first, second], kind="stable"):
            if gaps[first[k], second[k]] > LONGEST:
                break
            one = next(part for part in parts if first[k] in part)
            other = next(part for part in parts if second[k] in part)
            if one is other:
                continue
            parts = [part for part in parts if part is not one and part is not other]
            parts.append([*one, *other])
            if STABS <= len(parts[-1]) <= MOST:
                found.append(sorted(member[index] for index in parts[-1]))
        return found

    def _way_to_next(self, member: Sequence[int]) -> float:
        """Return the least way from places to any other, mm."""
        if self.tree is None or len(member) == len(self.at):
            return float("inf")
        own = set(member)
        ways = []
        for k in member:
            near, which = self.tree.query(self.at[k], k=min(len(member) + 1, len(self.at)))
            ways += [float(gap) for gap, index in zip(near, which, strict=True) if index not in own]
        return min(ways)


def _usual_step(at: FloatArray) -> float:
    """Return the usual step between places, mm: in the shortest tree of steps through them."""
    if len(at) < 2:
        return float("inf")
    gaps, which = cKDTree(at).query(at, k=min(NEIGHBOURS, len(at)))
    first = np.repeat(np.arange(len(at)), gaps.shape[1])
    tree = minimum_spanning_tree(
        coo_array((gaps.ravel() + 1e-9, (first, which.ravel())), shape=(len(at), len(at)))
    )
    steps = tree.data[tree.data > 1e-6]
    return float(np.median(steps)) if len(steps) else float("inf")


def longest_step(places: FloatArray) -> float:
    """Return the longest step of the shortest tree through places, mm."""
    steps = minimum_spanning_tree(cdist(places, places)).data
    return float(steps.max(initial=0.0))


def row_of(stabs: FloatArray) -> FloatArray | None:
    """Return the way from stab to stab, (2,) mm, of three or more in a row, (n, 2); else None."""
    if len(stabs) < STABS or breadth(stabs) >= FLAT:
        return None
    off = stabs - stabs.mean(axis=0)
    ahead = np.linalg.svd(off, full_matrices=False)[2][0]
    return np.asarray(ahead * float(np.ptp(off @ ahead)) / (len(stabs) - 1))


def breadth(places: FloatArray) -> float:
    """Return the breadth of places, (n, 2), as a share of their length."""
    off = places - places.mean(axis=0)
    ahead = np.linalg.svd(off, full_matrices=False)[2][0]
    along, across = off @ ahead, off @ np.array([-ahead[1], ahead[0]])
    return float(np.ptp(across) / max(np.ptp(along), 1e-9))
