"""Turns loose pricks into corners and runs, in order round the piece.

Three or more stabs in one place are a corner (common practice). The outline is the shortest closed
path; pricks off it are loose. Between corners lie runs, straight or curved by the better fit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from plotout import FloatArray
from plotout.kit import fit_line
from plotout_photo.corners import Side, placed
from plotout_photo.missing import corners_unseen
from plotout_photo.pencil import renumbered
from plotout_photo.tour import rings, shortest

STAB = 3.2  # mm between stabs of one corner
WIDEST = 5.5  # mm that the stabs of one corner extend at most
BESIDE = 6.0  # mm from a corner that is no corner
LONE = 4.0  # times the usual distance of pricks: so far from all others, it is none
LOOSE = 2.2  # mm of detour above which pricks that are no corner may be loose
TURNS = 45.0  # degrees by which the path turns less without them
MOST_OFF = 6  # pricks next to each other that may be loose: lettering
FAR_OFF = 1.5  # and their distance from the path's others, in usual distances and in their own
SHARP = 50.0  # degrees of turn at a prick that is taken for a corner
SMOOTH = 15.0  # degrees of turn up to which two stabs are no corner
CERTAIN, NEAR = 0.8, 2.8  # but two that are as certain, and as near (mm), are one
ON_BOTH = 0.4  # mm of detour up to which the two of a pair are pricks of two runs
MATCH = 3.0  # degrees by which two straight runs may turn at a mere match point
BOW = 0.7  # least bow of a curve, mm
CLEAR = 4.0  # of the criterion, for a curve: our choice, measured by tests/bench/photo.py
SCATTER = 0.12  # mm: pricks are no more accurate than this
FEWEST = 5  # pricks of a curve


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """One place of the outline: a prick, or the stabs of a corner. members: numbers of pricks.

    A corner without any is one of which no stab was seen. off: mm by which a corner may be off its
    stabs' middle and its runs' meeting, one sigma.
    """

    at: FloatArray
    members: tuple[int, ...]
    corner: bool
    doubtful: bool = False
    off: float = 0.0


@dataclass(frozen=True, slots=True)
class Run:
    """Groups from corner to corner, both included. kind: straight, curve or closed."""

    groups: tuple[int, ...]
    kind: str
    doubtful: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """The outlines made from the pricks. pieces: the runs of each, the one with most pricks first.

    matches: corners within a straight run.
    """

    groups: tuple[Group, ...]
    pieces: tuple[tuple[Run, ...], ...]
    loose: tuple[int, ...]
    matches: tuple[int, ...]

    @property
    def runs(self) -> tuple[Run, ...]:
        """The runs of all pieces."""
        return tuple(run for runs in self.pieces for run in runs)

    def moved(self, by: FloatArray) -> Way:
        """Return the outlines with all places shifted."""
        return replace(self, groups=tuple(replace(one, at=one.at + by) for one in self.groups))


def way_round(
    at: FloatArray,
    corners: Sequence[int] = (),
    sure: FloatArray | None = None,
    smooth: Sequence[tuple[float, float]] = (),
    given: Sequence[int] = (),
    lined: NDArray[np.intp] | None = None,
) -> Way:
    """Put pricks (n, 2), mm, in order. corners: rows of pricks that the user made corners.

    sure: (n,) how certain each is a prick, 0 to 1; all are, if it is not given. smooth: places
    where the user says that there is no corner, though no stab is seen. given: rows of places that
    are the user's own, so that a corner there is not moved. lined: pairs of rows between which a
    line is drawn, (m, 2).
    """
    groups = _groups(at, frozenset(corners))
    loose = _lone(groups)
    drawn = _between_groups(groups, lined, len(at))
    tour = _shortest(groups, [index for index in range(len(groups)) if index not in loose], drawn)
    count = len(tour)
    pieces, matches = [], list[int]()
    for ring in rings([group.at for group in groups], tour):
        whole = len(ring) == count
        tour = ring if whole else _shortest(groups, ring, drawn)
        tour, off = _without_what_is_off(groups, tour, drawn)
        loose += off
        _pairs_of_two_runs(groups, tour, at)
        loose += _pairs_on_the_way(groups, tour, at, sure)
        _corners_of_none(groups, tour, smooth)
        _corners_of_one(groups, tour)
        runs, within = _runs(groups, _counter_clockwise(groups, tour))
        _place_corners(groups, runs, frozenset(given))
        pieces.append(tuple(runs))
        matches += within
    pieces = [runs for runs in pieces if runs]
    pieces.sort(key=lambda runs: -sum(len(run.groups) for run in runs))
    return Way(tuple(groups), tuple(pieces), tuple(loose), tuple(matches))


def _between_groups(
    groups: Sequence[Group], lined: NDArray[np.intp] | None, count: int
) -> NDArray[np.intp]:
    """Return the pairs of groups between which a line is drawn, (m, 2)."""
    home = np.zeros(count, dtype=np.intp)
    for index, group in enumerate(groups):
        home[list(group.members)] = index
    pairs = home[lined] if lined is not None else np.empty((0, 2), dtype=np.intp)
    return np.unique(np.sort(pairs[pairs[:, 0] != pairs[:, 1]], axis=1), axis=0)


def _shortest(groups: Sequence[Group], tour: list[int], drawn: NDArray[np.intp]) -> list[int]:
    if len(tour) <= 3:
        return tour
    return shortest(
        [groups[index].at for index in tour], tour, renumbered(drawn, np.array(tour, dtype=np.intp))
    )


def _without_what_is_off(
    groups: Sequence[Group], tour: list[int], drawn: NDArray[np.intp]
) -> tuple[list[int], list[int]]:
    """Return a tour without what is off it, and that."""
    loose: list[int] = []
    while len(tour) > 3 and (off := _off_the_way(groups, tour)):
        loose += off
        tour = _shortest(groups, [index for index in tour if index not in off], drawn)
    return tour, loose


def _groups(at: FloatArray, corners: frozenset[int]) -> list[Group]:
    """Group the stabs of one place. Two may be a corner whose third stab was not seen."""
    home = list(range(len(at)))

    def root(index: int) -> int:
        while home[index] != index:
            index = home[index]
        return index

    if len(at) > 1:
        for one, other in sorted(cKDTree(at).query_pairs(STAB)):
            home[root(other)] = root(one)
    members: dict[int, list[int]] = {}
    for index in range(len(at)):
        members.setdefault(root(index), []).append(index)
    made = []
    for member in members.values():
        if np.ptp(at[member], axis=0).max() > WIDEST:  # a row of dots
            made += [Group(at[k], (k,), k in corners) for k in member]
            continue
        corner = len(member) >= 2 or bool(corners & set(member))
        doubtful = len(member) == 2 and not corners & set(member)
        made.append(Group(at[member].mean(axis=0), tuple(member), corner, doubtful))
    return made


def _lone(groups: Sequence[Group]) -> list[int]:
    """Return what lies far from all others, as a spot on the paper's edge: it is on no run."""
    if len(groups) < FEWEST:
        return []
    at = np.array([group.at for group in groups])
    gap = cKDTree(at).query(at, k=2)[0][:, 1]
    far = gap > LONE * np.median(gap)
    return [k for k in np.flatnonzero(far).tolist() if not groups[k].corner]


