"""Finds edges that are sewn to themselves, though a ring goes from them to others: of a sleeve.

A sleeve is sewn to an armhole that goes all the way round, from one of its edges to another: so
these are sewn to each other, and not the left one's to the right one's. By topology.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence, Set

from plotout.pattern.meetings import Sewn, meet
from plotout.pattern.model import PatternSet, Piece, Seam
from plotout.pattern.sides import chains, sewn_edges
from plotout.review.edge_lengths import as_long

Key = tuple[str, str]


def open_rings(
    seams: Sequence[Seam], sewn: Sequence[Sewn], pattern_set: PatternSet
) -> Iterator[str]:
    """Yield the seams of an edge with itself, if a ring goes from it to one that is in no seam.

    seams: those that can be walked. sewn: the same, as walked. Only edges of one length are
    compared.
    """
    itself = {(piece, edge) for s in seams if s.of_one_edge for piece, edge, _ in s.first.edges}
    laps = {s.name: [side.laps for side in chains(s, pattern_set.piece)] for s in seams}
    for seam in seams:
        if not seam.of_one_edge or len(seam.first.edges) > 1:
            continue
        ((name, own, _),) = seam.first.edges
        free = _as_long(pattern_set.piece(name), own, pattern_set)
        for ring, index in ((one, index) for one in sewn for index in (0, 1)):
            ends = _ends(ring, index, name)
            others = [edge for edge in free if ends == {own, edge}]
            here, there = laps[ring.name][index], laps[ring.name][1 - index]
            if others and here == 1 and _closed(ring, 1 - index, there, sewn, itself):
                yield (
                    f"seam '{seam.name}': it sews '{own}' of '{name}' to itself, but seam "
                    f"'{ring.name}' goes all the way round from it to '{others[0]}', as long, "
                    "which is in no seam: is one of its sides wrong?"
                )
                break


def _as_long(piece: Piece, own: str, pattern_set: PatternSet) -> list[str]:
    """Return the edges of a piece that are in no seam, and as long as one of its edges."""
    sewn, tolerance = sewn_edges(pattern_set.seams), pattern_set.defaults.tolerance
    return [
        edge.name
        for edge in piece.edges
        if (piece.name, edge.name) not in sewn and edge.name != piece.fold
        if as_long(piece.edge(own), edge, tolerance)
    ]


def _ends(ring: Sewn, index: int, piece: str) -> set[str]:
    """Return the edges beside both ends of a side that is but one piece; none of other sides."""
    members = ring.sides[index]
    if len(members) > 1 or members[0].piece != piece or ring.twinned[index]:
        return set()
    return {members[0].beside(last=last) for last in (False, True)}


def _closed(ring: Sewn, index: int, laps: int, seams: Sequence[Sewn], itself: Set[Key]) -> bool:
    """Return whether a side of a seam ends where it begins, by all other seams.

    So does an even number of laps of a piece that is sewn to its twin at both ends.
    """
    (first, begins), (last, ends) = (ring.ending(index, last=end) for end in (False, True))
    if laps > 1:
        beside = [(m.piece, m.beside(last=at)) for m, at in ((first, begins), (last, ends))]
        return laps % 2 == 0 and all(key in itself for key in beside)
    others = [seam for seam in seams if seam.name != ring.name]
    return not ring.twinned[index] and meet(
        first.corner(last=begins), last.corner(last=ends), others
    )
