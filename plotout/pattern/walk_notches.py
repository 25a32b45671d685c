"""Notches along a walked seam: which of its sides meet, by how much not, and which stand alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from plotout.pattern.model import Notch
from plotout.pattern.sides import Chain, Ease

Pairs = list[tuple[int, int]]


@dataclass(frozen=True, slots=True)
class Standing:
    """A notch of one side: how far along the seam, mm, and its piece."""

    along: float
    notch: Notch
    piece: str


@dataclass(frozen=True, slots=True)
class NotchResult:
    """Two notches that should meet. first, second: mm along the sides as walked.

    off: how far the second lies from its proper place, beyond what the ease allows, in mm.
    """

    first: float
    second: float
    off: float
    fault: str = ""


def notches_of(side: Chain) -> list[Standing]:
    """Return the side's notches in the order walked."""
    found, walked = [], 0.0
    for link in side.links:
        for notch in link.piece.notches:
            if notch.edge == link.edge.name:
                here = link.size - notch.along if link.turned else notch.along
                found.append(Standing(walked + here, notch, link.piece.name))
        walked += link.size
    if side.twinned and side.folds == "end":
        twins = [replace(one, along=2.0 * side.own - one.along) for one in found]
        found += [twin for twin in twins if twin.along > side.own + 0.01]
    elif side.twinned:  # the walk begins at the fold: the middle of the seam
        found = [
            replace(one, along=side.own + sign * one.along)
            for one in found
            for sign in ((1.0, -1.0) if one.along > 0.01 else (1.0,))
        ]
    return sorted(found, key=lambda one: one.along)


def paired(ones: Sequence[float], others: Sequence[float]) -> Pairs:
    """Pair as many notches as possible, in order, as near together as possible.

    Needleman and Wunsch's alignment (1970), with a cost of omission above any distance.
    """
    leave = 1.0 + sum(map(abs, ones)) + sum(map(abs, others))
    price = np.zeros((len(ones) + 1, len(others) + 1))
    price[:, 0] = leave * np.arange(len(ones) + 1)
    price[0] = leave * np.arange(len(others) + 1)
    for i, one in enumerate(ones, 1):
        for j, other in enumerate(others, 1):
            apart = price[i - 1, j - 1] + abs(one - other)
            price[i, j] = min(apart, price[i - 1, j] + leave, price[i, j - 1] + leave)
    pairs: Pairs = []
    i, j = len(ones), len(others)
    while i and j:
        if price[i, j] == price[i - 1, j - 1] + abs(ones[i - 1] - others[j - 1]):
            i, j = i - 1, j - 1
            pairs.append((i, j))
        elif price[i, j] == price[i - 1, j] + leave:
            i -= 1
        else:
            j -= 1
    return pairs[::-1]


def without_partner(
    ones: Sequence[Standing], others: Sequence[Standing], pairs: Pairs
) -> tuple[list[str], list[str]]:
    """Report notches without a partner: as faults, or as notes if the other side has none.

    On a piece on the fold, one half's notch needs no partner if the other half's has one.
    """
    used = {id(ones[i].notch) for i, _ in pairs} | {id(others[j].notch) for _, j in pairs}
    faults = [
        f"notch {one.notch.along:.1f} mm along '{one.notch.edge}' of '{one.piece}' has no partner"
        for one in (*ones, *others)
        if id(one.notch) not in used
    ]
    faults = list(dict.fromkeys(faults))
    return (faults, []) if ones and others else ([], faults)


def met_at(
    one: Standing,
    other: Standing,
    sides: tuple[Chain, Chain],
    ease: tuple[float, float],
    tolerance: float,
) -> NotchResult:
    """Compare two paired notches: how far apart they lie beyond the ease, and a fault in words."""
    off = beyond(one.along - other.along, ease)
    fault = ""
    if abs(off) > tolerance + 1e-9:
        fault = (
            f"notch {abs(off):.1f} mm off: at {one.along:.1f} mm of "
            f"'{sides[0].name}', at {other.along:.1f} mm of '{sides[1].name}'"
        )
    elif one.notch.count != other.notch.count:
        fault = (
            f"notch at {one.along:.1f} mm: {one.notch.count} on '{one.piece}', "
            f"{other.notch.count} on '{other.piece}'"
        )
    return NotchResult(one.along, other.along, off, fault)


def beyond(apart: float, ease: Ease) -> float:
    """Return by how much a difference exceeds its ease, mm."""
    least, most = ease
    return apart - most if apart > most else min(apart - least, 0.0)
