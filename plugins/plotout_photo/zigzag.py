"""Tells where an outline goes to and fro in short steps, as through stabs that are no corner.

A run leads from prick to prick in steps of some length. Where it turns in far shorter ones, stabs
of a corner, or dust beside a prick, may have been taken for pricks of the run.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from plotout_photo.groups import Group
from plotout_photo.table import Ordered
from plotout_photo.turning import left_turns

SHORT = 0.4  # of the usual step: shorter ones are not those of a run
TO_AND_FRO = 90.0  # degrees that a path turns to and fro there, more than it turns in all
TURNS = 30.0  # degrees at a place that is named
# degrees at a prick so near a corner: the runs' own turn there at most 15, at a stab of the corner
# that is left beside it nearly always more (measured, with first pricks at 2.5 to 6 mm)
BESIDE = 25.0
FEWEST = 5  # places of a path


def told(final: Ordered) -> list[str]:
    """Return what to say of places where the outline goes to and fro."""
    lines = []
    for ring in final.way.rings:
        if len(ring) < FEWEST:
            continue
        at = np.array([group.at for group in ring])
        steps = np.hypot(*(np.roll(at, -1, axis=0) - at).T)  # step k goes from place k to the next
        short = steps < SHORT * float(np.median(steps))
        corner = np.array([group.corner for group in ring])
        stabs = np.array([group.corner and len(group.members) > 1 for group in ring])
        turn = left_turns(at)
        for places in _stretches(short & ~corner & ~np.roll(corner, -1)):
            if np.abs(turn[places]).sum() - abs(turn[places].sum()) >= TO_AND_FRO:
                named = [ring[k] for k in places if abs(turn[k]) >= TURNS]
                lines.append(_to_and_fro(final, named))
        for k in np.flatnonzero(short).tolist():
            for one, other in ((k, (k + 1) % len(ring)), ((k + 1) % len(ring), k)):
                if stabs[one] and not corner[other] and abs(turn[other]) >= BESIDE:
                    lines.append(_beside(final, ring[one], ring[other]))
    return lines


def _stretches(short: NDArray[np.bool_]) -> Iterator[list[int]]:
    """Return the places of a closed path that short steps join. short: (n,) from each place on."""
    count = len(short)
    for first in np.flatnonzero(short & ~np.roll(short, 1)).tolist():
        length = 1
        while length < count and short[(first + length) % count]:
            length += 1
        yield [(first + k) % count for k in range(length + 1)]


def _to_and_fro(final: Ordered, places: Sequence[Group]) -> str:
    x, y = np.mean([group.at for group in places], axis=0)
    numbers = [final.numbers[k] for group in places for k in group.members]
    return (
        f"The outline goes to and fro in short steps at {x:.0f}, {y:.0f} mm, through "
        f"{', '.join(map(str, numbers))}. If three or four of them are the stabs of a corner, "
        f"name these: {_corner(numbers)}. Leave out what is no prick: --drop NUMBER"
    )


def _beside(final: Ordered, corner: Group, prick: Group) -> str:
    """Return the words on a prick close to a corner at which a run turns."""
    numbers = [final.numbers[k] for k in prick.members]
    stabs = ", ".join(str(final.numbers[k]) for k in corner.members)
    named, gap = " and ".join(map(str, numbers)), float(np.hypot(*(prick.at - corner.at)))
    return (
        f"The outline turns sharply at {named}, {gap:.1f} mm from the corner at "
        f"{corner.at[0]:.0f}, {corner.at[1]:.0f} mm that stabs {stabs} make. If {named} is one of "
        f"its stabs, name all three or four: {_corner(numbers)} --corner NUMBER ... If it is no "
        f"prick: --drop {' --drop '.join(map(str, numbers))}"
    )


def _corner(numbers: Sequence[int]) -> str:
    return " ".join(f"--corner {number}" for number in numbers)
