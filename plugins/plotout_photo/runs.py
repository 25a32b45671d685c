"""Turns loose pricks into corners and runs, in order round the piece.

The outline is the shortest closed path; pricks off it are loose. Between corners lie runs, straight
or curved by the better fit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from plotout import FloatArray
from plotout.kit import fit_line
from plotout_photo.by_runs import judged
from plotout_photo.corners import DRAWN, STABS, Side, placed
from plotout_photo.groups import (
    Group,
    between_groups,
    corners_of_lines,
    corners_of_none,
    corners_of_one,
    grouped,
    lone,
    pairs_of_two_runs,
    pairs_on_the_way,
    path_through,
)
from plotout_photo.off_path import exchanged, without_what_is_off
from plotout_photo.tight import row_of
from plotout_photo.tour import rings, separate

MATCH = 3.0  # degrees by which two straight runs may turn at a mere match point
BOW = 0.7  # least bow of a curve, mm
BOW_OF_FEW = 1.5  # and with fewer pricks than FEWEST: more than a corner without a stab is off
CLEAR = 4.0  # of the criterion, for a curve: our choice, measured by tests/bench/photo.py
SCATTER = 0.12  # mm: pricks are no more accurate than this
CORNERS = 0.5  # weight of a corner in a fit, beside a prick that is as likely off
FEWEST = 5  # places of a curve that shows itself, corners included
OFF_LINE = 3.0  # mm that a place of a straight run lies off it at most
FAR_FROM = 2.0  # mm: a run is not straight whose pricks usually lie as far from a straight


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

    @property
    def rings(self) -> tuple[list[Group], ...]:
        """The closed path of every piece."""
        return tuple(map(self.ring, self.pieces))

    def ring(self, runs: Sequence[Run]) -> list[Group]:
        """Return the closed path of a piece's runs."""
        return [
            self.groups[k]
            for run in runs
            for k in run.groups[: None if run.kind == "closed" else -1]
        ]

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
    meetings: FloatArray | None = None,
) -> Way:
    """Put pricks (n, 2), mm, in order. corners: rows of pricks that the user made corners.

    sure: (n,) how certain each is a prick, 0 to 1; all are, if it is not given. smooth: places
    where the user says that there is no corner. given: rows of places that
    are the user's own, so that a corner there is not moved. lined: pairs of rows between which a
    line is drawn, (m, 2). meetings: places where two drawn lines meet at a corner, (k, 2) mm.
    """
    groups = grouped(at, frozenset(corners), sure, smooth)
    drawn, loose, paths = _paths(groups, lined, len(at))
    again = judged(groups, paths, at, frozenset(corners), sure, smooth)
    if again is not None:
        groups = again
        drawn, loose, paths = _paths(groups, lined, len(at))
    pieces, matches = [], list[int]()
    for path in paths:
        tour, off = without_what_is_off(groups, path, drawn)
        tour, off = exchanged(groups, tour, off)
        loose += off
        pairs_of_two_runs(groups, tour, at)
        loose += pairs_on_the_way(groups, tour, at, sure)
        if meetings is not None:
            corners_of_lines(groups, tour, meetings, smooth)
        corners_of_none(groups, tour, smooth)
        corners_of_one(groups, tour, smooth)
        runs, within = _runs(groups, _counter_clockwise(groups, tour), frozenset(corners))
        _place_corners(groups, runs, at, frozenset(given), frozenset(corners))
        pieces.append(tuple(runs))
        matches += within
    pieces = [runs for runs in pieces if runs]
    pieces.sort(key=lambda runs: -sum(len(run.groups) for run in runs))
    return Way(tuple(groups), tuple(pieces), tuple(loose), tuple(matches))


def _paths(
    groups: Sequence[Group], lined: NDArray[np.intp] | None, count: int
) -> tuple[NDArray[np.intp], list[int], list[list[int]]]:
    """Return the pairs of groups that are joined by a line, the loose groups, and the paths."""
    loose = lone(groups)
    drawn = between_groups(groups, lined, count)
    paths, rows = _tours(groups, loose, drawn)
    return drawn, loose + rows, paths


