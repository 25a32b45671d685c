"""Finds edges whose pricks don't show how long they are, where no seam's row says so."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from plotout.geometry.polyline import length
from plotout.pattern.model import Edge, Piece, Seam
from plotout.units import says_anything

UNKNOWN = 5.0  # mm: what is made to fit an edge known no better won't fit it (common practice)


def length_doubts(piece: Piece, seams: Sequence[Seam]) -> Iterator[str]:
    """Yield a pricked piece's edges that are known to over `UNKNOWN` mm and compared with none.

    A left that is sewn to a right of the same edge shows nothing, nor does an edge in no seam; but
    a facing or a placket may have been made to its length.
    """
    if piece.derive is not None:
        return
    compared = {
        edge
        for seam in seams
        if not seam.of_one_edge
        for side in (seam.first, seam.second)
        for name, edge, _ in side.edges
        if name == piece.name
    }
    for edge in piece.edges:
        if edge.known_to <= UNKNOWN or edge.name in compared:
            continue
        sure = says_anything(edge.known_to)
        known = f"known only to {edge.known_to:.1f} mm" if sure else "not known"
        size = length(edge.points)
        yield f"the {size:.1f} mm of '{edge.name}' are {known}: {_advice(edge, piece)}"


def _advice(edge: Edge, piece: Piece) -> str:
    """Return what to do: of neighbours that are as little known, their corner isn't known."""
    at = [one.name for one in piece.edges].index(edge.name)
    for other in (piece.edges[at - 1], piece.edges[(at + 1) % len(piece.edges)]):
        if other.known_to > UNKNOWN and edge.known_to / 2.0 < other.known_to < edge.known_to * 2.0:
            return (
                f"its pricks don't show where '{other.name}' begins; if they meet smoothly, name "
                "the curve's end there in 'tangent', else prick both nearer to their corner"
            )
    return "prick it more densely, and nearer to its corners"
