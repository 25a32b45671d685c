"""Where neighbouring runs meet, and the runs' lines from corner to corner."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import count
from pathlib import Path
from typing import NamedTuple

import numpy as np
import shapely

from plotout import FloatArray, Place, UserError
from plotout.kit import USUAL_OFF, Hand, IfSo, Otherwise, two_sigma
from plotout_pricks.continued import SMOOTH, TURNED, touching
from plotout_pricks.likely import Outlines, Spread, likely_lines_of, lines_if_so
from plotout_pricks.meeting import meetings
from plotout_pricks.run_shape import UNKNOWN, straight_hand, together
from plotout_pricks.unpricked import unpricked_corners
from plotout_pricks.variants import (
    LEAST_OWN,
    LOOSE,
    Fitted,
    Variants,
    itself,
    lengths_of,
    line_between,
    side_by_side,
    variants_of,
)

USUAL_GAP = 25.0  # mm: curves are pricked nearer than this to most of their corners, so that one
# that lies so much further off is e times as unlikely (common practice)
ALONG = 5.0  # mm that a corner lies before a prick that strayed, for e times as few (judgement)
FAR = 1e3  # mm: as far off counts a length that a rival's pricks don't determine
PLACED, DOUBTED = 4, 2  # one in so many curves that may meet a straight smoothly does: for
# the corner's place, and for how sure it is. Most curves that meet a line at a small angle cross it

GOLDEN = (math.sqrt(5.0) - 1.0) / 2.0  # steps of this share spread evenly, however many they are


class Joined(NamedTuple):
    """A run from corner to corner, (n, 2). known_to: mm to which its length is known;
    unproved: how much of that other explanations of the pricks bring. otherwise: its length by
    each of them.
    likely: the same line as likely as the pricks show it, (m, k, 2), or None: see `Outlines`.
    if_so: the same by each explanation of the outline's pricks, of which few are drawn.
    unpricked: which of its corners must be pricked to be known, in words.
    """

    points: FloatArray
    known_to: float
    unproved: float
    otherwise: tuple[Otherwise, ...]
    likely: FloatArray | None
    if_so: tuple[IfSo, ...]
    unpricked: tuple[str, ...]


def joined_up(fits: Sequence[Fitted], path: Path) -> list[Joined]:
    """Return the runs from corner to corner, and how surely they are known.

    Both come from outlines drawn by their likelihood: every line and curve is moved as its scatter
    allows, and the corners with them. A curve's corner is the mean of all that may be its corner,
    since at a small angle one that is a little off meets its neighbour far off. How sure a length
    is (two sigma) is the spread of their lengths about it, among them as many with a rival of a
    run in its place as that is likely; infinite if the pricks don't determine it. Raises UserError.
    """
    hands = _hands_elsewhere(fits)
    drawn = _beside([variants_of(*one) for one in zip(fits, count(1), hands, strict=False)])
    alone = side_by_side([itself(fit) for fit in fits], [run for run, _ in drawn])
    crossed = _crossings(drawn)
    corners = []
    for index, second in enumerate(alone):
        met, apart = meetings(alone[index - 1], second)
        if np.isnan(met).any():
            raise _unmet(fits[index - 1], fits[index], float(apart[0]), path)
        (first, first_known), (last, last_known) = drawn[index - 1], drawn[index]
        led = (first.curve is not None and not first.fit.joined[1]) or (
            last.curve is not None and not last.fit.joined[0]
        )
        averaged = led and first_known and last_known and np.isfinite(crossed[index]).any()
        placed = _with_touching(first, last, crossed[index], PLACED)
        corners.append(_likeliest(first, last, placed) if averaged else met[0])
    lines = [
        line_between(run, corners[index], corners[(index + 1) % len(fits)])
        for index, run in enumerate(alone)
    ]
    lengths = [shapely.LineString(line).length for line in lines]
    rivals = [(index, rival) for index, fit in enumerate(fits) for rival in fit.rivals]
    own = max(1.0 - sum(rival.chance for _, rival in rivals), LEAST_OWN)
    taken = _outlines(drawn, crossed, own)
    explained, spreads = [taken], [taken.spread(lengths)]
    for index, rival in rivals:
        outlines = _instead(taken, index, variants_of(rival, index + 1, hands[index]), rival.chance)
        explained.append(outlines)
        spreads.append(outlines.spread(lengths, (taken, spreads[0])))
    known_to = [_pooled([spread[index] for spread in spreads]) for index in range(len(fits))]
    proved = [_pooled([spreads[0][index]]) for index in range(len(fits))]
    whys = [rival.why for _, rival in rivals]
    likely = likely_lines_of(explained)
    if_so = [] if likely is None else lines_if_so(explained[1:], whys)
    return [
        Joined(
            line,
            known,
            max(known - least, 0.0) if math.isfinite(known) else 0.0,
            _otherwise(least, [spread[index] for spread in spreads], whys),
            None if likely is None else likely[index],
            tuple(one[index] for one in if_so),
            tuple(unpricked_corners(explained[0], index, corners)),
        )
        for index, (line, known, least) in enumerate(zip(lines, known_to, proved, strict=True))
    ]


def _hands_elsewhere(fits: Sequence[Fitted]) -> list[Hand]:
    """Return for each run how exactly the straight ones are pricked, but for itself."""
    own = [straight_hand(fit.run.points) if fit.line and fit.clear else UNKNOWN for fit in fits]
    return [together([*own[:index], *own[index + 1 :]]) for index in range(len(own))]


def _beside(drawn: Sequence[tuple[Variants, bool]]) -> list[tuple[Variants, bool]]:
    """Return drawn runs with their neighbours set."""
    set_so = side_by_side([run for run, _ in drawn])
    return [(run, known) for run, (_, known) in zip(set_so, drawn, strict=True)]


def _crossings(drawn: Sequence[tuple[Variants, bool]]) -> list[FloatArray]:
    """Return where each of the drawn runs is met by the one before it, (m, 2) each."""
    return [meetings(drawn[index - 1][0], last)[0] for index, (last, _) in enumerate(drawn)]


def _outlines(
    drawn: Sequence[tuple[Variants, bool]], crossed: Sequence[FloatArray], chance: float
) -> Outlines:
    """Return drawn runs with their corners, and how likely those are. crossed: see `_crossings`."""
    corners, chances = [], []
    for index, (last, _) in enumerate(drawn):
        first = drawn[index - 1][0]
        corners.append(_divided(first, last, _with_touching(first, last, crossed[index], DOUBTED)))
        chances.append(_chances(first, last, corners[-1]))
    return Outlines(drawn, corners, chances, chance)


def _instead(taken: Outlines, index: int, rival: tuple[Variants, bool], chance: float) -> Outlines:
    """Return the outlines with a rival in the place of a run: only what it meets is another."""
    count = len(taken.runs)
    others = _beside([*taken.runs[:index], rival, *taken.runs[index + 1 :]])
    near = [(index + step) % count for step in (-1, 0, 1)]
    runs, corners, chances = list(taken.runs), list(taken.corners), list(taken.chances)
    for nth in near:
        runs[nth] = others[nth]
    for nth in near[1:]:
        (first, _), (last, _) = runs[nth - 1], runs[nth]
        touching_too = _with_touching(first, last, meetings(first, last)[0], DOUBTED)
        corners[nth] = _divided(first, last, touching_too)
        chances[nth] = _chances(first, last, corners[nth])
    return Outlines(runs, corners, chances, chance)


def _pooled(spreads: Sequence[Spread]) -> float:
    """Return two sigma of a run's lengths, mm, over its own spread, the first, and its rivals'."""
    if spreads[0] is None or not np.isfinite(spreads[0][0]).any():
        return math.inf
    there = [spread for spread in spreads if spread is not None]
    off = np.concatenate([np.nan_to_num(off, nan=0.0, posinf=FAR) for off, _ in there])
    return two_sigma(off, np.concatenate([weights for _, weights in there]))


def _otherwise(
    known_to: float, spreads: Sequence[Spread], whys: Sequence[str]
) -> tuple[Otherwise, ...]:
    """Return a run's length by each of its rivals that makes it another, the likeliest first.

    spreads: the run's own, known to so many mm, then its rivals'; whys: of those, in words.
    """
    own, *others = spreads
    found = []
    for spread, why in zip(others, whys, strict=True):
        if own is None or spread is None or spread[0] is own[0]:
            continue
        off, weights = spread
        there = np.isfinite(off)
        chance = float(weights.sum())
        longer = float(weights[there] @ off[there] / chance) if there.any() else 0.0
        by = two_sigma(off - longer, weights) if there.any() else math.inf
        other = Otherwise(why, longer, by, chance, known_to)
        if other.is_another:
            found.append(other)
    return tuple(sorted(found, key=lambda one: -one.chance))


def plain_lengths(fits: Sequence[Fitted]) -> FloatArray:
    """Return the lengths of the fits themselves, (n,), from where they meet; nan if they don't."""
    alone = side_by_side([itself(fit) for fit in fits])
    corners = [meetings(alone[index - 1], second)[0] for index, second in enumerate(alone)]
    return np.array(
        [
            lengths_of(one, corners[index], corners[(index + 1) % len(fits)])[0]
            for index, one in enumerate(alone)
        ]
    )


