"""Tells of key points that seem to lie within a piece, as a pocket's corners and a dart's point do.

The outline, led through them, goes there and back. Without them it would go on evenly.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from plotout_photo.groups import Group
from plotout_photo.table import Ordered

LONG = 3.0  # usual steps without a prick, on both sides of such a key point
EVEN = 2.0  # usual steps, at most, from what is before it to what is after it


def told(final: Ordered) -> list[str]:
    """Return what to say of key points that seem to lie within."""
    return [
        f"No prick is seen beside the key {'points' if len(chain) > 1 else 'point'} at "
        f"{'; '.join(f'{group.at[0]:.0f}, {group.at[1]:.0f}' for group in chain)} mm, and without "
        f"{'them' if len(chain) > 1 else 'it'} the outline would go on evenly. What marks a place "
        "within the piece, as a pocket's corners or a dart's point, is to be left out: "
        + " ".join(f"--drop {final.numbers[m]}" for group in chain for m in group.members)
        for ring in final.way.rings
        for chain in _within(ring)
    ]


def _within(ring: Sequence[Group]) -> list[list[Group]]:
    """Return the key points, one after another, that a closed path only goes to and back from."""
    at = np.array([group.at for group in ring])
    steps = np.hypot(*(np.roll(at, -1, axis=0) - at).T)
    usual = float(np.median(steps))
    beside = np.minimum(steps, np.roll(steps, 1))
    far = [
        group.corner and bool(group.members) and own > LONG * usual
        for group, own in zip(ring, beside, strict=True)
    ]
    if all(far):
        return []
    first = far.index(False)
    chains, chain = list[list[Group]](), list[Group]()
    for k in range(first, first + len(ring) + 1):
        here = k % len(ring)
        if far[here]:
            chain.append(ring[here])
        elif chain:
            gap = np.hypot(*(at[here] - at[(k - len(chain) - 1) % len(ring)]))
            chains += [chain] if gap <= EVEN * usual else []
            chain = []
    return chains
