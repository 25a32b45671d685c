"""Seams that a set file describes by one half, though both are walked: lengths over a fold.

Lengths (of a frill, a strip) that go over a fold are all cut alike, so that those of one half are
no mirror image of those of the other, as a pair's are; and an odd number can't be halved. What is
written for the seam is of one half of the piece on the fold; the other half has its mirror image.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from plotout.pattern.chain import Chain
from plotout.pattern.model import Seam
from plotout.pattern.sides import Ease, summed

_SAME = 0.05  # mm: a place that near to the fold is at it
_MEANT = 0.5  # mm: a place that near to another is meant to be it (common practice)
Places = tuple[float, float]
"""Of one place of a seam: mm along both its sides as walked."""


def with_both_halves(sides: tuple[Chain, Chain]) -> tuple[Chain, Chain]:
    """Return a seam's sides so that both halves of a fold are walked if one doesn't show them all.

    sides: of a half on the fold and as many lengths as are sewn to it, none the mirror image of
    another. Any other sides are returned as they are.
    """
    for folded, other in (sides, sides[::-1]):
        walks = {side.times // side.laps for side in sides}
        alike = not all(link.mirrored for link in other.links)
        single = folded.folds and not folded.twinned and folded.laps == 1
        if single and not other.folds and len(walks) == 1 and alike:
            whole = replace(folded, twinned=True, halved=folded.folds)
            laps = 2 * other.laps
            lengths = replace(other, laps=laps, halved=folded.folds, mirrored=True)
            return (whole, lengths) if folded is sides[0] else (lengths, whole)
    return sides


def written_length(side: Chain) -> float:
    """Return the length in mm of what a set file describes of a side: one half, or all walked."""
    return side.walked / 2.0 if side.halved else side.walked


def as_walked(side: Chain, written: float) -> float:
    """Return how far along a side as walked a place is that is so far along what is written, mm."""
    return written + side.walked / 2.0 if side.halved == "start" else written


def as_written(side: Chain, along: float) -> float:
    """Return the inverse of `as_walked`."""
    return along - side.walked / 2.0 if side.halved == "start" else along


def on_both_halves(
    sides: tuple[Chain, Chain], at: Places, written: Sequence[Places]
) -> list[Places]:
    """Return a place of a seam, and its mirror image if one side is a half or a pair.

    A notch of that side is on both halves, so that what is sewn to it needs both. written: all the
    places of the seam. Where both halves are written, one of them may be the mirror image already.
    """
    twin = sides[0].walked - at[0], sides[1].walked - at[1]
    if sides[0].halved:
        apart = max(abs(one - other) for one, other in zip(at, twin, strict=True))
        return [at, twin] if apart > _SAME else [at]
    half = next((k for k in (0, 1) if sides[k].symmetric), None)
    if half is None or any(abs(place[half] - twin[half]) < _MEANT for place in (at, *written)):
        return [at]
    return [at, twin]


@dataclass(frozen=True, slots=True)
class Shares:
    """The least and greatest ease of each stretch of a seam; faults: what is wrong, in words.

    own: whether the set file gives them; otherwise a stretch may have any share of the seam's.
    """

    stretches: tuple[Ease, ...]
    own: bool
    faults: tuple[str, ...] = ()

    def up_to(self, index: int) -> Ease:
        """Return the ease from the seam's start to its notch `index`, from 1."""
        return summed(self.stretches[:index]) if self.own else self.stretches[0]


def shares_of(
    seam: Seam, ease: Ease, met: Sequence[Places], sides: tuple[Chain, Chain], *, together: bool
) -> Shares:
    """Return what share of its ease each stretch of a seam has.

    ease: of the whole walk. met: where notches meet, in order. together: whether both sides end in
    one place, so that there is a last stretch.
    """
    share = min(0.0, ease[0]), max(0.0, ease[1])
    folded = next((k for k in (0, 1) if sides[k].twinned and sides[k].halved), None)
    count = len(met) + together
    if folded is None:
        written, own = count, seam.stretches
    else:
        outwards = 1 if sides[folded].halved == "start" else -1
        past = [(at[folded] - sides[folded].own) * outwards for at in met]
        written = sum(one > -_SAME for one in past) + 1
        fits = len(seam.stretches) == written
        own = _unfolded(seam.stretches[::outwards], past, share)[::outwards] if fits else ()
    if seam.stretches and len(own) == count:
        return Shares(tuple(own), own=True)
    half = " of one half" if folded is not None else ""
    both = folded is None and any(side.symmetric for side in sides)
    over = ", both halves taken together" if both else ""
    fault = (
        f"its notches make {written} stretch{'es' if written != 1 else ''}{half or over}, but the "
        f"set file gives the ease of {len(seam.stretches)}"
    )
    return Shares((share,) * count, own=False, faults=(fault,) if seam.stretches else ())


def _unfolded(half: Sequence[Ease], past: Sequence[float], share: Ease) -> tuple[Ease, ...]:
    """Return the ease of the stretches of both halves, from the far end of the unwritten one.

    half: of those of the written half, from the fold. past: how far past the fold its
    notches meet, mm, below 0 on the other half. share: what one may have that isn't written, since
    notches meet on one half only.
    """
    written, other = (sum(side * one > _SAME for one in past) for side in (1, -1))
    at_fold = len(past) > written + other
    first, *outer = half
    if written != other:
        middle, mirrored = share, [share] * (other + at_fold)
    else:
        middle, mirrored = summed([first, first]), outer[::-1]
    return (*mirrored, *(() if at_fold else (middle,)), *outer)
