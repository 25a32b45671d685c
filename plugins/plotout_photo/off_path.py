"""Tells the pricks of a path from what is beside it: strays, lettering, marks inside a piece.

A path that leaves its way for a stray turns there and back again, and without it it turns less.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from plotout import FloatArray, UserError
from plotout_photo.groups import Group, detours, path_through
from plotout_photo.turning import turning

LOOSE = 2.2  # mm of detour above which pricks that are no corner may be loose
TURNS = 45.0  # degrees by which the path turns less without them
MOST_OFF = 6  # pricks next to each other that may be loose: lettering
ROUNDS = 40  # strays, or groups of them, taken off a path one after another
REACH = MOST_OFF + 4  # pricks along a path within which taking some off may change how it turns
FAR_OFF = 1.5  # and their distance from the path's others, in usual distances and in their own
SPIKE = (3.0, 240.0)  # usual distances to a corner, and degrees spared, at which it is off
ON_PATH = 0.4  # mm of detour up to which a prick is none that was left out
EXCHANGED = 80.0  # degrees by which a path turns less with what was left out


def without_what_is_off(
    groups: Sequence[Group], tour: list[int], drawn: NDArray[np.intp]
) -> tuple[list[int], list[int]]:
    """Return a tour without what is off it, and that.

    Raises UserError where there is no end of it: the marks make no outline.
    """
    count, loose, rounds = len(tour), list[int](), 0
    if _turning_back(groups, tour) > ROUNDS:
        raise _no_outline(count, ROUNDS)
    while len(tour) > 3 and (off := _off_the_way(groups, tour)):
        loose += off
        rounds += 1
        if rounds > ROUNDS:
            raise _no_outline(count, len(loose))
        tour = path_through(groups, [index for index in tour if index not in off], drawn)
    return tour, loose


def _no_outline(count: int, off: int) -> UserError:
    return UserError(
        f"the marks on it make no outline: of {count} that pass for pricks, more than {off} lie "
        "off any path through the rest",
        fix="Is the paper patterned or speckled? Prick through onto plain or dotted paper.",
    )


def _turning_back(groups: Sequence[Group], tour: Sequence[int]) -> int:
    """Return at how many places a path turns back, so far from each other that what is taken off at
    one does not mend another.
    """
    found, last = 0, -REACH
    off = _off_stretches(groups, tour, 1)[0] if len(tour) > REACH else np.empty(0)
    for k in np.flatnonzero(off[: len(tour) - REACH]).tolist():
        if k - last >= REACH:
            found, last = found + 1, k
    return found


def exchanged(
    groups: Sequence[Group], tour: list[int], loose: list[int]
) -> tuple[list[int], list[int]]:
    """Return a tour and what is off it, exchanged where the path turns less by what was left out.

    What lies on the path without it is put back. What was exchanged twice stays out: else two marks
    in one place could take turns for ever.

    Marks inside a piece, within a step or so of its edge, may be taken into the path in place of
    the edge's own pricks.
    """
    at = np.array([group.at for group in groups])
    times: Counter[int] = Counter()
    while True:
        spare = [k for k in loose if not groups[k].corner and times[k] < 2]
        if not spare or len(tour) < 8:
            return tour, loose
        back = _on_the_way(at, tour, spare)
        if back is not None:
            index, after = back
            tour = [*tour[: after + 1], index, *tour[after + 1 :]]
            loose = [other for other in loose if other != index]
            continue
        change = _better(groups, at, tour, spare)
        if change is None:
            return tour, loose
        inner, taken, before = change
        times.update(inner)
        tour = [index for index in tour if index not in inner]
        k = tour.index(before) + 1
        tour[k:k] = taken
        loose = [*(i for i in loose if i not in taken), *inner]


def _on_the_way(at: FloatArray, tour: list[int], spare: Sequence[int]) -> tuple[int, int] | None:
    """Return a mark that lies on a path, and after which of its places, or None."""
    for index in spare:
        away = detours(at[index], at[tour], at[np.roll(tour, -1)])
        k = int(away.argmin())
        if away[k] < ON_PATH:
            return index, k
    return None


def _better(
    groups: Sequence[Group], at: FloatArray, tour: list[int], spare: Sequence[int]
) -> tuple[list[int], list[int], int] | None:
    """Return what to take out of a path, what to take in for it, and after which mark, or None."""
    count = len(tour)
    usual = float(np.median(np.hypot(*(at[np.roll(tour, -1)] - at[tour]).T)))
    best, change, places = EXCHANGED, None, at[list(spare)]
    for start in range(count):
        for length in (1, 2, 3):
            ring = [tour[(start + step) % count] for step in range(-2, length + 4)]
            a, b, inner = ring[2], ring[-3], ring[3:-3]
            if any(groups[index].corner for index in inner):
                continue
            along = (at[b] - at[a]) / max(float(np.hypot(*(at[b] - at[a]))), 1e-9)
            side = np.array([-along[1], along[0]])
            place = (places - at[a]) @ np.column_stack([along, side])
            span = float((at[b] - at[a]) @ along)
            near = (place[:, 0] > 0.0) & (place[:, 0] < span) & (np.abs(place[:, 1]) < usual / 2.0)
            taken = [spare[k] for k in np.flatnonzero(near)[np.argsort(place[near, 0])]]
            if not taken or span > usual * (len(taken) + 2):
                continue
            spared = float(turning(at[ring]) - turning(at[[*ring[:3], *taken, *ring[-3:]]]))
            if spared > best:
                best, change = spared, (inner, taken, a)
    return change


def _off_the_way(groups: Sequence[Group], tour: Sequence[int]) -> list[int]:
    """Return the pricks, next to each other, that are most clearly off the path; [] if none is.

    A path that leaves its way turns there and back again, and without those pricks it turns less.
    At a corner without stabs it turns as much without its outermost prick as with it.
    """
    best, which = 0.0, list[int]()
    for length in range(1, min(MOST_OFF, len(tour) - 4) + 1):
        off, detour, part = _off_stretches(groups, tour, length)
        gain = np.where(off, detour / length, 0.0)
        k = int(gain.argmax())
        if gain[k] > best:
            best, which = float(gain[k]), [tour[index] for index in part[k]]
    return which


def _off_stretches(
    groups: Sequence[Group], tour: Sequence[int], length: int
) -> tuple[NDArray[np.bool_], FloatArray, NDArray[np.intp]]:
    """Return which stretches of so many pricks are off the path, (n,), the detours that they are,
    (n,) mm, and their places in the tour, (n, length).
    """
    count = len(tour)
    at = np.array([groups[index].at for index in tour])
    corner = np.array([groups[index].corner for index in tour])
    steps = np.hypot(*(np.roll(at, -1, axis=0) - at).T)
    usual = float(np.median(steps))
    around = (np.arange(count)[:, None] + np.arange(-2, length + 2)) % count
    rings, part = at[around], around[:, 2:-2]
    rests = np.delete(rings, range(2, 2 + length), axis=1)
    detour = steps[around[:, 1:-2]].sum(axis=1) - np.hypot(*(rests[:, 2] - rests[:, 1]).T)
    spared = turning(rings) - turning(rests)
    ends = np.minimum(steps[around[:, 1]], steps[around[:, -3]])
    off = ~corner[part].any(axis=1) & (detour >= LOOSE) & (spared >= TURNS)
    if length == 1:  # what is taken for stabs, but no dart's point between two other corners
        lone = ~corner[around[:, [1, 3]]].any(axis=1)
        off |= lone & (ends >= SPIKE[0] * usual) & (spared >= SPIKE[1])
    if length > 1:
        inner = steps[around[:, 2 : length + 1]].max(axis=1)
        off &= ends >= FAR_OFF * np.maximum(usual, inner)
    return off, detour, part
