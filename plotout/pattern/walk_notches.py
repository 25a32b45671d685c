"""Notches along a walked seam: which of its sides meet, by how much not, and which stand alone."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from plotout.geometry.polyline import direction_at, turned_by
from plotout.geometry.strokes import FloatArray
from plotout.geometry.sureness import Known, Otherwise, known_together, less
from plotout.pattern.accuracy import doubtful, unless
from plotout.pattern.chain import Chain, Link
from plotout.pattern.model import Notch
from plotout.pattern.sides import Ease, beyond
from plotout.pattern.stretch import Stretch, digits

Pairs = list[tuple[int, int]]
Level = Callable[[float], float]
SAME = 0.05  # mm: a notch that near to a joint is at it
_CORNER = 20.0  # degrees: the seam of a sharper turn is sewn round a corner
_NEAR = 5.0  # mm: a notch so near to a joint of the other side is meant to show it


@dataclass(frozen=True, slots=True)
class Standing:
    """A notch of one side: how far along the seam, mm, and its piece.

    notch: None for a joint of two pieces, or a corner of one, which a notch of the other side may
    show. measured_from: how far along the seam, mm, the corner is from which a length gives its
    place; None without one.
    """

    along: float
    notch: Notch | None
    piece: str
    measured_from: float | None = None


@dataclass(frozen=True, slots=True)
class NotchResult:
    """Two notches that should meet. first, second: mm along the sides as walked.

    off: how far the second lies from its proper place, beyond what the ease allows, in mm.
    known_to: mm to which that is known, two sigma. fault: what is surely wrong, in words; doubt:
    what seems so, though the pricks don't show it. unproved: see `Known`.
    """

    first: float
    second: float
    off: float
    known_to: float
    fault: str = ""
    doubt: str = ""
    unproved: float = 0.0


def leveled(
    first: Chain, second: Chain, ease: Ease, marked: Sequence[tuple[float, float]]
) -> Level:
    """Return how to find the mm along the second side that meet those along the first.

    That is as if the ease were even from the start over the seam's own notches to the end. ease: of
    the whole seam. marked: mm along both sides of its own notches.
    """
    eased = min(max(first.whole - second.whole, ease[0]), ease[1])
    scale = second.whole / max(second.whole + eased, 0.1 * second.whole)
    places = [(0.0, 0.0), *sorted(marked), (first.walked, first.walked * scale)]
    ones, others = zip(*places, strict=True)
    return lambda along: float(np.interp(along, ones, others))


def standing(
    first: Chain, second: Chain, ease: Ease, level: Level
) -> tuple[list[Standing], list[Standing]]:
    """Return the notches of both sides in the order walked, and the joints that they show.

    A notch without a partner, near to where two pieces of the other side meet, shows that place (a
    sleeve's at the shoulder, a band's at the side). ease: of the seam. level: see `leveled`.
    """
    every, all_others = _notches_of(first), _notches_of(second)

    def apart(one: Standing, other: Standing) -> float:
        return abs(level(one.along) - other.along)

    ones = _met(first, every, lambda one: min([apart(one, o) for o in all_others], default=0.0))
    others = _met(second, all_others, lambda o: min([apart(one, o) for one in every], default=0.0))
    pairs = paired(ones, others, level)
    used = {id(ones[i].notch) for i, _ in pairs} | {id(others[j].notch) for _, j in pairs}
    share = min(0.0, ease[0]), max(0.0, ease[1])

    def shown(one: Standing, other: Standing, notch: Notch | None) -> bool:
        """Return whether a notch may show a joint: one that has a partner, only an even one."""
        if id(notch) in used:
            return apart(one, other) <= _NEAR
        return abs(beyond(one.along - other.along, share)) <= _NEAR

    alone = [one for i, one in enumerate(ones) if i not in [i for i, _ in pairs]]
    without = [other for j, other in enumerate(others) if j not in [j for _, j in pairs]]
    joints = [
        joint
        for joint in _bare_joints(second, others)
        if any(shown(one, joint, one.notch) for one in alone)
    ]
    also = [
        joint
        for joint in _bare_joints(first, ones)
        if any(shown(joint, other, other.notch) for other in without)
    ]
    return _in_order([*ones, *also]), _in_order([*others, *joints])


def _notches_of(side: Chain) -> list[Standing]:
    found, walked = [], 0.0
    for link in side.row:
        for notch in link.piece.notches:
            if notch.edge == link.edge.name:
                here = link.size - notch.along if link.turned else notch.along
                before = notch.measured_from == ("end" if link.turned else "start")
                corner = walked if before else None
                found.append(Standing(walked + here, notch, link.piece.name, corner))
        walked += link.size
    return _in_both_halves(found, side)


def _met(side: Chain, notches: list[Standing], off: Callable[[Standing], float]) -> list[Standing]:
    """Return the notches of a side of several laps that have a partner: all are cut from one card,
    so that a notch which only one lap needs is in each. Of one that has none, the nearest.

    off: how far a notch is from the nearest of the other side, mm.
    """
    if side.laps == 1 or side.symmetric:
        return notches
    found = []
    for notch in dict.fromkeys(id(one.notch) for one in notches):
        copies = [one for one in notches if id(one.notch) == notch]
        near = [one for one in copies if off(one) <= _NEAR]
        found += near or [min(copies, key=off)]
    return _in_order(found)


def _joints_of(side: Chain) -> list[Standing]:
    """Return where one piece of a side ends and the next begins, which may be another like it, or
    where it goes round a corner of a piece.
    """
    found, walked = [], 0.0
    for at, (link, following) in enumerate(pairwise(side.row), start=1):
        walked += link.size
        one, other = link.piece.name, following.piece.name
        if one == other and following.folds(last=False):
            continue
        if one == other and at % len(side.links) and turns(link, following):
            edges = f"{link.edge.name}' and '{following.edge.name}' of '{one}"
            found.append(Standing(walked, None, edges))
        elif one != other:
            found.append(Standing(walked, None, f"{one}' and '{other}"))
        elif at % len(side.links) == 0:
            found.append(Standing(walked, None, f"{one}' and the next '{other}"))
    return _in_both_halves(found, side)


def _bare_joints(side: Chain, notches: Sequence[Standing]) -> list[Standing]:
    """Return those of a side's joints at which none of its own notches stands."""
    return [
        joint
        for joint in _joints_of(side)
        if all(abs(joint.along - notch.along) > SAME for notch in notches)
    ]


