"""What edges are sewn to, and which are in no seam."""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set

from plotout.pattern.model import Edge, PatternSet, Piece, Seam
from plotout.pattern.number_cut import Key
from plotout.pattern.sides import sewn_edges
from plotout.review.hems_met import folded_over

Met = Mapping[Key, Set[Key]]
"""By edge, the edges that it is sewn to."""
Free = Sequence[tuple[Piece, Edge]]


def edges_met(seams: Sequence[Seam]) -> Met:
    """Return the edges that each edge is sewn to."""
    found: dict[Key, set[Key]] = {}
    for seam in seams:
        own, its = ({(piece, edge) for piece, edge, _ in side.edges}
                    for side in (seam.first, seam.second))  # fmt: skip
        for keys, others in ((own, its), (its, own)):
            for key in keys:
                found.setdefault(key, set()).update(others)
    return found


def free_edges(pattern_set: PatternSet) -> Free:
    """Return the edges in no seam, but folds, hems, and what follows another piece."""
    sewn = sewn_edges(pattern_set.seams)
    return [
        (piece, edge)
        for piece in pattern_set.pieces
        for edge in piece.edges
        if piece.derive is None and (piece.name, edge.name) not in sewn
        if piece.fold != edge.name and not folded_over(edge)
    ]
