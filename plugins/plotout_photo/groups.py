"""The places of an outline: single pricks, and the stabs that make a corner together.

Three or more stabs in one place are a corner (common practice). Of one that has fewer, the path
through all places decides: where it turns there is a corner, where it goes straight on there isn't.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from plotout import FloatArray
from plotout_photo.clutch import clutches
from plotout_photo.missing import corners_unseen
from plotout_photo.pencil import renumbered
from plotout_photo.ring import STABS, middle_of
from plotout_photo.sift import DOUBTFUL
from plotout_photo.tight import Spacing
from plotout_photo.tour import shortest
from plotout_photo.turning import turning, turns

STAB = 3.2  # mm between stabs of one corner
WIDEST = 5.5  # mm that the stabs of one corner extend at most
BESIDE = 6.0  # mm from a corner that is no corner
LONE = 4.0  # times the usual distance of pricks: so far from all others, it is none
SHARP = 50.0  # degrees of turn at a prick that is taken for a corner
SMOOTH = 15.0  # degrees of turn up to which two stabs are no corner
CERTAIN, NEAR = 0.8, 2.8  # but two that are as certain, and as near (mm), are one
ON_BOTH = 0.4  # mm of detour up to which the two of a pair are pricks of two runs
FAR_LESS = 0.75  # times the certainty of the third, for a stab that does not count beside three
LIKELY = 0.4  # certainty of what would pass for a prick, but for the writing beside it
AT_MEETING = 2.4  # mm from where two drawn lines meet: stabs of a corner
FAR = 0.35  # mm that a corner of stabs is likely off, if its runs pass elsewhere (see `placed`)
FEWEST = 5  # places from which one may lie far from all others
_NO_PAIRS = np.empty((0, 2), dtype=np.intp)


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """One place of the outline: a prick, or the stabs of a corner. members: numbers of pricks.

    A corner without any is one of which no stab was seen. off: mm by which a corner may be off its
    stabs' middle and its runs' meeting, one sigma. drawn: its place is where two drawn lines meet.
    """

    at: FloatArray
    members: tuple[int, ...]
    corner: bool
    doubtful: bool = False
    off: float = 0.0
    drawn: bool = False

    @property
    def contradicted(self) -> bool:
        """Whether the runs at a corner meet clearly beside its stabs."""
        return self.corner and not self.doubtful and len(self.members) >= STABS and self.off > FAR


def grouped(
    at: FloatArray,
    corners: frozenset[int],
    sure: FloatArray | None = None,
    smooth: Sequence[tuple[float, float]] = (),
) -> list[Group]:
    """Group the stabs of one place. Two may be a corner whose third stab was not seen.

    sure: (n,) the certainty of pricks; what is less certain beside three does not move them.
    smooth: places where the user says that there is no corner.
    """
    made, spacing = list[Group](), Spacing(at)
    for whole in linked(at):
        parts, unsure = _parted(spacing, whole, corners, sure)
        for member in parts:
            said = bool(corners & set(member))
            place = middle_of(at[surest(member, sure)])
            if len(member) > 1 and not said and is_smooth(place, smooth, STAB):
                made += [Group(at[k], (k,), corner=False) for k in member]
                continue
            doubtful = (len(member) == 2 or member == unsure) and not said
            made.append(Group(place, tuple(member), len(member) >= 2 or said, doubtful))
    return made


def linked(at: FloatArray) -> list[list[int]]:
    """Return the places, (n, 2) mm, that short steps join, by their rows."""
    pairs = cKDTree(at).query_pairs(STAB, output_type="ndarray") if len(at) > 1 else _NO_PAIRS
    joined = coo_array((np.ones(len(pairs)), pairs.T), (len(at), len(at)))
    _, label = connected_components(joined, directed=False)
    return [np.flatnonzero(label == part).tolist() for part in np.unique(label)]


def _parted(
    spacing: Spacing, member: list[int], said: frozenset[int], sure: FloatArray | None
) -> tuple[list[list[int]], list[int]]:
    """Divide places that are linked into the stabs of corners and single pricks beside them.

    said: those that the user made corners. Three or more are the stabs of one; fewer are of a ring
    or row of stabs, or one corner where none is seen. Returned are also stabs of a corner that may
    be others.
    """
    at = spacing.at
    own = [k for k in member if k in said]
    if own and np.ptp(at[own], axis=0).max() > WIDEST:
        own = []
    rings = [own] if len(own) >= STABS else []
    certain = [k for k in surest(member, sure) if not rings or k not in own]
    round_one = [[certain[k] for k in ring] for ring in clutches(at[certain])]
    rows = [] if own else spacing.rows(certain)
    rows = [row for row in rows if not any(set(row) <= set(one) for one in round_one)]
    rings += [one for one in round_one if not any(set(row) & set(one) for row in rows)] + rows
    unsure = [] if own or rings else spacing.crowded(certain)
    near = np.ptp(at[member], axis=0).max() <= WIDEST
    if not rings and not unsure and near and (own or spacing.are_stabs(certain)):
        return [member], []
    middles = [at[ring].mean(axis=0) for ring in rings]
    for k in set(member) - set(certain) - set(own):  # of a ring, without counting there
        gaps = [float(np.hypot(*(at[k] - middle))) for middle in middles]
        if gaps and min(gaps) < STAB:
            rings[int(np.argmin(gaps))].append(k)
    rings += [unsure] if unsure else []
    left = [k for k in member if not any(k in ring for ring in rings)]
    one = [k for k in left if k in own]
    return [*rings, *([one] if one else []), *([k] for k in left if k not in one)], unsure


def surest(member: list[int], sure: FloatArray | None) -> list[int]:
    """Return the stabs by which a corner is placed: without those far less certain than three."""
    if sure is None or len(member) <= STABS:
        return member
    least = min(DOUBTFUL, FAR_LESS * sorted(sure[member])[-STABS])
    return [k for k in member if sure[k] >= least]


def lone(groups: Sequence[Group]) -> list[int]:
    """Return what lies far from all others, as a spot on the paper's edge: it is on no run."""
    if len(groups) < FEWEST:
        return []
    at = np.array([group.at for group in groups])
    gap = cKDTree(at).query(at, k=2)[0][:, 1]
    far = gap > LONE * np.median(gap)
    return [k for k in np.flatnonzero(far).tolist() if not groups[k].corner]


