"""Walks the seams: whether the sides sewn together have the right lengths, and notches meet.

Everything is measured on the stitching line, from notch to notch. A chain that ends on its piece's
fold counts with its mirrored half. Whether enough is cut of each piece is counted too.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import isfinite
from typing import NamedTuple

from plotout.errors import Place, UserError, all_of, each_of
from plotout.geometry.sureness import Known, Otherwise, known_together, less
from plotout.pattern.by_cloth import left_over_by_cloth
from plotout.pattern.chain import Chain
from plotout.pattern.held import too_few_to_hold
from plotout.pattern.lone_notches import without_partner
from plotout.pattern.meetings import sewn_of
from plotout.pattern.model import PatternSet, Piece, Seam
from plotout.pattern.number_cut import sewn_to_themselves, too_few
from plotout.pattern.parted import parted_edges
from plotout.pattern.sides import Ease, chains, folds_sewn, summed
from plotout.pattern.stretch import Stretch
from plotout.pattern.walk_counts import all_counted, halves_counted, proposed
from plotout.pattern.walk_notches import (
    NotchResult,
    leveled,
    met_at,
    paired,
    standing,
)
from plotout.pattern.written_half import shares_of, with_both_halves
from plotout.tongue import Tongue


@dataclass(frozen=True, slots=True)
class SeamResult:
    """A seam, walked. first, second: mm, the whole sides; ease: least and most.

    first_piece, second_piece: the sides' pieces, in words. first_times, second_times: how many of
    the chains make up the whole. faults: mismatches in words with their sizes; notes: what may be
    meant, and what may be a mismatch. known_to: mm to which the difference is known, two sigma;
    otherwise: what it is by other explanations of the pricks; none of both of_one_edge, where a
    left is sewn to a right of the same edges.
    """

    name: str
    first_piece: str
    second_piece: str
    first: float
    second: float
    first_times: int
    second_times: int
    ease: tuple[float, float]
    tolerance: float
    notches: tuple[NotchResult, ...]
    stretches: tuple[Stretch, ...]
    faults: tuple[str, ...]
    notes: tuple[str, ...]
    known_to: float = 0.0
    of_one_edge: bool = False
    otherwise: tuple[Otherwise, ...] = ()

    @property
    def difference(self) -> float:
        """First less second, in mm."""
        return self.first - self.second

    @property
    def whole(self) -> Stretch:
        """The seam from its start to its end."""
        measured = self.first, self.second, self.ease, self.tolerance, self.known_to
        return Stretch("", "", *measured, self.otherwise)

    @property
    def sure(self) -> bool:
        """Return whether all differences are known well enough to judge whether they match."""
        lengths_known = all(stretch.sure for stretch in (self.whole, *self.stretches))
        return lengths_known and not any(notch.doubt for notch in self.notches)


def walk(pattern_set: PatternSet) -> tuple[SeamResult, ...]:
    """Walk every seam of the set. Derived pieces that a seam names must have been made.

    Raises UserError with all that can't be walked, for a missing edge.
    """
    results, wrong = walked(pattern_set, pattern_set.seams)
    if wrong:
        raise all_of(wrong)
    return results


def walked(
    pattern_set: PatternSet, seams: Sequence[Seam]
) -> tuple[tuple[SeamResult, ...], tuple[UserError, ...]]:
    """Walk these seams of the set; return what was found, and why others can't be walked."""
    results: list[SeamResult] = []
    wrong: list[UserError] = []
    sides: dict[str, tuple[Chain, Chain]] = {}
    for seam in seams:
        try:
            sides[seam.name] = _sides(seam, pattern_set)
            results.append(
                _walk(seam, sides[seam.name], pattern_set.defaults.tolerance, pattern_set.say)
            )
        except UserError as fault:
            wrong += each_of(fault)
    over = left_over_by_cloth(sides, pattern_set.say)
    closed = sewn_to_themselves(sides)
    lacking = too_few_to_hold(sides, pattern_set.say)
    parted = parted_edges(sides, sewn_of(seams, pattern_set.piece))
    counted = (
        replace(
            result,
            faults=(
                *result.faults,
                *too_few(sides[result.name], closed, pattern_set.say),
                *folds_sewn(sides[result.name]),
                *parted.get(result.name, ()),
            ),
            notes=(*result.notes, *over.get(result.name, ()), *lacking.get(result.name, ())),
        )
        for result in results
    )
    return tuple(counted), tuple(wrong)


def _sides(seam: Seam, pattern_set: PatternSet) -> tuple[Chain, Chain]:
    def piece_of(name: str) -> Piece:
        try:
            return pattern_set.piece(name)
        except KeyError:
            raise UserError(
                f"seam '{seam.name}': '{name}' is only marked on its parent and can't be sewn",
                fix="Name its parent, or leave out 'marked'.",
                place=Place(file=pattern_set.file),
            ) from None

    return chains(seam, piece_of)