def _off_the_way(groups: Sequence[Group], tour: Sequence[int]) -> list[int]:
    """Return the pricks, next to each other, that are most clearly off the path; [] if none is.

    A path that leaves its way turns there and back again, and without those pricks it turns less.
    At a corner without stabs it turns as much without its outermost prick as with it.
    """
    count = len(tour)
    at = np.array([groups[index].at for index in tour])
    corner = np.array([groups[index].corner for index in tour])
    steps = np.hypot(*(np.roll(at, -1, axis=0) - at).T)
    usual = float(np.median(steps))
    best, which = 0.0, list[int]()
    for length in range(1, min(MOST_OFF, count - 4) + 1):
        around = (np.arange(count)[:, None] + np.arange(-2, length + 2)) % count
        rings, part = at[around], around[:, 2:-2]
        rests = np.delete(rings, range(2, 2 + length), axis=1)
        detour = steps[around[:, 1:-2]].sum(axis=1) - np.hypot(*(rests[:, 2] - rests[:, 1]).T)
        spared = _turning(rings) - _turning(rests)
        ends = np.minimum(steps[around[:, 1]], steps[around[:, -3]])
        off = ~corner[part].any(axis=1) & (detour >= LOOSE) & (spared >= TURNS)
        if length > 1:
            inner = steps[around[:, 2 : length + 1]].max(axis=1)
            off &= ends >= FAR_OFF * np.maximum(usual, inner)
        gain = np.where(off, detour / length, 0.0)
        k = int(gain.argmax())
        if gain[k] > best:
            best, which = float(gain[k]), [tour[index] for index in part[k]]
    return which