def between_groups(
    groups: Sequence[Group], lined: NDArray[np.intp] | None, count: int
) -> NDArray[np.intp]:
    """Return the pairs of groups between which a line is drawn, (m, 2)."""
    home = np.zeros(count, dtype=np.intp)
    for index, group in enumerate(groups):
        home[list(group.members)] = index
    pairs = home[lined] if lined is not None else np.empty((0, 2), dtype=np.intp)
    return np.unique(np.sort(pairs[pairs[:, 0] != pairs[:, 1]], axis=1), axis=0)


def path_through(groups: Sequence[Group], tour: list[int], drawn: NDArray[np.intp]) -> list[int]:
    """Return the order of a short closed path through groups, given by index."""
    if len(tour) <= 3:
        return tour
    return shortest(
        [groups[index].at for index in tour], tour, renumbered(drawn, np.array(tour, dtype=np.intp))
    )


def pairs_of_two_runs(groups: list[Group], tour: list[int], at: FloatArray) -> None:
    """Make pairs of pricks of their two runs where these come close, as at a dart's point.

    One of a pair lies between its neighbours then, the other on another stretch of the path.
    """
    pairs = [k for k in tour if groups[k].doubtful and len(groups[k].members) == 2]
    for index in pairs:
        places = np.array([groups[other].at for other in tour])
        k = tour.index(index)
        after = (k + 1) % len(tour)
        stretches = np.stack([places, np.roll(places, -1, axis=0)])
        stretches[:, [k - 1, k]] = np.inf
        one, other = groups[index].members
        ways = []
        for stays, leaves in ((one, other), (other, one)):
            away = detours(at[leaves], *stretches)
            to = int(np.argmin(away))
            here = detours(at[stays], places[k - 1], places[after])
            ways.append((float(away[to] + here), stays, leaves, to))
        detour, stays, leaves, to = min(ways)
        if detour < ON_BOTH:
            groups[index] = Group(at[stays], (stays,), corner=False)
            groups.append(Group(at[leaves], (leaves,), corner=False))
            tour.insert(to + 1, len(groups) - 1)


def detours(place: FloatArray, starts: FloatArray, ends: FloatArray) -> Any:
    """Return how much longer ways (..., 2) are by way of a place, mm."""
    gaps = [np.hypot(*np.moveaxis(end - place, -1, 0)) for end in (starts, ends)]
    with np.errstate(invalid="ignore"):
        longer = gaps[0] + gaps[1] - np.hypot(*np.moveaxis(ends - starts, -1, 0))
    return np.where(np.isfinite(longer), longer, np.inf)


