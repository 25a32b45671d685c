"""Finds two edges of a piece whose names are probably exchanged: noted, never corrected.

Lengths don't show it of edges that are about as long. But the corners at their ends meet others in
two seams at least, which contradict each other then, and the rest of the set; see
`pattern/meetings.py`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations

from plotout.pattern.meetings import Sewn, cost_of, sewn_of, walked
from plotout.pattern.model import PatternSet, Piece, Seam
from plotout.pattern.sides import sewn_edges
from plotout.review.edge_lengths import as_long

_MOST = 100  # seams: of more, their corners are not compared
_MOST_EDGES = 24  # of a piece that are sewn
_CORNERS = 2  # so many must lie apart again: one alone may be a seam that is not listed


def exchanged_edges(
    seams: Sequence[Seam], sewn: Sequence[Sewn], pattern_set: PatternSet
) -> Iterator[str]:
    """Yield the pieces of which two edges would fit in each other's place, but don't as they are.

    sewn: the seams as walked, without those of which the direction is asked about. Of several
    pieces only those are named that explain most.
    """
    if len(sewn) > _MOST:
        return
    names = {seam.name for seam in sewn}
    own = [seam for seam in seams if seam.name in names]
    costs = {seam.name: walked(seam) for seam in sewn}
    now = cost_of([*costs.values()])
    found = []
    for piece, one, other in _alike(own, pattern_set):
        changed = _with_names_exchanged(piece, one, other)
        its = [seam for seam in own if _sews(seam, piece.name)]
        made = pattern_set.with_pieces(
            tuple(changed if p.name == piece.name else p for p in pattern_set.pieces)
        )
        then = costs | {seam.name: walked(seam) for seam in sewn_of(its, made.piece)}
        found.append((now - cost_of([*then.values()]), piece.name, one, other))
    most = max((corners for corners, *_ in found), default=0)
    for corners, name, one, other in found:
        if corners == most >= _CORNERS:
            yield (
                f"{name}: as '{one}' and '{other}' are sewn, they contradict the other seams at "
                f"{corners} corners; in each other's place they would fit, and they are about as "
                "long: are their names exchanged?"
            )


def _alike(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[tuple[Piece, str, str]]:
    """Yield the pieces with two edges in seams that are as long, but for what these ease."""
    named = sewn_edges(seams)
    for piece in pattern_set.pieces:
        edges = [edge for edge in piece.edges if (piece.name, edge.name) in named]
        if piece.derive is not None or len(edges) > _MOST_EDGES:
            continue
        eased = [abs(ease) for seam in seams if _sews(seam, piece.name) for ease in seam.ease]
        slack = pattern_set.defaults.tolerance + max(eased, default=0.0)
        for one, other in combinations(edges, 2):
            if as_long(one, other, slack):
                yield piece, one.name, other.name


def _sews(seam: Seam, piece: str) -> bool:
    return any(name == piece for side in (seam.first, seam.second) for name, _, _ in side.edges)


def _with_names_exchanged(piece: Piece, one: str, other: str) -> Piece:
    names = {one: other, other: one}
    edges = (replace(edge, name=names.get(edge.name, edge.name)) for edge in piece.edges)
    return replace(piece, edges=tuple(edges))