def _with_touching(
    first: Variants, second: Variants, corners: FloatArray, every: int
) -> FloatArray:
    """Return drawn corners, (m, 2), one in `every` where the curve would touch a straight.

    Only where it may, that is where its end bends towards the line.
    """
    for one, other, end in ((first, second, True), (second, first, False)):
        if one.curve is None or other.at is None or one.fit.joined[int(end)]:
            continue
        assert other.along is not None
        reach = TURNED + one.fit.short(-int(end))
        touched = touching(one.tails[int(end)], other.at, other.along, reach)
        chosen = np.isfinite(touched).all(axis=1) & (np.arange(len(touched)) % every == 0)
        corners = np.where(chosen[:, None], touched, corners)
    return corners


def _divided(first: Variants, second: Variants, corners: FloatArray) -> FloatArray:
    """Return drawn corners, (m, 2), of which those without an angle lie anywhere between the
    straight's last prick and the curve's first: no prick shows where one ends and the other begins.
    """
    for one, other, end in ((first, second, -1), (second, first, 0)):
        if one.curve is None or other.along is None or not one.fit.joined[end]:
            continue
        inner = one.curve[:, end] - one.curve[:, -2 if end else 1]
        inner /= np.linalg.norm(inner, axis=1, keepdims=True)
        if np.abs((inner * other.along).sum(axis=1)).mean() < np.cos(SMOOTH):
            continue
        last, prick = other.fit.run.points[0 if end else -1], one.fit.run.points[end]
        apart = ((prick - last) * other.along).sum(axis=1)[:, None] * other.along
        share = (np.arange(len(corners)) * GOLDEN % 1.0)[:, None]
        corners = other.foot(np.broadcast_to(last, corners.shape)) + share * apart
    return corners


