"""Seams of a derived piece with what it is made from, if they sew an edge to another than its own.

Each edge of a facing, a lining or a copy lies on the edge of its parent that has its name, from the
same end. So where both are in one seam, both sides name them alike.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from plotout.errors import quoted
from plotout.finish.handed import may_have_no_hand
from plotout.finish.prepare import upright
from plotout.pattern.meetings import Sewn
from plotout.pattern.model import Derive, PatternSet, Piece
from plotout.review.joined_words import as_written

Step = tuple[str, str, bool]
"""A piece, one of its edges, and whether it is walked backwards."""


def derived_ways(seams: Sequence[Sewn], pattern_set: PatternSet) -> Iterator[tuple[str, str]]:
    """Yield the names of such seams, and what to ask.

    A piece that is the same turned over may be sewn from either end, and so may a copy of one hand:
    two triangles make a rectangle.
    """
    for seam in seams:
        own, its = (_drawn(seam, index, pattern_set) for index in (0, 1))
        if own == its or {step[:2] for step in own} != {step[:2] for step in its}:
            continue
        names = [{member.piece for member in side} for side in seam.sides]
        if not names[0] & names[1] and all(
            _has_ends(pattern_set.piece(name)) for name in names[0] | names[1]
        ):
            yield seam.name, _asked(seam)


def _drawn(seam: Sewn, index: int, pattern_set: PatternSet) -> list[Step]:
    """Return what a side walks, each edge as one of the piece that it was first drawn for."""
    found = []
    for member in seam.sides[index]:
        for (_, back), edge in zip(member.steps, member.walked, strict=True):
            piece = pattern_set.piece(member.piece)
            while (parent := _parent(piece, pattern_set)) and _has(parent, edge):
                piece = parent
            found.append((piece.name, edge, back))
    return found


def _parent(piece: Piece, pattern_set: PatternSet) -> Piece | None:
    names = [other.name for other in pattern_set.pieces]
    return pattern_set.piece(piece.parent) if piece.derive and piece.parent in names else None


def _has(piece: Piece, edge: str) -> bool:
    return edge in [own.name for own in piece.edges]


def _has_ends(piece: Piece) -> bool:
    """Return whether a piece's edges can only be sewn from one end."""
    half = piece.fold is not None or piece.paired
    copied = piece.derive is not None and piece.derive.how is Derive.COPY
    return half or not (copied or may_have_no_hand(upright(piece)))


def _asked(seam: Sewn) -> str:
    first, second = (quoted(dict.fromkeys(m.piece for m in s)) for s in seam.sides)
    ways = ", but ".join(" then ".join(as_written(member) for member in s) for s in seam.sides)
    return (
        f"seam '{seam.name}': {first} and {second} follow one drawing, so that "
        "edges of one name lie on each other from the same end; it walks "
        f"{ways}: walk both alike, or is it right?"
    )
