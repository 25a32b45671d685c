"""What to write for `times` if a seam's length fits with another number of its sides."""

from __future__ import annotations

from dataclasses import replace

from plotout.pattern.chain import Chain
from plotout.pattern.cloths import halves, most_of_a_cloth, pieces_cut
from plotout.pattern.model import Seam
from plotout.pattern.stretch import Stretch
from plotout.tongue import Tongue


def halves_counted(seam: Seam, sides: tuple[Chain, Chain], whole: Stretch) -> str:
    """Return what to write if whole pieces on the fold were counted, but halves are meant; or if
    one half is sewn, and its other half elsewhere.
    """
    given = seam.first.times, seam.second.times
    first, second = (
        (2 * side.times if times else 1) if side.folds else side.times
        for side, times in zip(sides, given, strict=True)
    )
    both = [(first, second)] if all(given) else []
    for one, other in ((first, sides[1].times), (sides[0].times, second), *both):
        again = replace(whole, first=sides[0].own * one, second=sides[1].own * other)
        wrong = [k for k in (0, 1) if (one, other)[k] != sides[k].times]
        cut = all((one, other)[k] <= _most_times(sides[k]) for k in wrong)
        if wrong and cut and again.matches:
            right = " and ".join(f"times = {(one, other)[k]} for '{sides[k].name}'" for k in wrong)
            return f"'times' counts halves of a piece on the fold: {right} is right in length"
    return ""


def proposed(*words: str) -> str:
    """Return in brackets what may be written instead, "" if nothing may."""
    found = "; or ".join(filter(None, words))
    return f" ({found})" if found else ""


def all_counted(sides: tuple[Chain, Chain], whole: Stretch, say: Tongue) -> str:
    """Return what to write if all that are cut of a side follow each other: gores, lengths."""
    sizes = [whole.first, whole.second]
    for index, side in enumerate(sides):
        pieces = {link.piece.name: link.piece for link in side.links}.values()
        for count in (pieces_cut, most_of_a_cloth):
            most = min(halves(piece) * count(piece, say) for piece in pieces)
            first, second = (
                most * side.own if k == index else size for k, size in enumerate(sizes)
            )
            more = most > side.times and not side.folds
            if more and replace(whole, first=first, second=second).matches:
                return f"times = {most} for '{side.name}', as many as are cut, is right in length"
    return ""


def _most_times(side: Chain) -> int:
    """Return how many of a side's chain can be made of what is cut, halves counted singly."""
    pieces = {link.piece.name: link.piece for link in side.links}.values()
    return min(halves(piece) * sum(cut.pieces for cut in piece.cuts) for piece in pieces)
