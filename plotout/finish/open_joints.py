"""Finds sides of seams that go on from one piece to the next where no seam joins these.

Where a seam goes from a front to a back, their edges past it are sewn to each other. By topology.
A set may list but a few of its seams: then only what is sewn elsewhere shows that they aren't.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence, Set
from dataclasses import replace
from itertools import pairwise

from plotout.finish.edges_met import Met, edges_met
from plotout.pattern.meetings import Member, Sewn, meet, of_one_piece
from plotout.pattern.model import PatternSet, Piece, Seam
from plotout.pattern.number_cut import Key


def open_joints(
    seams: Sequence[Seam], sewn: Sequence[Sewn], pattern_set: PatternSet
) -> Iterator[str]:
    """Yield the seams of which a side goes on over an opening, each once.

    seams: those that can be walked. sewn: the same, as walked.
    """
    joined = edges_met(seams)
    follows = {piece.name for piece in pattern_set.pieces if piece.derive is not None}
    for seam in sewn:
        others = [one for one in sewn if one.name != seam.name]
        for side in seam.sides:
            found = [
                pair for pair in _changes(side)
                if not _is_closed(*pair, others, joined, pattern_set)
                if _is_known(*pair, joined, follows) or _is_ring(side, joined)
            ]  # fmt: skip
            if found:
                yield _words(seam.name, *found[0])
                break


def _changes(side: Sequence[Member]) -> Iterator[tuple[Member, Member]]:
    """Yield the edges between which a side goes on to another piece, or to a twin of the same."""
    edges = [replace(member, steps=(step,)) for member in side for step in member.steps]
    for before, after in pairwise(edges):
        at_corner = before.corner(last=True) == after.corner(last=False)
        round_it = at_corner and before.walked != after.walked
        if not round_it and len(of_one_piece((before, after))) > 1:
            yield before, after


def _past(before: Member, after: Member) -> tuple[Key, Key]:
    """Return the edges past the end of one piece, and past the start of the next."""
    return (before.piece, before.beside(last=True)), (after.piece, after.beside(last=False))


def _is_closed(
    before: Member, after: Member, others: Sequence[Sewn], joined: Met, pattern_set: PatternSet
) -> bool:
    """Return whether other seams, or a fold, bring the corners of two pieces together.

    Those of a left and its right are one corner: there an edge is sewn to itself, to another of a
    piece that is cut alike, or to both sides of a point that lies between.
    """
    if before.folds(last=True) or after.folds(last=False):
        return True
    one, other = before.corner(last=True), after.corner(last=False)
    if one != other:
        return meet(one, other, others)
    edge, _ = _past(before, after)
    met = joined.get(edge, set())
    own = {name for piece, name in met if piece == edge[0]}
    between = {piece for piece, _ in met} - {edge[0]}
    return (
        edge[1] in own
        or bool(own and not before.half)
        or any(_is_pointed(pattern_set.piece(piece), met) for piece in between)
    )


def _is_pointed(piece: Piece, sewn: Set[Key]) -> bool:
    """Return whether two edges of a piece that meet each other, or at its fold, are among these."""
    names = [edge.name for edge in piece.edges]
    mine = {name for of, name in sewn if of == piece.name}
    mine |= {piece.fold} if mine and piece.fold is not None else set()
    return any({names[index - 1], name} <= mine for index, name in enumerate(names))


def _is_known(before: Member, after: Member, joined: Met, follows: set[str]) -> bool:
    """Return whether a seam shows where one of both edges goes, and none is of a derived piece."""
    edges = _past(before, after)
    return any(key in joined for key in edges) and not any(piece in follows for piece, _ in edges)


def _is_ring(side: Sequence[Member], joined: Met) -> bool:
    """Return whether a side ends where it begins: the edges past its ends are sewn together."""
    ends = (side[-1].piece, side[-1].beside(last=True)), (side[0].piece, side[0].beside(last=False))
    return ends[1] in joined.get(ends[0], set())


def _words(seam: str, before: Member, after: Member) -> str:
    (piece, edge), (other, its) = _past(before, after)
    if (piece, edge) == (other, its):
        past = f"from left to right past '{edge}' of '{piece}', and no seam joins these two there"
    else:
        past = f"past '{edge}' of '{piece}' to '{its}' of '{other}', and no seam joins these there"
    return f"seam '{seam}': it goes on {past}: is one of its pieces wrong, or their order?"
