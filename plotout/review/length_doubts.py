"""Finds edges whose pricks don't show how long they are, where no seam's row says so.

A curve's outermost prick that strayed makes the edge beside it wrong. That is named first, since a
curve through it seems to meet its neighbour at another angle, or smoothly.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from plotout.geometry.polyline import length
from plotout.geometry.sureness import Otherwise
from plotout.pattern.model import Edge, Piece, Seam
from plotout.units import says_anything

UNKNOWN = 5.0  # mm: what is made to fit an edge known no better won't fit it (common practice)
ANOTHER = 3.0  # mm by which an explanation's length must differ to be named
NAMED = 0.04  # chance of an explanation that is named beside what is hardly known
ASKED = 0.08  # the same where nothing else is said: of 2750 edges with good pricks, 2 are asked


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
        if edge.name in compared:
            continue
        size = f"the {length(edge.points):.1f} mm of '{edge.name}' are"
        if edge.known_to > UNKNOWN:
            sure = says_anything(edge.known_to)
            known = f"known only to {edge.known_to:.1f} mm" if sure else "not known"
            yield f"{size} {known}: {_advice(edge, piece)}"
        elif likely := _likely(edge, ASKED):
            yield f"{size} {_if_so(edge, likely)}, which its pricks don't show: look there"


def _advice(edge: Edge, piece: Piece) -> str:
    """Return what to do: of neighbours that are as little known, their corner isn't known."""
    if likely := _likely(edge, NAMED):
        return (
            f"they are {_if_so(edge, likely)}: look there first, then prick both edges nearer to "
            "their corner"
        )
    at = [one.name for one in piece.edges].index(edge.name)
    for other in (piece.edges[at - 1], piece.edges[(at + 1) % len(piece.edges)]):
        if other.known_to > UNKNOWN and edge.known_to / 2.0 < other.known_to < edge.known_to * 2.0:
            return (
                f"its pricks don't show where '{other.name}' begins; if they meet smoothly, name "
                "the curve's end there in 'tangent', else prick both nearer to their corner"
            )
    return "prick it more densely, and nearer to its corners"


def _likely(edge: Edge, chance: float) -> list[Otherwise]:
    """Return the explanations by which an edge has another length, likelier than that."""
    return [one for one in edge.otherwise if one.chance >= chance and abs(one.longer) >= ANOTHER]


def _if_so(edge: Edge, likely: Sequence[Otherwise]) -> str:
    """Return in words what an edge's length is by each of these explanations."""
    return " or ".join(
        f"{length(edge.points) + one.longer:.1f} mm if {one.why} ({100 * one.chance:.0f} %)"
        for one in likely
    )
