"""Finds sides of seams that go on from a left to its right, or in one piece, over an opening.

Where a seam goes over a centre, the edges there are sewn to each other; by topology. Two different
pieces may lap over each other, or both lie on a third, as at a pocket: nothing is asked of those. A
set may list but a few of its seams: then only what else is sewn shows that one isn't missing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence, Set
from itertools import pairwise

from plotout.pattern.meetings import Member, Sewn, of_one_piece
from plotout.pattern.model import PatternSet, Piece, Seam
from plotout.pattern.number_cut import Key
from plotout.review.edges_met import Met, edges_met


def open_joints(
    seams: Sequence[Seam], sewn: Sequence[Sewn], pattern_set: PatternSet
) -> Iterator[str]:
    """Yield the seams of which a side goes on over an opening, each once.

    seams: those that can be walked. sewn: the same, as walked.
    """
    joined = edges_met(seams)
    follows = {piece.name for piece in pattern_set.pieces if piece.derive is not None}
    for seam in sewn:
        for index, side in enumerate(seam.sides):
            ring = _is_ring(side, joined) or _is_of_two_halves(side)
            gap = ring and not _is_ring(seam.sides[1 - index], joined)
            if gap and (slit := _bound_slit(side, joined)):
                (piece, edge), (_, its) = slit
                yield (
                    f"seam '{seam.name}': it goes on past '{edge}' and '{its}' of '{piece}', which "
                    "no seam joins, and begins and ends at edges that one does join: is its order "
                    "right?"
                )
                break
            found = [
                (piece, edge)
                for member in side
                for piece, edge in _centres(member)
                if piece not in follows and ((piece, edge) in joined or gap)
                if not _is_closed(member, edge, joined, pattern_set)
            ]
            if found:
                piece, edge = found[0]
                yield (
                    f"seam '{seam.name}': it goes on from left to right past '{edge}' of "
                    f"'{piece}', and no seam joins these two there: is one of its pieces wrong, "
                    "or their order?"
                )
                break


def _centres(member: Member) -> Iterator[Key]:
    """Yield the edges past which a side goes on from an edge to its twin, but over no fold."""
    for (edge, back), (other, _) in pairwise(member.steps):
        past = member.edges[(edge + (-1 if back else 1)) % len(member.edges)]
        if edge == other and past != member.fold:
            yield member.piece, past


def _bound_slit(side: Sequence[Member], joined: Met) -> tuple[Key, Key] | None:
    """Return the edges of a slit within one piece over which a side goes on, as a cuff doesn't, if
    both are sewn, but not to each other.
    """
    for before, after in pairwise(side):
        one, other = (
            (before.piece, before.beside(last=True)),
            (after.piece, after.beside(last=False)),
        )
        goes_on = len(of_one_piece((before, after))) == 1
        if goes_on and one in joined and other in joined and other not in joined[one]:
            return one, other
    return None


def _is_closed(member: Member, edge: str, joined: Met, pattern_set: PatternSet) -> bool:
    """Return whether an edge is sewn to its twin, to another edge of a piece that is cut alike, or
    to both sides of a point that lies between.
    """
    met = joined.get((member.piece, edge), set())
    own = {name for piece, name in met if piece == member.piece}
    between = {piece for piece, _ in met} - {member.piece}
    return (
        edge in own
        or bool(own and not member.half)
        or any(_is_pointed(pattern_set.piece(piece), met) for piece in between)
    )


def _is_pointed(piece: Piece, sewn: Set[Key]) -> bool:
    """Return whether two edges of a piece that meet each other, or at its fold, are among these."""
    names = [edge.name for edge in piece.edges]
    mine = {name for of, name in sewn if of == piece.name}
    mine |= {piece.fold} if mine and piece.fold is not None else set()
    return any({names[index - 1], name} <= mine for index, name in enumerate(names))


def _is_of_two_halves(side: Sequence[Member]) -> bool:
    """Return whether a side is both halves of one piece, from its fold to its fold."""
    return len(side) == 1 and side[0].folds(last=False) and side[0].folds(last=True)


def _is_ring(side: Sequence[Member], joined: Met) -> bool:
    """Return whether a side ends where it begins: the edges past its ends are sewn together, or it
    goes all the way round a piece.
    """
    first, last = side[0], side[-1]
    start, end = (first.piece, first.beside(last=False)), (last.piece, last.beside(last=True))
    walked = [edge for member in side for edge in member.walked]
    round_it = len(side) == 1 and {*walked} == {*first.edges} and len(walked) == len(first.edges)
    return start in joined.get(end, set()) or round_it
