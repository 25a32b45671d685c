"""Tells where a run turns sharply at one prick: there, a corner's stabs may not have been known.

Stabs in a row, of which some are unseen, look like pricks. A curve turns about as much at the next
pricks, and a prick that lies off the outline turns it back there.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from plotout_photo.groups import STAB, Group, is_smooth
from plotout_photo.table import Ordered
from plotout_photo.turning import left_turns

TURN, MORE = 35.0, 2.5  # degrees of a turn; times the turns beside it (an unseen corner: at once)
SHORT = 0.4  # of the usual step: what lies so near together is one place
FEWEST = 6  # places of a path


def told(final: Ordered, smooth: Sequence[tuple[float, float]] = ()) -> list[str]:
    """Return what to say of places within runs at which the outline turns sharply.

    smooth: places where the user says that there is no corner.
    """
    lines = []
    for ring in final.way.rings:
        places = _places(ring)
        if len(places) < FEWEST:
            continue
        turn = np.abs(left_turns(np.array([np.mean([g.at for g in one], axis=0)
                                           for one in places])))  # fmt: skip
        own = np.array([not one[0].corner for one in places])
        turn_beside = np.where(own, turn, 0.0)
        beside = np.maximum(np.roll(turn_beside, 1), np.roll(turn_beside, -1))
        for k in np.flatnonzero(own & (turn > TURN) & (turn > MORE * beside)).tolist():
            if not is_smooth(places[k][0].at, smooth):
                lines.append(_turns(final, places[k], float(turn[k])))
    return lines


def _places(ring: Sequence[Group]) -> list[list[Group]]:
    """Return the groups of a closed path, those together that lie at one place."""
    at = np.array([group.at for group in ring])
    steps = np.hypot(*(np.roll(at, -1, axis=0) - at).T)
    near = min(SHORT * float(np.median(steps)), STAB)
    made: list[list[Group]] = [[ring[0]]] if len(ring) else []
    for before, group, step in zip(ring, ring[1:], steps, strict=False):
        if step < near and not before.corner and not group.corner:
            made[-1].append(group)
        else:
            made.append([group])
    return made


def _turns(final: Ordered, place: Sequence[Group], turn: float) -> str:
    x, y = np.mean([group.at for group in place], axis=0)
    numbers = [final.numbers[k] for group in place for k in group.members]
    named = " and ".join(map(str, numbers))
    corner = " ".join(f"--corner {number}" for number in numbers)
    return (
        f"The outline turns by {turn:.0f} degrees at {named}, at {x:.0f}, {y:.0f} mm, within a "
        f"run: a corner may be missing there. If so: {corner}. If it is no prick: --drop "
        f"{' --drop '.join(map(str, numbers))}"
    )