def _walk(seam: Seam, sides: tuple[Chain, Chain], tolerance: float, say: Tongue) -> SeamResult:
    first, second = sides = with_both_halves(sides)
    together = _ends_together(first, second)
    ease = seam.ease
    if seam.stretches:  # they are those of one walk
        walks = max(_walks(first), _walks(second)) * (2 if first.halved else 1)
        ease = summed([seam.ease] * walks)
    level = leveled(first, second, ease, seam.marked) if together else float
    ones, others = standing(first, second, ease if first.halved else seam.ease, level)
    pairs = paired(ones, others, level)
    places = [(ones[i].along, others[j].along) for i, j in pairs]
    shares = shares_of(seam, ease if first.halved else seam.ease, places, sides, together=together)
    met = tuple(
        met_at(ones[i], others[j], (first, second), shares.up_to(index), tolerance)
        for index, (i, j) in enumerate(pairs, 1)
    )
    alone, notes = without_partner(ones, others, pairs, sides, ease)
    stretches, unknown = _stretches(met, first, second, shares.stretches, tolerance)
    known = known_together([first.known, second.known]).to
    otherwise = less(first.otherwise, second.otherwise)
    if seam.of_one_edge:
        known, met = 0.0, tuple(replace(pair, known_to=0.0, doubt="") for pair in met)
        stretches = tuple(replace(one, known_to=0.0, otherwise=()) for one in stretches)
        otherwise = ()
    whole = Stretch("", "", first.whole, second.whole, ease, tolerance, known, otherwise)
    names = first.name, second.name
    off = _not_by_notches(stretches, met)
    doubled = (
        " (its stretches are those of one half, so that the whole has twice their ease)"
        if ease != seam.ease
        else proposed(all_counted(sides, whole, say), halves_counted(seam, sides, whole))
    )
    faults = [*shares.faults, *(one.mismatch(names) + doubled for one in _surely_off([whole]))]
    faults += [*(pair.fault for pair in met if pair.fault), *alone]
    faults += [one.mismatch(names) for one in _surely_off(off)]
    doubted = [one for one in stretches if one.matches or one in off]
    notes += _doubts(whole, doubted, met, names, _least_known(sides))
    return SeamResult(
        name=seam.name,
        first_piece=first.name,
        second_piece=second.name,
        first=first.whole,
        second=second.whole,
        first_times=first.times,
        second_times=second.times,
        ease=ease,
        tolerance=tolerance,
        notches=met,
        stretches=stretches,
        faults=tuple(faults),
        notes=(*notes, *unknown),
        known_to=known,
        of_one_edge=seam.of_one_edge,
        otherwise=otherwise,
    )


def _least_known(sides: tuple[Chain, Chain]) -> str:
    """Return the edge that more than half of a seam's doubt is about, in words; "" if none is."""
    known = [
        (side.times * link.edge.known_to, f"'{link.edge.name}' of '{link.piece.name}'")
        for side in sides
        for link in side.links
    ]
    most, edge = max(known)
    others = sum(to**2 for to, _ in known) - most**2
    return edge if len(known) > 1 and isfinite(most) and most**2 > others else ""


def _ends_together(first: Chain, second: Chain) -> bool:
    """Return whether both sides end at the same place, so that the last stretch can be walked."""
    return _walks(first) == _walks(second)


def _walks(side: Chain) -> int:
    """Return how many times the walk makes up the whole seam: twice if both sides are halves."""
    return side.times // (2 if side.twinned else side.laps)


class _Place(NamedTuple):
    """A place of a seam: mm along both sides, and to how many mm their difference is known."""

    first: float
    second: float
    known: Known
    what: str


def _stretches(
    met: Sequence[NotchResult],
    first: Chain,
    second: Chain,
    shares: Sequence[Ease],
    tolerance: float,
) -> tuple[tuple[Stretch, ...], list[str]]:
    """Return the stretches from notch to notch, and what could not be walked."""
    if not met:
        return (), []
    places = [_Place(0.0, 0.0, Known(), "the start")]
    places += [
        _Place(
            pair.first,
            pair.second,
            Known(pair.known_to, pair.unproved),
            f"the notch at {pair.first:.1f} mm",
        )
        for pair in met
    ]
    unknown = []
    if _ends_together(first, second):
        known = known_together([first.known, second.known])
        places.append(_Place(first.walked, second.walked, known, "the end"))
    else:
        unknown.append("its sides can't be compared past the last notch")
    found = []
    for (before, after), share in zip(pairwise(places), shares, strict=True):
        by_edges = known_together([
            first.known_between(before.first, after.first),
            second.known_between(before.second, after.second),
        ])  # fmt: skip
        by_ends = known_together([before.known, after.known])
        otherwise = less(
            first.otherwise_between(before.first, after.first),
            second.otherwise_between(before.second, after.second),
        )
        sizes = after.first - before.first, after.second - before.second
        known_to = min(by_edges.to, by_ends.to)
        found.append(
            Stretch(before.what, after.what, *sizes, share, tolerance, known_to, otherwise)
        )
    return tuple(found), unknown


def _surely_off(parts: Sequence[Stretch]) -> list[Stretch]:
    return [one for one in parts if one.sure and not one.matches]


def _not_by_notches(stretches: Sequence[Stretch], met: Sequence[NotchResult]) -> list[Stretch]:
    """Return the stretches that are off by more than a notch at one of their ends."""
    found = []
    for index, stretch in enumerate(stretches):
        ends = [abs(met[k].off) for k in (index - 1, index) if 0 <= k < len(met)]
        by_notch = max((off for off in ends if off > stretch.tolerance + 1e-9), default=0.0)
        if not stretch.matches and abs(stretch.off) > by_notch + stretch.tolerance + 1e-9:
            found.append(stretch)
    return found


def _doubts(
    whole: Stretch,
    stretches: Sequence[Stretch],
    met: Sequence[NotchResult],
    names: tuple[str, str],
    edge: str,
) -> Iterator[str]:
    """Give what the pricks don't show, but for what a doubt about the whole seam explains.

    edge: see `_least_known`.
    """
    if not whole.sure:
        first = (
            f", {edge} first, near its corners too"
            if edge and not (whole.explained or whole.suspected)
            else ""
        )
        yield f"{whole.doubt(names)}{first}"
    explained = 0.0 if whole.sure else abs(whole.off)
    for pair in met:
        if pair.doubt and abs(pair.off) > explained + whole.tolerance:
            yield pair.doubt
    for one in stretches:
        if not one.sure and (whole.sure or abs(one.off) > explained + whole.tolerance):
            yield one.doubt(names)
