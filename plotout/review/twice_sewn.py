"""Finds edges that close their own piece, but are sewn to another one too: asked about.

Once a thumb, a leg or a sleeve is closed along an edge, what else is sewn to that edge lies between
(a guard of a zip). If another edge is as long and in no seam, it may be meant. By topology.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence, Set

from plotout.pattern.chain import Link
from plotout.pattern.model import Edge, PatternSet, Seam
from plotout.pattern.sides import chains, sewn_edges
from plotout.review.edge_lengths import as_long
from plotout.review.hems_met import folded_over

Key = tuple[str, str]


def twice_sewn(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the seams of an edge that another seam sews to its own piece, if one as long is free.

    seams: those that can be walked.
    """
    closed, sewn = _closed(seams), sewn_edges(pattern_set.seams)
    for seam in seams:
        if _closes(seam):
            continue
        sides = chains(seam, pattern_set.piece)
        slack = pattern_set.defaults.tolerance + max(map(abs, seam.ease))
        for side, other in (sides, sides[::-1]):
            for link in side.links:
                closing = closed.get((link.piece.name, link.edge.name))
                free = _free(link, slack, sewn)
                if closing and free:
                    yield (
                        f"seam '{seam.name}': it sews '{link.edge.name}' of '{link.piece.name}' "
                        f"to '{other.name}', but seam '{closing}' sews it to its own piece, and "
                        f"{' and '.join(free)}, as long, "
                        f"{'is' if len(free) == 1 else 'are'} in no seam: is one of them wrong?"
                    )


def _closes(seam: Seam) -> bool:
    """Return whether a seam sews one edge of a piece to one of the same piece."""
    edges = (*seam.first.edges, *seam.second.edges)
    return len(edges) == 2 and len({piece for piece, _, _ in edges}) == 1


def _closed(seams: Sequence[Seam]) -> Mapping[Key, str]:
    """Return the edges that are sewn to their own piece, and by which seam."""
    return {
        (piece, edge): seam.name
        for seam in seams
        if _closes(seam)
        for piece, edge, _ in (*seam.first.edges, *seam.second.edges)
    }


def _free(link: Link, slack: float, sewn: Set[Key]) -> list[str]:
    """Return the edges of a link's piece, in words, that are in no seam and as long as its own."""
    piece = link.piece
    return [f"'{edge.name}'" for edge in piece.edges
            if (piece.name, edge.name) not in sewn and _may_be_sewn(link, edge)
            and as_long(link.edge, edge, slack)]  # fmt: skip


def _may_be_sewn(link: Link, edge: Edge) -> bool:
    return edge.name != link.piece.fold and not folded_over(edge)
