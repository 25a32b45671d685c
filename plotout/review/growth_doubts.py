"""Finds what grows against its neighbours from size to size: a sign is nearly always wrong there.

Noted, never corrected; common practice, from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from plotout.pattern.model import PatternSet, Piece, Seam
from plotout.review.hems_met import hems_met

_LEAST = 1.0  # mm by which an edge grows or shrinks that is asked about
_ALIKE = 3.0  # times as much the one may grow as the other shrinks: a wrong sign changes no figure


def growth_doubts(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield hems that shrink with the sizes where they meet one that grows, then such a piece."""
    asked: set[frozenset[str]] = set()
    for seam, one, other in hems_met(seams, pattern_set):
        smaller, larger = sorted((one, other), key=lambda side: side.edge.grows)
        pair = frozenset((one.piece.name, other.piece.name))
        if pair not in asked and _against(smaller.edge.grows, larger.edge.grows):
            asked.add(pair)
            yield (
                f"seam '{seam.name}': '{larger.edge.name}' of '{larger.piece.name}' grows with the "
                f"sizes, but '{smaller.edge.name}' of '{smaller.piece.name}', which meets it, "
                "shrinks: is the sign of its growth right?"
            )
    yield from _smaller_piece(pattern_set.pieces)


def _against(shrinks: float, grows: float) -> bool:
    least, most = sorted((-shrinks, grows))
    return least > _LEAST and most < _ALIKE * least


def _smaller_piece(pieces: Sequence[Piece]) -> Iterator[str]:
    """Yield the piece that shrinks round about, if at least two others grow and none else shrinks.

    Derived pieces follow their parents.
    """
    sums = {piece.name: sum(edge.grows for edge in piece.edges) for piece in pieces
            if piece.derive is None}  # fmt: skip
    shrinking = [name for name, more in sums.items() if more < -_LEAST]
    growing = [name for name, more in sums.items() if more > _LEAST]
    if len(shrinking) == 1 and len(growing) > 1:
        yield (
            f"{shrinking[0]}: it shrinks as the sizes get larger, while the other pieces grow: are "
            "the signs of its growth right?"
        )
