"""Walks the seams: whether the sides sewn together have the right lengths, and notches meet.

Everything is measured on the stitching line, from notch to notch. A chain that ends on its piece's
fold counts with its mirrored half. Whether enough is cut of each piece is counted too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import hypot, isfinite

from plotout.errors import Place, UserError, all_of, each_of
from plotout.pattern.held import too_few_to_hold
from plotout.pattern.model import PatternSet, Piece, Seam
from plotout.pattern.number_cut import left_over, too_few
from plotout.pattern.sides import Chain, Ease, chains, summed
from plotout.pattern.walk_notches import (
    NotchResult,
    beyond,
    met_at,
    paired,
    standing,
    without_partner,
)


@dataclass(frozen=True, slots=True)
class Stretch:
    """The seam between two notches that meet, or between one and the seam's end.

    first, second: mm of the sides. off: mm beyond what the ease allows. known_to: mm to which the
    difference is known, two sigma, taken as that of all the edges over which it goes.
    """

    begins: str
    ends: str
    first: float
    second: float
    off: float
    known_to: float = 0.0
    sure: bool = True


@dataclass(frozen=True, slots=True)
class SeamResult:
    """A seam, walked. first, second: mm, the whole sides; ease: least and most.

    first_piece, second_piece: the sides' pieces, in words. first_times, second_times: how many of
    the chains make up the whole. faults: mismatches in words with their sizes; notes: what may be
    meant. known_to: mm to which the difference is known, two sigma; none of_one_edge, where a left
    is sewn to a right of the same edges.
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

    @property
    def difference(self) -> float:
        """First less second, in mm."""
        return self.first - self.second

    @property
    def sure(self) -> bool:
        """Return whether all differences are known well enough to judge whether they match."""
        whole = _sure(self.difference, self.known_to, self.ease, self.tolerance)
        return whole and all(stretch.sure for stretch in self.stretches)


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
            results.append(_walk(seam, sides[seam.name], pattern_set.defaults.tolerance))
        except UserError as fault:
            wrong += each_of(fault)
    over = left_over(sides, pattern_set.say)
    lacking = too_few_to_hold(sides, pattern_set.say)
    counted = (
        replace(
            result,
            faults=(*result.faults, *too_few(sides[result.name], pattern_set.say)),
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


def _walk(seam: Seam, sides: tuple[Chain, Chain], tolerance: float) -> SeamResult:
    first, second = sides
    ones, others = standing(first, second, seam.ease)
    pairs = paired([one.along for one in ones], [other.along for other in others])
    shares, miscounted = _shares(seam, len(pairs) + _ends_together(first, second))
    met = tuple(
        met_at(ones[i], others[j], (first, second), _up_to(shares, index, seam), tolerance)
        for index, (i, j) in enumerate(pairs, 1)
    )
    alone, notes = without_partner(ones, others, pairs)
    stretches, unknown = _stretches(met, first, second, shares, tolerance)
    if seam.of_one_edge:
        stretches = tuple(replace(one, known_to=0.0, sure=True) for one in stretches)
    faults = miscounted + _length_fault(first, second, seam.ease, tolerance)
    faults += [pair.fault for pair in met if pair.fault] + alone
    faults += _stretch_faults(stretches, met, (first, second), shares, tolerance)
    known = 0.0 if seam.of_one_edge else hypot(first.known_to, second.known_to)
    if not _sure(first.whole - second.whole, known, seam.ease, tolerance):
        notes.append(_unsure(known, tolerance))
    else:
        notes += [_unsure(s.known_to, tolerance, s) for s in stretches if not s.sure]
    return SeamResult(
        name=seam.name,
        first_piece=first.name,
        second_piece=second.name,
        first=first.whole,
        second=second.whole,
        first_times=first.times,
        second_times=second.times,
        ease=seam.ease,
        tolerance=tolerance,
        notches=met,
        stretches=stretches,
        faults=tuple(faults),
        notes=(*notes, *unknown),
        known_to=known,
        of_one_edge=seam.of_one_edge,
    )


def _shares(seam: Seam, count: int) -> tuple[list[Ease], list[str]]:
    """Return the least and greatest ease of each of `count` stretches, and what is wrong with them.

    Without one of its own a stretch may have any share of the seam's.
    """
    if seam.stretches and len(seam.stretches) == count:
        return list(seam.stretches), []
    faults = [
        f"its notches make {count} stretch{'es' if count != 1 else ''}, but the set file gives the "
        f"ease of {len(seam.stretches)}"
    ]
    share = min(0.0, seam.ease[0]), max(0.0, seam.ease[1])
    return [share] * count, faults if seam.stretches else []


def _up_to(shares: Sequence[Ease], index: int, seam: Seam) -> Ease:
    """Return the ease from the seam's start to its notch `index`, from 1."""
    own = len(seam.stretches) == len(shares)
    return summed(shares[:index]) if own else shares[0]


def _ends_together(first: Chain, second: Chain) -> bool:
    """Return whether both sides end at the same place, so that the last stretch can be walked."""
    copies = [side.times // (2 if side.twinned else 1) for side in (first, second)]
    return copies[0] == copies[1]


def _sure(difference: float, known: float, ease: tuple[float, float], tolerance: float) -> bool:
    """Return whether all likely differences are within the tolerance, or all outside it."""
    low, high = difference - known, difference + known
    least, most = ease[0] - tolerance, ease[1] + tolerance
    return known < 1e-9 or (least <= low and high <= most) or high < least or low > most


def _unsure(known: float, tolerance: float, stretch: Stretch | None = None) -> str:
    accuracy = f"only to {known:.1f} mm" if isfinite(known) else "not at all"
    where = f" from {stretch.begins} to {stretch.ends}" if stretch else ""
    return (
        f"its pricks can't show to {tolerance:g} mm whether it matches{where}: the difference is "
        f"known {accuracy} (two sigma); prick its edges more densely, or measure them"
    )


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
    places = [(0.0, 0.0, "the start")]
    places += [(pair.first, pair.second, f"the notch at {pair.first:.1f} mm") for pair in met]
    unknown = []
    if _ends_together(first, second):
        places.append((first.walked, second.walked, "the end"))
    else:
        unknown.append("its sides can't be compared past the last notch")
    found = []
    for (before, after), share in zip(pairwise(places), shares, strict=True):
        one, other = after[0] - before[0], after[1] - before[1]
        known = hypot(
            first.known_between(before[0], after[0]), second.known_between(before[1], after[1])
        )
        sure = _sure(one - other, known, share, tolerance)
        off = beyond(one - other, share)
        found.append(Stretch(before[2], after[2], one, other, off, known, sure))
    return tuple(found), unknown


def _stretch_faults(
    stretches: Sequence[Stretch],
    met: Sequence[NotchResult],
    sides: tuple[Chain, Chain],
    shares: Sequence[Ease],
    tolerance: float,
) -> list[str]:
    """Report stretches that are off, except where a notch at their ends is reported."""
    faults = []
    for index, stretch in enumerate(stretches):
        ends = [met[k].off for k in (index - 1, index) if 0 <= k < len(met)]
        known = max((abs(off) for off in ends if abs(off) > tolerance + 1e-9), default=0.0)
        if abs(stretch.off) <= max(known, 0.0) + tolerance + 1e-9:
            continue
        long = "long" if stretch.off > 0.0 else "short"
        least, most = shares[index]
        bound = f"at most {most:g}" if stretch.off > 0 else f"at least {least:g}"
        faults.append(
            f"from {stretch.begins} to {stretch.ends} it is {abs(stretch.off):.1f} mm too {long}: "
            f"{stretch.first:.1f} mm of '{sides[0].name}' to {stretch.second:.1f} mm of "
            f"'{sides[1].name}', ease {bound} mm"
        )
    return faults


def _length_fault(
    first: Chain, second: Chain, ease: tuple[float, float], tolerance: float
) -> list[str]:
    (least, most), difference = ease, first.whole - second.whole
    sizes = f"{first.whole:.1f} mm of '{first.name}' to {second.whole:.1f} mm of '{second.name}'"
    if difference > most + tolerance + 1e-9:
        return [f"{difference - most:.1f} mm too long: {sizes}, ease at most {most:g} mm"]
    if difference < least - tolerance - 1e-9:
        return [f"{least - difference:.1f} mm too short: {sizes}, ease at least {least:g} mm"]
    return []
