"""Tells of outlines that may be none: not closed anywhere, or made of two pieces.

The path through pricks is always closed, by a step of whatever length. Where that step is far
longer than all others, nothing shows that the piece has an edge there.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from plotout import FloatArray
from plotout_photo.groups import Group
from plotout_photo.tour import FEWEST, SO_MANY

ROW = 2.0  # mm: a path that is no wider on average goes to and fro along one row of pricks
OPEN = 10.0  # usual steps without a prick, amid a run: nothing shows an edge there (our choice)
APART = 3.0  # usual steps, at least, by which two pieces are joined
LIKE = 2.0  # times those steps is what would close both pieces, at most: farther apart are edges
PARTED = (
    "If so, cover one with paper and photograph the other, or lay them farther apart; if not, look "
    "for pricks that are covered or missed there."
)


def is_row(ring: Sequence[Group]) -> bool:
    """Return whether a closed path goes to and fro along one row, so that it encloses nothing."""
    at = np.array([group.at for group in ring]).reshape(-1, 2)
    after = np.roll(at, -1, axis=0)
    area = abs(float(np.sum(at[:, 0] * after[:, 1] - after[:, 0] * at[:, 1]))) / 2.0
    around = float(np.hypot(*(after - at).T).sum())
    return 2.0 * area < ROW * around


def told(rings: Sequence[Sequence[Group]]) -> list[str]:
    """Return what to say of closed paths that may be two pieces, or not closed anywhere."""
    lines = []
    for ring in rings:
        if len(ring) < FEWEST:
            continue
        at, steps = _steps(ring)
        usual = float(np.median(steps))
        if (pair := _bridges(at, steps, usual)) is not None:
            one, other = (f"{_ends(at, k)} ({steps[k]:.0f} mm)" for k in pair)
            lines.append(
                f"No prick is seen between {one}, nor between {other}: two pieces may be joined "
                f"there to one outline. {PARTED}"
            )
            continue
        for k in open_steps(ring):
            lines.append(
                f"The outline is not closed between {_ends(at, k)}: no prick is seen on "
                f"{steps[k]:.0f} mm, where one every {usual:.0f} mm is usual. It is joined there "
                "by a straight. Prick the piece all round, with its corners."
            )
    return lines


def open_steps(ring: Sequence[Group]) -> list[int]:
    """Return the steps of a closed path where nothing shows that the piece has an edge."""
    if len(ring) < FEWEST:
        return []
    _, steps = _steps(ring)
    bare = [ring[k].corner and ring[(k + 1) % len(ring)].corner for k in range(len(ring))]
    far = steps > OPEN * float(np.median(steps))
    return [int(k) for k in np.flatnonzero(far & ~np.array(bare))]


def _steps(ring: Sequence[Group]) -> tuple[FloatArray, FloatArray]:
    """Return the places of a closed path, (n, 2), and how far it is from each to the next, mm."""
    at = np.array([group.at for group in ring])
    return at, np.hypot(*(np.roll(at, -1, axis=0) - at).T)


def _bridges(at: FloatArray, steps: FloatArray, usual: float) -> tuple[int, int] | None:
    """Return the two steps of a closed path, (n, 2), by which two pieces may be joined, or None.

    Steps about as long would close each piece by itself.
    """
    after, best, pair = np.roll(at, -1, axis=0), LIKE, None
    far = np.flatnonzero(steps > APART * usual).tolist()
    for one in far:
        for other in far:
            if not SO_MANY <= other - one <= len(at) - SO_MANY:
                continue
            closing = sum(float(np.hypot(*(after[a] - at[b])))
                          for a, b in ((one, other), (other, one)))  # fmt: skip
            share = closing / float(steps[one] + steps[other])
            if share < best:
                best, pair = share, (one, other)
    return pair


def _ends(at: FloatArray, k: int) -> str:
    here, there = at[k], at[(k + 1) % len(at)]
    return f"{here[0]:.0f}, {here[1]:.0f} and {there[0]:.0f}, {there[1]:.0f} mm"
