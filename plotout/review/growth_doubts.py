"""Finds what grows against its neighbours from size to size, or not with them: a sign is nearly
always wrong there, or a growth is missing.

Noted, never corrected; common practice, from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import permutations

from plotout.geometry.polyline import length
from plotout.pattern.model import Edge, PatternSet, Piece, Seam
from plotout.pattern.sides import chains, sewn_edges
from plotout.pattern.true_measure import bow, slant
from plotout.review.hems_met import Beside, beside, called_hem, folded_over, hems_met

_LEAST = 1.0  # mm by which an edge grows or shrinks that is asked about
_STILL = 0.1  # mm: an edge that changes by less doesn't grow
_CORNERS, _STRAIGHT, _TRUE = 4, 0.1, 0.1  # of a rectangle; mm by which it may bow; degrees
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
    known = {name for pair in asked for name in pair}
    yield from _left_behind(seams, pattern_set, known)
    for piece in pattern_set.pieces:
        if piece.derive is None and piece.name not in known:
            yield from (*_smaller_hem(piece, pattern_set), *_slanted(piece))
    yield from _smaller_piece(pattern_set.pieces)


def _left_behind(seams: Sequence[Seam], pattern_set: PatternSet, known: set[str]) -> Iterator[str]:
    """Yield the hems that don't grow, though what their seam leads to does at its other end, and
    both ends of the piece beside it do. A hem may be as wide in all sizes, but on both sides of it.

    known: the pieces that are asked about already; filled.
    """
    for seam, *hems in hems_met(seams, pattern_set):
        tops = [_far_end(seam, side, pattern_set) for side in hems]
        for (own, top), (other, its) in permutations(zip(hems, tops, strict=True)):
            if top is None or its is None or own.piece.name in known:
                continue
            still, rest = abs(own.edge.grows) < _STILL, (top, other.edge, its)
            if still and min(edge.grows for edge in rest) > _LEAST:
                known.add(own.piece.name)
                yield (
                    f"seam '{seam.name}': '{other.edge.name}' of '{other.piece.name}' grows with "
                    f"the sizes, and '{top.name}' of '{own.piece.name}' too, but its "
                    f"'{own.edge.name}' doesn't: is its growth missing?"
                )


def _far_end(seam: Seam, hem: Beside, pattern_set: PatternSet) -> Edge | None:
    """Return the edge of a hem's piece past the other end of the seam at which the hem begins."""
    for side in chains(seam, pattern_set.piece):
        ends = [beside(side, last=last) for last in (False, True)]
        for end, other in (ends, ends[::-1]):
            if end == hem and other is not None and other.piece.name == hem.piece.name:
                return None if other.edge.name == hem.edge.name else other.edge
    return None


def _smaller_hem(piece: Piece, pattern_set: PatternSet) -> Iterator[str]:
    """Yield the hem of a piece that shrinks, while an edge at its other end grows."""
    sewn = sewn_edges(pattern_set.seams)
    for hem in piece.edges:
        if (piece.name, hem.name) in sewn or not (folded_over(hem) or called_hem(hem)):
            continue
        others = [edge for edge in piece.edges if edge not in (hem, *piece.beside(hem))]
        other = next((edge for edge in others if _against(hem.grows, edge.grows)), None)
        if other is not None:
            yield (
                f"{piece.name}: '{hem.name}' shrinks as the sizes get larger, but '{other.name}', "
                "at its other end, grows: is the sign of its growth right?"
            )


def _slanted(piece: Piece) -> Iterator[str]:
    """Yield the rectangle of which one edge grows, and the opposite one does not: one corner of a
    band is left where it is.
    """
    edges = piece.edges
    if len(edges) != _CORNERS or any(bow(edge.points) > _STRAIGHT for edge in edges):
        return
    for at, one in enumerate(edges):
        other, ends = edges[at - 2], (edges[at - 1], edges[at - 3])
        apart = abs(length(one.points) - length(other.points))
        was_alike = abs(apart - abs(one.grows)) < _STILL and abs(other.grows) < _STILL
        square = min(abs(abs(slant(one.points, end.points)) - 90.0) for end in ends) < _TRUE
        if was_alike and square and abs(slant(one.points, other.points)) < _TRUE and apart > _LEAST:
            yield (
                f"{piece.name}: '{one.name}' {'grows' if one.grows > 0.0 else 'shrinks'} by "
                f"{abs(one.grows):.3g} mm, but '{other.name}', opposite to it, does not: is the "
                "growth of a corner missing?"
            )


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
