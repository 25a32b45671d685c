"""Edges of a piece that follow each other."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from plotout.pattern.model import Edge, Seam


class NotAdjacentError(ValueError):
    """Edges of a piece that don't follow each other."""


def chained(edges: Sequence[Edge], names: Sequence[str]) -> list[Edge]:
    """Return the named edges in their order round the piece.

    Raises NotAdjacentError where they are not adjacent.
    """
    order = [edge.name for edge in edges]
    first = next((name for name in names if order[order.index(name) - 1] not in names), names[0])
    start = order.index(first)
    chain = [edges[(start + k) % len(edges)] for k in range(len(set(names)))]
    if {edge.name for edge in chain} != set(names):
        raise NotAdjacentError(f"its edges are not adjacent: {', '.join(names)}")
    return chain


def seam_ends_at(
    seams: Sequence[Seam], pieces: Sequence[str], before: str, after: str
) -> bool | None:
    """Return whether a seam ends where edge `before` meets edge `after` of one of `pieces`.

    False where a seam continues over the join; None where no seam of the set has either edge.
    """
    known: bool | None = None
    for seam in seams:
        for side in (seam.first, seam.second):
            walked = [(piece in pieces, edge, turned) for piece, edge, turned in side.edges]
            onwards = (True, before, False), (True, after, False)
            backwards = (True, after, True), (True, before, True)
            if {onwards, backwards} & set(pairwise(walked)):
                known = known or False
            elif any(own and edge in (before, after) for own, edge, _ in walked):
                known = True
    return known
