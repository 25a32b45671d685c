"""Fronts that no seam meets, though it meets that of the piece which is sewn there: asked about.

Where a stand ends at its front, so does the front that it is sewn to (common practice). A sleeve's
front doesn't meet that of the body: there both go on in a seam, while at a front at least one of
them is open, or sewn to its own twin.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from plotout.pattern.meetings import Member, Sewn
from plotout.pattern.model import Seam

Ending = tuple[Member, bool]
"""The piece at an end of a side, and whether it is the side's last."""


def front_doubts(seams: Sequence[Seam], sewn: Sequence[Sewn]) -> Iterator[str]:
    """Yield the seams that end at the front of one side's piece, but not at that of the other's.

    sewn: the same seams as walked.
    """
    joined = {
        (piece, edge)
        for seam in seams
        if not seam.of_one_edge
        for side in (seam.first, seam.second)
        for piece, edge, _ in side.edges
    }
    met = {piece for seam in sewn for piece in _fronts_met(seam)}
    for seam in sewn:
        for last in (False, True) if seam.together else (False,):
            ends = [seam.ending(index, last=last) for index in (0, 1)]
            if all(_beside(end) in joined for end in ends):
                continue
            for index in (0, 1):
                (one, _), (other, _) = ends[index], ends[1 - index]
                if _beside(ends[index])[1] != one.front or other.front is None:
                    continue
                if other.piece not in met and _misses(seam, 1 - index, other):
                    yield _asked(seam, one, other, "end" if last else "start")


def _beside(end: Ending) -> tuple[str, str]:
    """Return the edge next to where a side ends, with its piece."""
    member, last = end
    return member.piece, member.beside(last=last)


def _misses(seam: Sewn, index: int, member: Member) -> bool:
    """Return whether a side ends nowhere at its front, or goes along it."""
    return not seam.fronted(index) or member.front in member.walked


def _fronts_met(seam: Sewn) -> Iterator[str]:
    """Yield the pieces whose fronts meet those of others in a seam: at its ends, or along it."""
    one, other = seam.sides
    for at, last in ((0, False), (-1, True)):
        pair = one[at], other[at]
        beside = all(member.front == member.beside(last=last) for member in pair)
        along = all(member.front in member.walked for member in pair)
        if (beside or along) and one[at].piece != other[at].piece:
            yield from (member.piece for member in pair)


def _asked(seam: Sewn, one: Member, other: Member, end: str) -> str:
    how = f"meets its own, '{other.front}', at neither end"
    if other.front in other.walked:
        how = f"is sewn along its own, '{other.front}'"
    return (
        f"seam '{seam.name}': '{one.piece}' has its front at the {end} of the seam, but "
        f"'{other.piece}' {how}: is another edge the front of one of them?"
    )