def _chances(first: Variants, second: Variants, corners: FloatArray) -> FloatArray:
    """Return how likely drawn corners of two runs are, (m,), by how far past their pricks.

    A straight run isn't pricked past its corner. A curve's prick that strayed across it still lies
    where the curve goes on, and seldom far off.
    """
    gaps, strayed = np.zeros(len(corners)), np.ones(len(corners))
    there = np.isfinite(corners).all(axis=1)
    for one, index in ((first, -1), (second, 0)):
        if one.curve is not None and not one.fit.joined[index]:
            past = np.hypot(*(corners - one.curve[:, index]).T) - one.fit.short(index)
            gaps += np.where(past >= 0.0, past, -past * (USUAL_GAP / ALONG))
            strayed = strayed * _strayed(one, index)
    for straight in (first, second):
        if straight.along is not None:
            gaps += np.maximum(straight.pricked_past(corners), 0.0) * (USUAL_GAP / LOOSE)
    nearest = gaps[there].min(initial=np.inf)
    return np.where(there, strayed * np.exp(np.minimum(nearest - gaps, 0.0) / USUAL_GAP), 0.0)


def _strayed(curves: Variants, end: int) -> FloatArray | float:
    """Return how likely the outermost prick that was left out strays so far from curves, (m,)."""
    prick = curves.fit.astray[end]
    if prick is None:
        return 1.0
    off = shapely.distance(shapely.linestrings(curves.whole), shapely.Point(prick))
    return np.asarray(np.nan_to_num(1.0 / (1.0 + (off / USUAL_OFF) ** 2)))


def _likeliest(first: Variants, second: Variants, corners: FloatArray) -> FloatArray:
    """Return the mean of drawn corners, (2,), on the straight run's own line if there is one."""
    chances = _chances(first, second, corners)
    mean = (chances[:, None] * np.nan_to_num(corners)).sum(axis=0) / chances.sum()
    for one in (first, second):
        if one.fit.line is not None:
            mean = one.fit.line.foot(mean)
    return np.asarray(mean)


def _unmet(first: Fitted, second: Fitted, apart: float, path: Path) -> UserError:
    """Return why two runs have no corner. apart: mm by which their extensions pass."""
    if first.line is not None and second.line is not None:
        return UserError(
            f"'{first.run.name}' and '{second.run.name}' lie along one line: they have no corner",
            fix="Make them one run, or prick the seam between them.",
            place=Place(path, second.run.line),
        )
    near = (first.run.points[-1] + second.run.points[0]) / 2
    return UserError(
        f"'{first.run.name}' and '{second.run.name}' don't meet: they pass {apart:.1f} mm apart",
        fix="Prick them nearer to their corner, or put the runs in order round the piece.",
        place=Place(path, second.run.line, at=(float(near[0]), float(near[1]))),
    )