def _pairs_of_two_runs(groups: list[Group], tour: list[int], at: FloatArray) -> None:
    """Make pairs of pricks of their two runs where these come close, as at a dart's point.

    One of a pair lies between its neighbours then, the other on another stretch of the path.
    """
    pairs = [index for index in tour if groups[index].doubtful]
    for index in pairs:
        places = np.array([groups[other].at for other in tour])
        k = tour.index(index)
        after = (k + 1) % len(tour)
        stretches = np.stack([places, np.roll(places, -1, axis=0)])
        stretches[:, [k - 1, k]] = np.inf
        one, other = groups[index].members
        ways = []
        for stays, leaves in ((one, other), (other, one)):
            away = _detours(at[leaves], *stretches)
            to = int(np.argmin(away))
            here = _detours(at[stays], places[k - 1], places[after])
            ways.append((float(away[to] + here), stays, leaves, to))
        detour, stays, leaves, to = min(ways)
        if detour < ON_BOTH:
            groups[index] = Group(at[stays], (stays,), corner=False)
            groups.append(Group(at[leaves], (leaves,), corner=False))
            tour.insert(to + 1, len(groups) - 1)


def _detours(place: FloatArray, starts: FloatArray, ends: FloatArray) -> Any:
    """Return how much longer ways (..., 2) are by way of a place, mm."""
    gaps = [np.hypot(*np.moveaxis(end - place, -1, 0)) for end in (starts, ends)]
    with np.errstate(invalid="ignore"):
        longer = gaps[0] + gaps[1] - np.hypot(*np.moveaxis(ends - starts, -1, 0))
    return np.where(np.isfinite(longer), longer, np.inf)


def _pairs_on_the_way(
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
        if not group.doubtful or turn > SMOOTH:
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


def _corners_of_one(groups: list[Group], tour: Sequence[int]) -> None:
    """Make pricks doubtful corners where the path turns sharply, with them or without them."""
    places = np.array([groups[index].at for index in tour])
    turn = turns(places)
    count = len(tour)
    for k in np.argsort(-turn, kind="stable"):
        if turn[k] < SHARP or count < 5:
            break
        around = [(k + step) % count for step in (-2, -1, 0, 1, 2)]
        ring = places[around]
        spared = _turning(ring) - _turning(np.delete(ring, 2, axis=0))
        if spared < turn[k] / 2.0 and not any(groups[tour[index]].corner for index in around[1:4]):
            groups[tour[k]] = replace(groups[tour[k]], corner=True, doubtful=True)


def _corners_of_none(
    groups: list[Group], tour: list[int], smooth: Sequence[tuple[float, float]]
) -> None:
    """Add doubtful corners where the path turns at once between two pricks.

    A prick that lies there is its stab.
    """
    places = np.array([groups[index].at for index in tour]).reshape(-1, 2)
    corner = np.array([groups[index].corner for index in tour], dtype=bool)
    for step, at in reversed(corners_unseen(places, corner)):
        if any(np.hypot(*(at - np.array(one))) < BESIDE for one in smooth):
            continue
        near = min((step, (step + 1) % len(tour)), key=lambda k: float(np.hypot(*(places[k] - at))))
        if np.hypot(*(places[near] - at)) < STAB:
            groups[tour[near]] = replace(groups[tour[near]], corner=True, doubtful=True)
            continue
        tour.insert(step + 1, len(groups))
        groups.append(Group(at, (), corner=True, doubtful=True))


def turns(ring: FloatArray) -> FloatArray:
    """Return by how many degrees a closed path turns at its places, (n,)."""
    x, y = (np.roll(ring, -1, axis=0) - ring).T
    ahead = np.arctan2(y, x)
    return np.asarray(np.degrees(np.abs((ahead - np.roll(ahead, 1) + np.pi) % (2 * np.pi) - np.pi)))


def _turning(paths: FloatArray) -> Any:
    """Return by how many degrees paths (..., n, 2) turn in all, to either side, (...)."""
    x, y = np.moveaxis(np.diff(paths, axis=-2), -1, 0)
    turns = np.diff(np.unwrap(np.arctan2(y, x), axis=-1), axis=-1)
    return np.degrees(np.abs(turns).sum(axis=-1))


def _counter_clockwise(groups: Sequence[Group], tour: list[int]) -> list[int]:
    """Make the path counter-clockwise, beginning at the lowest, then leftmost corner."""
    if not tour:
        return tour
    at = np.array([groups[index].at for index in tour])
    x, y = at.T
    if float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) < 0.0:
        tour = tour[::-1]
        at = at[::-1]
    corners = [k for k, index in enumerate(tour) if groups[index].corner] or range(len(tour))
    first = min(corners, key=lambda k: (at[k] @ [1.0, 2.0], k))
    return tour[first:] + tour[:first]


