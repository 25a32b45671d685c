"""Folds that a seam takes to where its other side goes on to another piece: asked about.

A left and a right that are sewn to a piece on the fold come together at its fold, so that the edges
beside them there are sewn to each other, or open (a centre front). If instead they are sewn to
another left and right (a side seam), the fold is probably at the wrong end. By topology.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from plotout.errors import quoted
from plotout.pattern.meetings import Member, Sewn
from plotout.pattern.model import PatternSet, Seam
from plotout.pattern.sides import sewn_edges
from plotout.review.joined_words import as_turned

Key = tuple[str, str]


def folds_met(
    seams: Sequence[Seam], sewn: Sequence[Sewn], pattern_set: PatternSet
) -> Iterator[str]:
    """Yield the seams with a fold where the other side, a pair, goes on to another piece.

    The pair's other end must be where its own left and right meet, or one that is in no seam.
    seams: those that can be walked. sewn: the same as walked.
    """
    itself = {key for seam in seams if seam.of_one_edge for key in _keys(seam)}
    in_seams, often = sewn_edges(pattern_set.seams), Counter(k for s in seams for k in _keys(s))
    for seam in sewn:
        for index in (0, 1):
            ends = seam.folded(index)
            if len(ends) != 1 or seam.folded(1 - index) or any(seam.twinned) or not seam.together:
                continue
            last = ends == ("end",)
            folded, own = seam.sides[index][-1 if last else 0], _walked(seam.sides[index])
            here, there = (_beside(seam, 1 - index, last=end) for end in (last, not last))
            if here in itself or any(often[key] > 1 for key in own):
                continue
            joined = _goes_on(seam, 1 - index, last, sewn)
            if joined is None and there in itself and _is_half(seam, 1 - index, last=last):
                yield _asked(seam, folded, here, there)
            if joined is None:
                continue
            once = all(cut.count == 1 for cut in pattern_set.piece(folded.piece).cuts)
            if there in itself or (once and there not in in_seams):
                yield _asked(seam, folded, here, there, joined, meets=there in itself)


def _is_half(seam: Sewn, index: int, *, last: bool) -> bool:
    """Return whether a side ends at one of a pair, at an edge that is free, or is sewn to what is
    not one: at a fly, for instance.
    """
    member, _ = seam.ending(index, last=last)
    return member.half and member.fold is None


def _goes_on(seam: Sewn, index: int, last: bool, sewn: Sequence[Sewn]) -> str | None:
    """Return the piece to which a pair is sewn beside an end of a side, itself no middle of a set;
    None if there is none, or no pair.
    """
    member, at_end = seam.ending(index, last=last)
    if not member.half or member.fold is not None:
        return None
    corner, key = member.corner(last=at_end), _beside(seam, index, last=last)
    for other in sewn:
        for side, end in ((side, end) for side in (0, 1) for end in (False, True)):
            one, ended = other.ending(side, last=end)
            beside = one.piece, one.walked[-1 if ended else 0]
            if other is seam or beside != key or one.corner(last=ended) != corner:
                continue
            partner, its_end = other.ending(1 - side, last=end)
            middle = partner.single or partner.folds(last=its_end)
            known = other.together or not end
            return None if middle or not known or partner.piece == member.piece else partner.piece
    return None


def _keys(seam: Seam) -> set[Key]:
    return {(piece, edge) for side in (seam.first, seam.second) for piece, edge, _ in side.edges}


def _walked(side: Sequence[Member]) -> list[Key]:
    return [(member.piece, edge) for member in side for edge in member.walked]


def _beside(seam: Sewn, index: int, *, last: bool) -> Key:
    member, at_end = seam.ending(index, last=last)
    return member.piece, member.beside(last=at_end)


def _asked(
    seam: Sewn, folded: Member, here: Key, there: Key, joined: str = "", *, meets: bool = True
) -> str:
    """joined: the piece to which the edge at the fold is sewn, "" if it is open."""
    other = "meets its own left or right" if meets else "is in no seam"
    other = other if joined else "does"
    name = quoted([folded.fold or ""])
    at = f"where '{here[0]}' is sewn to '{joined}' by its '{here[1]}'"
    at = at if joined else f"at '{here[1]}' of '{here[0]}', which does not meet its left or right"
    return (
        f"seam '{seam.name}': '{folded.piece}' has its fold, {name}, {at}, while '{there[1]}' of "
        f"'{there[0]}', at the other end, {other}: {as_turned(seam)}, or name another edge as the "
        "fold, or is it right?"
    )