def _in_both_halves(found: list[Standing], side: Chain) -> list[Standing]:
    """Return what stands along a side, and its mirror images on a twinned one, in order."""
    if side.twinned and side.folds == "end":
        twins = [
            replace(one, along=2.0 * side.own - one.along, measured_from=None) for one in found
        ]
        found = [*found, *(twin for twin in twins if twin.along > side.own + 0.01)]
    elif side.twinned:  # the walk begins at the fold: the middle of the seam
        found = [
            replace(one, along=side.own + sign * one.along, measured_from=None)
            for one in found
            for sign in ((1.0, -1.0) if one.along > 0.01 else (1.0,))
        ]
    return _in_order(found)


def _in_order(found: list[Standing]) -> list[Standing]:
    return sorted(found, key=lambda one: one.along)


def paired(one_side: Sequence[Standing], other_side: Sequence[Standing], level: Level) -> Pairs:
    """Pair as many notches as possible, in order, as near together as possible.

    level: see `leveled`. Needleman and Wunsch's alignment (1970), with a cost of omission above any
    distance.
    """
    ones, others = [level(one.along) for one in one_side], [other.along for other in other_side]
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


def turns(before: Link, after: Link) -> bool:
    """Return whether a side goes round a corner from an edge to the next."""
    return turned_by(_direction(before, last=True), _direction(after, last=False)) > _CORNER


def _direction(link: Link, *, last: bool) -> FloatArray:
    """Return the unit vector in which an edge is walked at one of its ends, (2,)."""
    along = link.size if last != link.turned else 0.0
    return direction_at(link.edge.points, along) * (-1.0 if link.turned else 1.0)


def met_at(
    one: Standing,
    other: Standing,
    sides: tuple[Chain, Chain],
    ease: tuple[float, float],
    tolerance: float,
) -> NotchResult:
    """Compare two paired notches: how far apart they lie beyond the ease, and a fault in words."""
    off = beyond(one.along - other.along, ease)
    known, unproved = known_together([_known(one, sides[0]), _known(other, sides[1])])
    result = NotchResult(one.along, other.along, off, known, unproved=unproved)
    if abs(off) <= tolerance + 1e-9:
        if one.notch and other.notch and one.notch.count != other.notch.count:
            fault = (
                f"notch at {one.along:.1f} mm: {one.notch.count} on '{one.piece}', "
                f"{other.notch.count} on '{other.piece}'"
            )
            return replace(result, fault=fault)
        return result
    joint = next((f" where '{one.piece}' meet" for one in (one, other) if not one.notch), "")
    to = digits(off)
    where = (
        f"{joint}: at {one.along:.{to}f} mm of '{sides[0].name}', "
        f"at {other.along:.{to}f} mm of '{sides[1].name}'"
    )
    if known < 1e-9 or abs(off) - known > tolerance:
        wrong = f"notch {abs(off):.{to}f} mm off{where}"
        otherwise = less(_otherwise(one, sides[0]), _otherwise(other, sides[1]))
        apart = Stretch("", "", one.along, other.along, ease, tolerance, known, otherwise)
        if apart.explained:
            return replace(result, doubt=unless(wrong, apart.explained))
        return replace(result, fault=wrong)
    best = f"one is {abs(off):.{to}f} mm off on the cards{where}, but that"
    return replace(result, doubt=doubtful("whether its notches meet", best, known, tolerance))


def _known(one: Standing, side: Chain) -> Known:
    """Return to how many mm a notch's distance from the seam's start is known."""
    return side.known_between(0.0, _from_corner(one))


def _otherwise(one: Standing, side: Chain) -> tuple[Otherwise, ...]:
    """Return what that distance is by other explanations of the pricks."""
    return side.otherwise_between(0.0, _from_corner(one))


def _from_corner(one: Standing) -> float:
    """Return how far along the seam a notch's place isn't exact, mm."""
    return one.along if one.measured_from is None else one.measured_from