def pairs_on_the_way(
    groups: list[Group], tour: Sequence[int], at: FloatArray, sure: FloatArray | None
) -> list[int]:
    """Make pairs of stabs where the path does not turn single pricks. Returns the rest's groups.

    Of a corner's three stabs one may be unseen, but so may dust lie beside a prick: the one nearer
    to the path is the prick. Two that are certain are a corner.
    """
    rest = []
    places = np.array([groups[index].at for index in tour])
    for k, turn in enumerate(turns(places)):
        group = groups[tour[k]]
        if not group.doubtful or len(group.members) != 2 or turn > SMOOTH:
            continue
        pair = list(group.members)
        near = np.hypot(*(at[pair[0]] - at[pair[1]])) < NEAR
        if near and sure is not None and sure[pair].min() > CERTAIN:
            continue
        before, after = places[k - 1], places[(k + 1) % len(tour)]
        chord = (after - before) / np.hypot(*(after - before))
        off = np.abs((at[list(group.members)] - before) @ np.array([-chord[1], chord[0]]))
        on, other = (group.members[index] for index in np.argsort(off, kind="stable"))
        groups[tour[k]] = Group(at[on], (on,), corner=False)
        rest.append(len(groups))
        groups.append(Group(at[other], (other,), corner=False))
    return rest


def corners_of_one(
    groups: list[Group], tour: Sequence[int], smooth: Sequence[tuple[float, float]]
) -> None:
    """Make pricks doubtful corners where the path turns sharply, with them or without them."""
    places = np.array([groups[index].at for index in tour])
    turn = turns(places)
    count = len(tour)
    for k in np.argsort(-turn, kind="stable"):
        if turn[k] < SHARP or count <= FEWEST:
            break
        if is_smooth(places[k], smooth):
            continue
        around = [(k + step) % count for step in (-2, -1, 0, 1, 2)]
        ring = places[around]
        spared = turning(ring) - turning(np.delete(ring, 2, axis=0))
        if spared < turn[k] / 2.0 and not any(groups[tour[index]].corner for index in around[1:4]):
            groups[tour[k]] = replace(groups[tour[k]], corner=True, doubtful=True)


def corners_of_none(
    groups: list[Group], tour: list[int], smooth: Sequence[tuple[float, float]]
) -> None:
    """Add doubtful corners where the path turns at once between two pricks.

    A prick that lies there is its stab.
    """
    places = np.array([groups[index].at for index in tour]).reshape(-1, 2)
    corner = np.array([groups[index].corner for index in tour], dtype=bool)
    for step, at in reversed(corners_unseen(places, corner)):
        if is_smooth(at, smooth):
            continue
        near = min((step, (step + 1) % len(tour)), key=lambda k: float(np.hypot(*(places[k] - at))))
        if np.hypot(*(places[near] - at)) < STAB:
            groups[tour[near]] = replace(groups[tour[near]], corner=True, doubtful=True)
            continue
        tour.insert(step + 1, len(groups))
        groups.append(Group(at, (), corner=True, doubtful=True))


def corners_of_lines(
    groups: list[Group],
    tour: list[int],
    meetings: FloatArray,
    smooth: Sequence[tuple[float, float]],
) -> None:
    """Make a corner of every place, (n, 2), where two drawn lines meet, and of the stabs there."""
    for at in meetings:
        places = np.array([groups[index].at for index in tour]).reshape(-1, 2)
        gaps = np.hypot(*(places - at).T)
        corner = np.array([groups[index].corner for index in tour], dtype=bool)
        if (gaps[corner] < STAB).any() or is_smooth(at, smooth):
            continue
        here: list[int] = np.flatnonzero(gaps < AT_MEETING).tolist()
        members = tuple(k for index in here for k in groups[tour[index]].members)
        made = Group(at, members, corner=True, doubtful=len(members) < STABS, drawn=True)
        after = int(np.argmin(detours(at, places, np.roll(places, -1, axis=0))))
        step = here[0] if here else after + 1
        for index in reversed(here):
            tour.pop(index)
        tour.insert(step, len(groups))
        groups.append(made)


def is_smooth(
    at: FloatArray, smooth: Sequence[tuple[float, float]], beside: float = BESIDE
) -> bool:
    """Return whether the user says that there is no corner at a place, or so near to it, mm."""
    return any(np.hypot(*(at - np.array(one))) < beside for one in smooth)
