"""Finds single pieces on the fold that a seam sews shut, though they go along an open neck.

Two collars are sewn to each other round their outer edge. Of one alone, folded at its middle, that
edge's left would be sewn to its right, and its neck edge closed to a ring. By topology.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from plotout.pattern.cloths import most_of_a_cloth
from plotout.pattern.meetings import Corner, Sewn, meet
from plotout.pattern.model import PatternSet, Seam
from plotout.review.edges_met import edges_met


def sewn_shut(
    seams: Sequence[Seam], sewn: Sequence[Sewn], pattern_set: PatternSet
) -> Iterator[str]:
    """Yield such pieces, each once.

    seams: those that can be walked. sewn: the same, as walked.
    """
    itself = {seam.name for seam in seams if seam.of_one_edge}
    told: set[str] = set()
    for shut in (seam for seam in sewn if seam.name in itself):
        at = _free_end(shut, 0)
        if at is None or at[0] in told:
            continue
        if most_of_a_cloth(pattern_set.piece(at[0]), pattern_set.say) != 1:
            continue
        for round_it, index in ((one, k) for one in sewn if one is not shut for k in (0, 1)):
            if _free_end(round_it, index) == at and _is_open(round_it, 1 - index, sewn, seams):
                told.add(at[0])
                yield (
                    f"{at[0]}: one is cut of it, so that seam '{shut.name}' sews its left half to "
                    f"its right one, but seam '{round_it.name}' goes along both, to open ends: is "
                    "its count right?"
                )
                break


def _free_end(seam: Sewn, index: int) -> Corner | None:
    """Return where a side of one piece ends that begins at its fold; None for other sides."""
    member, *others = seam.sides[index]
    folds = [member.folds(last=last) for last in (False, True)]
    return None if others or folds[0] == folds[1] else member.corner(last=folds[0])


def _is_open(seam: Sewn, index: int, sewn: Sequence[Sewn], seams: Sequence[Seam]) -> bool:
    """Return whether a side of several pieces has ends that no seam joins, nor left to right.

    Of a single band the set may leave out the seam that closes it.
    """
    side, joined = seam.sides[index], edges_met(seams)
    away = [
        (member.corner(last=last), (member.piece, member.beside(last=last)))
        for member, last in ((side[0], False), (side[-1], True))
        if not member.folds(last=last)
    ]
    if len({member.piece for member in side}) == 1 or not away:
        return False
    (one, edge), (other, _) = away[0], away[-1]
    if one == other:
        return edge not in joined.get(edge, set())
    return not meet(one, other, [another for another in sewn if another is not seam])
