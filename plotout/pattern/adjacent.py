"""Edges of a piece that follow each other."""

from __future__ import annotations

from collections.abc import Sequence

from plotout.pattern.model import Edge


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