def _tours(
    groups: Sequence[Group], loose: list[int], drawn: NDArray[np.intp]
) -> tuple[list[list[int]], list[int]]:
    """Return the closed path of every piece, and what is of none."""
    places, tours = [group.at for group in groups], []
    pieces, rows = separate(places, [index for index in range(len(groups)) if index not in loose])
    for part in pieces:
        whole = path_through(groups, part, drawn)
        for ring in rings(places, whole):
            tours.append(ring if len(ring) == len(whole) else path_through(groups, ring, drawn))
    return tours, rows


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


def _runs(
    groups: Sequence[Group], tour: list[int], said: frozenset[int]
) -> tuple[list[Run], list[int]]:
    """Divide a path at its corners. Returns the runs, and the corners that are mere match points.

    said: rows of pricks that the user made corners: a run ends there, also if it goes straight on.
    """
    stops = [k for k, index in enumerate(tour) if groups[index].corner]
    if len(stops) < 2:  # a single corner divides nothing
        return ([Run(tuple(tour), "closed")] if len(tour) > FEWEST else []), []
    parts = [[tour[k % len(tour)] for k in range(a, b + 1)]
             for a, b in zip(stops, [*stops[1:], stops[0] + len(tour)], strict=True)]  # fmt: skip
    matches: list[int] = []
    index = 0
    while index < len(parts) and len(parts) > 3:
        before, here = parts[index - 1], parts[index]
        if not said & set(groups[here[0]].members) and _one_straight(groups, before, here):
            matches.append(here[0])
            parts[index - 1] = [*before, *here[1:]]
            parts.pop(index)
        else:
            index += 1
    return [_run(groups, part) for part in parts], matches


def _place_corners(
    groups: list[Group], runs: Sequence[Run], at: FloatArray, given: frozenset[int],
    said: frozenset[int],
) -> None:  # fmt: skip
    """Put corners where their stabs and the runs that meet there say, but for those given.

    A single prick that the user said to be a corner is no stab beside it, so it stays, too.
    """
    for before, after in zip([runs[-1], *runs[:-1]], runs, strict=True) if len(runs) > 1 else ():
        index = after.groups[0]
        members = frozenset(groups[index].members)
        if given & members or (len(members) == 1 and members <= said):
            continue
        sides = []
        for run, pricks in ((before, before.groups[1:-1]), (after, after.groups[-2:0:-1])):
            places = np.array([groups[k].at for k in pricks]).reshape(-1, 2)
            sides.append(Side(places, run.kind == "curve"))
        group = groups[index]
        row = row_of(at[list(group.members)])
        place, off = placed(len(group.members), group.at, sides, group.drawn, row)
        groups[index] = replace(group, at=place, off=off)


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
    weight = np.array([_weight(groups[index]) for index in part])
    bow = float(np.ptp(across))
    if bow < BOW:
        return Run(tuple(part), "straight")
    if len(at) < 4:
        said = f"its one prick lies {bow:.1f} mm off the straight, and can't show a curve"
        return Run(tuple(part), "straight", said if bow > BOW_OF_FEW else "")
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
    curved |= float(np.median(np.abs(fits[0] - across))) > FAR_FROM  # and of no simple form
    if curved and len(at) < FEWEST:
        if _bends_once(across) and bow > BOW_OF_FEW:
            said = (
                f"only {len(at) - 2} pricks show that it bows {bow:.1f} mm: prick more between them"
            )
            return Run(tuple(part), "curve", said)
        said = f"it seems to bow {bow:.1f} mm, but {len(at) - 2} pricks can't show a curve"
        return Run(tuple(part), "straight", said)
    if curved:
        return Run(tuple(part), "curve")
    off = np.abs(fits[0] - across)
    k = int(off.argmax())
    place = f"{at[k][0]:.0f}, {at[k][1]:.0f} mm"
    said = f"it is straight, but {place} lies {off[k]:.0f} mm off it: a corner may be missed there"
    return Run(tuple(part), "straight", said if off[k] > OFF_LINE else "")


def _weight(group: Group) -> float:
    """Return how much a place counts in a fit: a corner, of which a stab may be false, less."""
    if not group.corner:
        return 1.0
    off = DRAWN if group.drawn else STABS[min(len(group.members), len(STABS) - 1)]
    return CORNERS * SCATTER / max(SCATTER, off)


def _bends_once(across: FloatArray) -> bool:
    """Return whether pricks between two corners lie to one side of the straight, all clearly."""
    inner = across[1:-1]
    return bool((np.abs(inner) > BOW).all() and np.ptp(np.sign(inner)) == 0.0)
