"""Whole pieces that run the wrong way in all their seams: mirrored, and what else it may be.

Of two pieces that are sewn to each other alone, either may be the mirrored one. And edges whose
names are exchanged, or a wrong fold, can make the pieces beside them look mirrored.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from itertools import combinations, pairwise

from plotout.errors import quoted
from plotout.pattern.meetings import Member, Sewn, cost, of_one_piece, whole_turned

_Change = Callable[[Member], Member | None]


def pieces_of(seam: Sewn) -> list[str]:
    """Return the names of the pieces that a seam sews."""
    return list(dict.fromkeys(member.piece for side in seam.sides for member in side))


def seams_with(piece: str, seams: Sequence[Sewn]) -> list[Sewn]:
    """Return the seams of a piece."""
    return [seam for seam in seams if piece in pieces_of(seam)]


def mirrored(seam: Sewn, piece: str) -> Sewn:
    """Return a seam as if a piece were the mirror image of what it is."""
    for index, side in enumerate(seam.sides):
        groups = (whole_turned(group) if group[0].piece == piece else group
                  for group in of_one_piece(side))  # fmt: skip
        seam = seam.with_side(index, [member for group in groups for member in group])
    return seam


def as_well(piece: str, seams: Sequence[Sewn]) -> list[str]:
    """Return the pieces that may be wrong instead of one that seems to be mirrored.

    Of those sewn to it, any that explains as much if it is mirrored, if two of its edges have each
    other's names, or if another edge is its fold.
    """
    least = cost([mirrored(seam, piece) for seam in seams])
    partners = dict.fromkeys(name for seam in seams_with(piece, seams) for name in pieces_of(seam))
    return [
        other
        for other in partners
        if other != piece and any(cost(tried) <= least for tried in _changed(other, seams))
    ]


def one_of(names: Sequence[str], seams: Sequence[str]) -> str:
    """Return what is wrong of a seam where one of several pieces explains it.

    seams: the names of the others of a piece.
    """
    return (
        f"as its pieces are drawn, it contradicts {quoted(seams)}: one of {quoted(names)} is "
        "probably mirrored, or has two edges with each other's names, or another edge as its fold"
    )


def _changed(piece: str, seams: Sequence[Sewn]) -> Iterator[list[Sewn]]:
    """Yield the seams with one thing put right in a piece."""
    yield [mirrored(seam, piece) for seam in seams]
    member = next(m for s in seams for side in s.sides for m in side if m.piece == piece)
    edges = member.edges
    pairs = combinations(range(len(edges)), 2)
    changes: list[_Change] = [partial(_exchanged, low=low, high=high) for low, high in pairs]
    if member.fold:
        changes += [partial(_folded, fold=fold) for fold in edges]
    for change in changes:
        tried = [_with(seam, piece, change) for seam in seams]
        if None not in tried:
            yield [seam for seam in tried if seam is not None]


def _with(seam: Sewn, piece: str, change: _Change) -> Sewn | None:
    """Return a seam with the members of a piece changed; None if one can't be."""
    for index, side in enumerate(seam.sides):
        members = [change(m) if m.piece == piece else m for m in side]
        if None in members:
            return None
        seam = seam.with_side(index, [m for m in members if m is not None])
    return seam


def _exchanged(member: Member, low: int, high: int) -> Member | None:
    """Return a member with two edges in each other's place; None if its edges come apart."""
    places = {low: high, high: low}
    edges = tuple(member.edges[places.get(at, at)] for at in range(len(member.edges)))
    steps = tuple((places.get(edge, edge), back) for edge, back in member.steps)
    changed = replace(member, edges=edges, steps=steps)
    parts = [replace(changed, steps=(step,)) for step in steps]
    adjacent = all(one.corner(last=True) == on.corner(last=False) for one, on in pairwise(parts))
    return changed if adjacent else None


def _folded(member: Member, fold: str) -> Member:
    return replace(member, fold=fold)
