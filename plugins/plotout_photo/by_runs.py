"""Takes stabs in a row apart from the first pricks beside them, by where the runs lead.

Steps alone don't show which of four or five places in a row are a corner's stabs: a run's first
prick may be as near to them as they are to each other. But the runs on both sides, continued, pass
the middle of the stabs, and the first pricks lie on them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, takewhile
from typing import NamedTuple

import numpy as np

from plotout import FloatArray
from plotout_photo.clutch import ON_RING, OUTSIDE
from plotout_photo.corners import SCATTER, Line, Side, continued
from plotout_photo.corners import STABS as OWN
from plotout_photo.groups import STAB, Group, is_smooth, linked, surest
from plotout_photo.ring import STABS, circle, middle_of
from plotout_photo.tight import CROWDED, FLAT, LONGEST, RADIUS, Spacing, breadth, longest_step

MOST = 6  # stabs of one corner
FEWEST, PLACES = 4, 9  # places near each other that are judged
FEW, FAR = 3, 8  # pricks of a run by which it is continued, at least and at most
STRAIGHT = 0.3  # mm off their line at most: pricks of a straight
BOWED, EXACT = (6, 4.0), 0.04  # but for so many that bow by so many sigmas; mm: of each, at least
TURN = 15.0  # degrees by which the runs turn at a corner, at least, but where stabs are clear
AHEAD = 1.0  # mm from the middle of the stabs that a first prick lies, at least
ASIDE, WIDENING = 0.5, 0.3  # mm, and mm per mm, that it lies aside of a run of fewer pricks
NARROW, SPREAD = 1.2, 0.3  # of the stabs' steps: a first prick is that far away, within so much
EVEN, ROUND = 0.2, 0.2  # of the steps of a row, and of a ring's radius, by which stabs differ
# squared sigmas: by which a ring is likelier than a row, and a second prick of a run unlikelier
RING, SECOND = 10.0, 8.0
GOES_ON, IN_LINE = 4.0, 0.1  # more, if a prick goes on a row of stabs evenly; breadth, of length
OTHER = 0.5  # mm: corners so near are the same
CLEAR, UNFIT = 4.0, 25.0  # squared sigmas by which others fit worse, and at most of the best


class _Beside(NamedTuple):
    """A run on one side of a middle, (2,). line: where it passes there, if its pricks show that.

    ahead: (2,), unit vector, the way along it.
    """

    middle: FloatArray
    ahead: FloatArray
    line: Line | None

    def unfit(self, place: FloatArray, sigma: float) -> float:
        """Return how far a place is off the line, in squared sigmas. sigma: its own, mm."""
        if self.line is None:
            return 0.0
        off = (place - self.middle) @ self.line.across - self.line.off
        return float(off**2 / (self.line.sigma**2 + sigma**2))

    def unfit_first(self, place: FloatArray, corner: FloatArray) -> float:
        """Return the same of a first prick; infinite if it is not clearly on this side of a corner.

        What is nearer is a stab, or of a line that goes on beyond the corner.
        """
        gone = place - corner
        ahead = float(gone @ self.ahead)
        if ahead < AHEAD or np.hypot(*gone) < OUTSIDE:
            return np.inf
        if self.line is not None:
            return self.unfit(place, SCATTER)
        aside = float(gone @ np.array([-self.ahead[1], self.ahead[0]]))
        return aside**2 / (ASIDE**2 + (WIDENING * ahead) ** 2)


class _Corner(NamedTuple):
    """A way to take places: the stabs among them, and how badly that fits, in squared sigmas.

    clear: by how many others must fit worse, to be none.
    """

    stabs: tuple[int, ...]
    at: FloatArray
    unfit: float
    clear: float


def judged(
    groups: Sequence[Group],
    paths: Sequence[Sequence[int]],
    at: FloatArray,
    said: frozenset[int],
    sure: FloatArray | None,
    smooth: Sequence[tuple[float, float]],
) -> list[Group] | None:
    """Return the groups with the stabs of rows taken apart by the runs; None if none is changed.

    paths: of groups, by index. said, sure, smooth: as in `grouped`.
    """
    made, gone, spacing = list[Group](), set[int](), Spacing(at)
    for whole in linked(at):
        member = surest(whole, sure)
        if not FEWEST <= len(member) <= PLACES or said & set(whole):
            continue
        if is_smooth(at[member].mean(axis=0), smooth):
            continue
        own = {k for k, group in enumerate(groups) if set(group.members) & set(whole)}
        found = _found(groups, paths, own, spacing, member)
        if found is None:
            continue
        best, doubtful = found
        stabs = set(best.stabs)
        stabs |= {k for k in set(whole) - set(member) if np.hypot(*(at[k] - best.at)) < STAB}
        now = [groups[k] for k in own if groups[k].corner]
        if len(now) == 1 and set(now[0].members) == stabs and now[0].doubtful == doubtful:
            continue
        gone |= own
        made.append(Group(best.at, tuple(sorted(stabs)), corner=True, doubtful=doubtful))
        made += [Group(at[k], (k,), corner=False) for k in whole if k not in stabs]
    return [group for k, group in enumerate(groups) if k not in gone] + made if gone else None


def _found(
    groups: Sequence[Group],
    paths: Sequence[Sequence[int]],
    own: set[int],
    spacing: Spacing,
    member: list[int],
) -> tuple[_Corner, bool] | None:
    """Return the corner that places make, and whether others may; None if nothing shows one."""
    at = spacing.at
    rows = [three for three in combinations(member, STABS) if _is_row(at[list(three)])]
    if not rows:
        return None
    short = min(longest_step(at[list(three)]) for three in rows) <= CROWDED * spacing.usual
    if not short and not any(groups[k].corner for k in own):
        return None
    sides = _sides(groups, paths, own, 0.0 if short else TURN)
    ways = _ways(at, member, sides) if sides else iter(())
    tried = [way for way in ways if np.isfinite(way.unfit)]
    if not tried:
        return None
    best = min(tried, key=lambda way: way.unfit)
    if len(member) == FEWEST and _is_row(at[member]) and spacing.is_clear(member):
        alone = next((way for way in tried if len(way.stabs) == FEWEST), best)
        if alone.unfit < best.unfit + CLEAR:
            return alone, False
    others = [way.unfit for way in tried if np.hypot(*(way.at - best.at)) > OTHER]
    return best, best.unfit > UNFIT or min(others, default=np.inf) < best.unfit + best.clear


def _sides(
    groups: Sequence[Group], paths: Sequence[Sequence[int]], own: set[int], least: float
) -> tuple[_Beside, _Beside] | None:
    """Return the runs on both sides of groups, which a path passes at once.

    None if there are none, or they turn by less than `least` degrees.
    """
    path = next((path for path in paths if own & set(path)), [])
    first = next((k for k, one in enumerate(path) if one in own and path[k - 1] not in own), None)
    if first is None:
        return None
    ring = [*path[first:], *path[:first]]
    last = max(k for k, index in enumerate(ring) if index in own)
    middle = np.mean([groups[k].at for k in own], axis=0)
    rest = ring[last + 1 :]
    before, after = (_beside(groups, way, middle) for way in (rest[::-1], rest))
    if last >= len(own) or before is None or after is None:
        return None
    turn = np.degrees(np.arccos(np.clip(-before.ahead @ after.ahead, -1.0, 1.0)))
    return (before, after) if turn >= least else None


def _beside(groups: Sequence[Group], way: Sequence[int], middle: FloatArray) -> _Beside | None:
    """Return the run that begins a way, the nearest first; None if a corner does."""
    own = takewhile(lambda group: not group.corner, (groups[index] for index in way[:FAR]))
    pricks = np.array([group.at for group in own])[::-1]
    if not len(pricks):
        return None
    ahead = pricks[max(len(pricks) - 2, 0)] - middle
    ahead /= np.hypot(*ahead)
    if len(pricks) < FEW:
        return _Beside(middle, ahead, None)
    curved = _is_curved(pricks)
    if curved and len(pricks) == FEW:
        return _Beside(middle, ahead, None)
    return _Beside(middle, ahead, continued(Side(pricks, curved), middle))


def _is_curved(pricks: FloatArray) -> bool:
    """Return whether pricks lie off a straight, or bow: a bow that goes on is soon far off one."""
    flat = pricks - pricks.mean(axis=0)
    along, off = (flat @ np.linalg.svd(flat, full_matrices=False)[2].T).T
    if np.abs(off).max() > STRAIGHT:
        return True
    if len(pricks) < BOWED[0]:
        return False
    rows = np.vander(along / np.ptp(along), 3)
    fit = np.linalg.lstsq(rows, off, rcond=None)[0]
    rest = np.sum((off - rows @ fit) ** 2) / (len(pricks) - 3)
    sigma = np.sqrt(max(float(rest), EXACT**2) * np.linalg.inv(rows.T @ rows)[0, 0])
    return bool(abs(fit[0]) > BOWED[1] * sigma)


def _ways(at: FloatArray, member: list[int], sides: Sequence[_Beside]) -> Iterator[_Corner]:
    """Return the ways to take places: which are stabs of the corner, the rest first pricks."""
    for count in range(STABS, min(MOST, len(member)) + 1):
        for some in combinations(member, count):
            stabs, rest = at[list(some)], at[[k for k in member if k not in some]]
            shape = _shape(stabs)
            if np.isfinite(shape):
                middle = middle_of(stabs)
                own = OWN[min(count, len(OWN) - 1)]
                unfit = shape + sum(side.unfit(middle, own) for side in sides)
                unfit += _unfit_rest(rest, stabs, middle, sides)
                goes_on = any(_goes_on(stabs, place) for place in rest)
                yield _Corner(some, middle, unfit, CLEAR + GOES_ON * goes_on)


def _unfit_rest(
    rest: FloatArray, stabs: FloatArray, middle: FloatArray, sides: Sequence[_Beside]
) -> float:
    """Return how unlike first pricks the rest is, (n, 2), in squared sigmas.

    They lie on their runs, one of each, and farther from the stabs than these from each other.
    """
    found, of_side = 0.0, [0] * len(sides)
    step = longest_step(stabs)
    for place in rest:
        unfit = [side.unfit_first(place, middle) for side in sides]
        of_side[int(np.argmin(unfit))] += 1
        gap = float(np.hypot(*(stabs - place).T).min())
        found += min(unfit) + (max(NARROW - gap / step, 0.0) / SPREAD) ** 2
    return found + SECOND * sum(max(count - 1, 0) for count in of_side)


def _goes_on(stabs: FloatArray, place: FloatArray) -> bool:
    """Return whether a place goes on a row of stabs, in line and with their step."""
    more = np.vstack([stabs, place])
    if len(stabs) < STABS or breadth(more) > IN_LINE:
        return False
    off = more - more.mean(axis=0)
    steps = np.diff(np.sort(off @ np.linalg.svd(off, full_matrices=False)[2][0]))
    return bool(np.ptp(steps) < EVEN * steps.mean())


def _is_row(places: FloatArray) -> bool:
    return longest_step(places) <= LONGEST and breadth(places) < FLAT


def _shape(stabs: FloatArray) -> float:
    """Return how unlike a row or a ring of stabs places are, in squared sigmas."""
    if _is_row(stabs):
        off = stabs - stabs.mean(axis=0)
        steps = np.diff(np.sort(off @ np.linalg.svd(off, full_matrices=False)[2][0]))
        return float(((steps / steps.mean() - 1.0) ** 2).sum()) / EVEN**2
    middle, radius = circle(stabs)
    within = np.hypot(*(stabs - middle).T).min() < ON_RING * radius
    if within or radius > RADIUS[len(stabs) > STABS] or breadth(stabs) <= FLAT:
        return np.inf
    off = float(np.hypot(*(stabs.mean(axis=0) - middle))) / radius
    return (off / ROUND) ** 2 - RING
