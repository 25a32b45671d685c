"""Finds linings and facings that end unlike where what they are made from is sewn together.

Few sets list the seams of linings and facings, since these follow those of their parents. That both
linings of a side are shortened alike at its hem, and that facings are equally deep where they meet,
is common practice, from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from plotout.geometry.end_heading import end_heading
from plotout.geometry.polyline import length
from plotout.pattern.chain import Chain, Link
from plotout.pattern.cloths import share_a_cloth
from plotout.pattern.model import Derive, Edge, PatternSet, Piece, Seam
from plotout.pattern.sides import chains, sewn_edges
from plotout.review.hems_met import Beside, beside
from plotout.review.seam_doubts import GRADED


@dataclass(frozen=True, slots=True)
class _End:
    """Where a lining or a facing ends along a seam of its parent. size: mm by which the lining is
    shorter there, or which the facing is deep.
    """

    piece: Piece
    how: Derive
    size: float

    def is_unlike(self, other: _End) -> bool:
        """Return whether two don't meet. Facings of one width, cut off askew by their seam, may."""
        plans = self.piece.derive, other.piece.derive
        wide = [plan.width for plan in plans if plan is not None]
        alike = self.how is Derive.FACING and abs(wide[0] - wide[1]) <= GRADED
        return not alike and abs(self.size - other.size) > GRADED


def derived_ends(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the pairs of linings or facings that end unlike at a seam of their parents, each once.

    seams: those that can be walked.
    """
    asked: set[frozenset[str]] = set()
    for seam in seams:
        both = chains(seam, pattern_set.piece)
        for last, how in product((False, True), (Derive.LINING, Derive.FACING)):
            ends = [_ends(side, pattern_set, how, last=last) for side in both]
            met = [
                pair
                for pair in product(ends[0], ends[1])
                if share_a_cloth(pair[0].piece, pair[1].piece, pattern_set.say)
            ]
            unlike = [(one, other) for one, other in met if one.is_unlike(other)]
            names = frozenset(end.piece.name for pair in unlike[:1] for end in pair)
            if unlike and len(unlike) == len(met) and names not in asked:
                asked.add(names)
                yield _words(seam.name, *unlike[0])


def _ends(side: Chain, pattern_set: PatternSet, how: Derive, *, last: bool) -> list[_End]:
    """Return the linings or facings of the piece at an end of a side that no seam takes there."""
    link, past = side.links[-1 if last else 0], beside(side, last=last)
    sewn, found = sewn_edges(pattern_set.seams), []
    for piece in pattern_set.pieces:
        if past is None or piece.derive is None or piece.derive.how is not how:
            continue
        own = next((edge for edge in piece.edges if edge.name == link.edge.name), None)
        if piece.parent != link.piece.name or own is None or (piece.name, own.name) in sewn:
            continue
        if how is Derive.LINING:
            hem = piece.derive.hem and piece.derive.hem[0] == past.edge.name
            found.append(_End(piece, how, _shorter(own, link, past) if hem else 0.0))
        elif past.edge.name in piece.derive.along and link.edge.name not in piece.derive.along:
            found.append(_End(piece, how, length(own.points)))
    return found


def _shorter(own: Edge, link: Link, past: Beside) -> float:
    """Return how far before its parent's corner an edge of a lining ends, mm along the seam."""
    corner, sign = (-1, 1.0) if past.forward else (0, -1.0)
    outward = sign * end_heading(link.edge.points, last=past.forward).direction
    return float((link.edge.points[corner] - own.points[corner]) @ outward)


def _words(seam: str, one: _End, other: _End) -> str:
    if one.how is Derive.FACING:
        return (
            f"{one.piece.name}: it is {one.size:.0f} mm deep at seam '{seam}', but "
            f"'{other.piece.name}', which meets it there, {other.size:.0f} mm: are both right?"
        )
    return (
        f"{one.piece.name}: at seam '{seam}' it ends {one.size:.0f} mm before "
        f"'{one.piece.parent}', but '{other.piece.name}' {other.size:.0f} mm before "
        f"'{other.piece.parent}': are both right?"
    )