def _runs(groups: Sequence[Group], tour: list[int]) -> tuple[list[Run], list[int]]:
    stops = [k for k, index in enumerate(tour) if groups[index].corner]
    if len(stops) < 2:  # a single corner divides nothing
        return ([Run(tuple(tour), "closed")] if len(tour) > FEWEST else []), []
    parts = [[tour[k % len(tour)] for k in range(a, b + 1)]
             for a, b in zip(stops, [*stops[1:], stops[0] + len(tour)], strict=True)]  # fmt: skip
    matches: list[int] = []
    index = 0
    while index < len(parts) and len(parts) > 3:
        before, here = parts[index - 1], parts[index]
        if _one_straight(groups, before, here):
            matches.append(here[0])
            parts[index - 1] = [*before, *here[1:]]
            parts.pop(index)
        else:
            index += 1
    return [_run(groups, part) for part in parts], matches


def _place_corners(groups: list[Group], runs: Sequence[Run], given: frozenset[int]) -> None:
    """Put corners where their stabs and the runs that meet there say, but for those given."""
    for before, after in zip([runs[-1], *runs[:-1]], runs, strict=True) if len(runs) > 1 else ():
        index = after.groups[0]
        if given & set(groups[index].members):
            continue
        sides = []
        for run, pricks in ((before, before.groups[1:-1]), (after, after.groups[-2:0:-1])):
            places = np.array([groups[k].at for k in pricks]).reshape(-1, 2)
            sides.append(Side(places, run.kind == "curve"))
        group = groups[index]
        at, off = placed(len(group.members), group.at, sides)
        groups[index] = replace(group, at=at, off=off)


def _one_straight(groups: Sequence[Group], before: list[int], here: list[int]) -> bool:
    """Return whether two runs are straight and continue in one line."""
    lines = []
    for part in (before, here):
        if _run(groups, part).kind != "straight":
            return False
        lines.append(fit_line(np.array([groups[index].at for index in part])).along)
    turn = np.degrees(np.arccos(np.clip(lines[0] @ lines[1], -1.0, 1.0)))
    return bool(turn < MATCH)


def _run(groups: Sequence[Group], part: list[int]) -> Run:
    at = np.array([groups[index].at for index in part])
    chord = at[-1] - at[0]
    span = float(np.hypot(*chord))
    along = (at - at[0]) @ chord / span**2
    across = (at - at[0]) @ np.array([-chord[1], chord[0]]) / span
    weight = np.ones(len(at))
    weight[[0, -1]] = 0.25  # a corner is placed less accurately than a prick
    if len(at) < 4 or float(np.ptp(across)) < BOW:
        return Run(tuple(part), "straight")
    fits, scores = [], []
    for degree in range(1, min(4, len(at) - 2) + 1):
        fit = np.polynomial.Polynomial.fit(along, across, degree, w=weight)
        off = (fit(along) - across) * weight
        scatter = max(float(off @ off) / len(at), SCATTER**2)
        fits.append(fit(along))
        # the Bayesian information criterion (Schwarz, Annals of Statistics 6, 1978)
        scores.append(len(at) * np.log(scatter) + (degree + 1) * np.log(len(at)))
    best = int(np.argmin(scores))
    bow = float(np.ptp(fits[best] - fits[0]))
    curved = bow > BOW and scores[best] < scores[0] - CLEAR
    if curved and len(at) < FEWEST:
        said = f"it seems to bow {bow:.1f} mm, but {len(at) - 2} pricks can't show a curve"
        return Run(tuple(part), "straight", said)
    return Run(tuple(part), "curve" if curved else "straight")
