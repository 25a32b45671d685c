"""What lies opposite an edge in its seams: what its card says that it is sewn to."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType

from plotout.errors import UserError
from plotout.pattern.chain import Chain
from plotout.pattern.cloths import share_a_cloth
from plotout.pattern.model import Derive, PatternSet, Piece, Seam, Side
from plotout.pattern.number_cut import Key
from plotout.pattern.sides import chains

Partners = Mapping[Key, Sequence[Key]]
"""By piece and edge, the pieces and edges opposite it, in the order walked."""
NONE: Partners = MappingProxyType({})

_MEETS = 5.0  # mm: edges opposite each other for less only meet at a joint
_MOSTLY = 0.4  # of the shorter of two edges: one that lies in the middle of two meets both


def partners(pattern_set: PatternSet) -> Partners:
    """Return what every edge is sewn to; of derived pieces, too. pattern_set: with these made.

    An edge of a left that is sewn to that of a right has no partner: both are on one card.
    """
    found: dict[Key, list[Key]] = defaultdict(list)
    for seam in pattern_set.seams:
        for own, its in () if seam.of_one_edge else _opposite(seam, pattern_set):
            for key, other in ((own, its), (its, own)):
                if key != other and other not in found[key]:
                    found[key].append(other)
    sewn = dict(found)
    for piece in pattern_set.pieces:
        for edge in piece.edges if piece.derive is not None else ():
            key = piece.name, edge.name
            sewn[key] = (
                found[key] if key in found else _followed(edge.name, piece, sewn, pattern_set)
            )
    return sewn


def _opposite(seam: Seam, pattern_set: PatternSet) -> Iterator[tuple[Key, Key]]:
    """Yield the edges of both sides that lie opposite each other; of a seam that can't be walked,
    all.

    Both are scaled to one length. Ease may be anywhere, so that edges must overlap by half of it,
    or by much of the shorter one.
    """
    try:
        first, second = chains(seam, pattern_set.piece)
    except (KeyError, UserError):
        yield from ((one, other) for one in _named(seam.first) for other in _named(seam.second))
        return
    size = min(first.walked, second.walked)
    least = max(_MEETS, abs(first.walked - second.walked) / 2.0)
    for low, high, own in _spans(first, size):
        for its_low, its_high, its in _spans(second, size):
            shorter = min(high - low, its_high - its_low)
            if min(high, its_high) - max(low, its_low) > min(least, _MOSTLY * shorter):
                yield own, its


def _named(side: Side) -> list[Key]:
    return [(piece, edge) for piece, edge, _ in side.edges]


def _spans(side: Chain, size: float) -> list[tuple[float, float, Key]]:
    """Return where the edges of a side begin and end along it, if it were `size` mm long."""
    found = []
    scale = size / side.walked
    end = side.own if side.twinned and side.folds == "start" else 0.0
    for link in side.row:
        start, end = end, end + link.size
        found.append((start * scale, end * scale, (link.piece.name, link.edge.name)))
        if side.twinned:
            twin = 2.0 * side.own - end, 2.0 * side.own - start
            found.append((twin[0] * scale, twin[1] * scale, (link.piece.name, link.edge.name)))
    return found


def _followed(edge: str, piece: Piece, sewn: Partners, pattern_set: PatternSet) -> list[Key]:
    """Return what the edge of a derived piece is sewn to that follows its parent's.

    That is what follows the parent's partner in the same way, if anything does, else the partner. A
    facing is sewn in with its parent only along the edges that it faces; a fusing is not.
    """
    plan, found = piece.derive, []
    assert plan is not None
    for name, its in sewn.get((piece.parent or "", edge), ()):
        alike = [
            (other.name, its)
            for other in pattern_set.pieces
            if other.derive is not None and other.derive.how is plan.how and other.parent == name
            if its in [one.name for one in other.edges]
            if share_a_cloth(piece, other, pattern_set.say)
        ]
        if alike:
            found.append(alike[0])
        elif plan.how is not Derive.FACING or edge in plan.along:
            found.append((name, its))
    return [key for key in found if key != (piece.name, edge) and plan.how is not Derive.FUSING]
