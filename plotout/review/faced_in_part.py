"""Finds edges left as cut where the edge that they go on into is faced: a front's neck.

Noted, never corrected. That an opening is finished alike on both sides of a seam is common
practice, from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from plotout.geometry.polyline import length
from plotout.pattern.adjacent import chained
from plotout.pattern.cloths import cut_by_cloth, is_stiffening
from plotout.pattern.model import Derive, PatternSet, Piece, Seam
from plotout.pattern.sides import chains, sewn_edges
from plotout.review.edges_met import edges_met
from plotout.review.hems_met import (
    Beside,
    beside,
    called_hem,
    faced_edges,
    folded_over,
    joined_twice,
)
from plotout.review.layers import layers_of

_SHORT = 2.0  # mm by which a facing is short of an edge's end
_LAPEL = 0.5  # of the front below it: the longest edge at the top of a lapel


def faced_in_part(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the seams at whose end two edges in no seam meet, of which only one is faced. Their
    pieces are sewn to each other twice, as front and back are: a collar's layers are turned.

    seams: those that can be walked.
    """
    twice = joined_twice(pattern_set.seams)
    faced, sewn = faced_edges(pattern_set.pieces), sewn_edges(pattern_set.seams)
    walked = {seam.name: chains(seam, pattern_set.piece) for seam in seams}
    layers = layers_of(walked, pattern_set.say)
    for seam in seams:
        sides = walked[seam.name]
        for last in (False, True):
            ends = [beside(side, last=last) for side in sides]
            for one, other in (ends, ends[::-1]):
                if one is None or other is None or one.piece.name == other.piece.name:
                    continue
                own, its = ((end.piece.name, end.edge.name) for end in (one, other))
                both = frozenset((one.piece.name, other.piece.name))
                if both not in twice or {own, its} & sewn or own not in faced or its in faced:
                    continue
                doubled = layers[other.piece.name].get(seam.name, 1) > 1 or _is_of_two_cloths(
                    other.piece, pattern_set
                )
                if not (called_hem(one.edge) or doubled) and _is_bare(other, pattern_set):
                    yield (
                        f"seam '{seam.name}': at its {'end' if last else 'start'} '{own[1]}' of "
                        f"'{own[0]}' is faced, but '{its[1]}' of '{its[0]}' is not: does a facing "
                        "run along that too?"
                    )


def short_of_lapels(pattern_set: PatternSet) -> Iterator[str]:
    """Yield the facings that reach only a part of the edge between a front and a collar's neck: the
    top of a lapel. They go along it in one (common practice).
    """
    sewn, faced = sewn_edges(pattern_set.seams), faced_edges(pattern_set.pieces)
    twice, met = joined_twice(pattern_set.seams), edges_met(pattern_set.seams)
    for piece in pattern_set.pieces:
        plan = piece.derive
        parent = next((one for one in pattern_set.pieces if one.name == piece.parent), None)
        if plan is None or parent is None or plan.how is not Derive.FACING or not plan.along:
            continue
        chain = chained(parent.edges, plan.along)
        own = {edge.name: length(edge.points) for edge in piece.edges}
        for at, step in ((parent.edges.index(chain[0]), -1), (parent.edges.index(chain[-1]), 1)):
            top, beyond = (parent.edges[(at + step * k) % len(parent.edges)] for k in (1, 2))
            key, long = (parent.name, top.name), length(top.points)
            collars = {of for of, _ in met.get((parent.name, beyond.name), ())}
            bare = key not in sewn | faced and top.name != parent.fold and not folded_over(top)
            if not bare or called_hem(top) or not own.get(top.name, 0.0) < long - _SHORT:
                continue
            lapel = long < _LAPEL * sum(length(edge.points) for edge in chain)
            if lapel and collars and not any({parent.name, of} in twice for of in collars):
                part = own.get(top.name, 0.0)
                yield (
                    f"{piece.name}: it goes along {part:.0f} of the {long:.0f} mm of '{top.name}' "
                    f"of '{parent.name}', which is in no seam: does it run along that too?"
                )


def _is_of_two_cloths(piece: Piece, pattern_set: PatternSet) -> bool:
    """Return whether a piece is cut of a second cloth, which may be its inside, to its edges."""
    cloths = cut_by_cloth(piece, pattern_set.say)
    return len([cloth for cloth in cloths if not is_stiffening(cloth)]) > 1


def _is_bare(end: Beside, pattern_set: PatternSet) -> bool:
    """Return whether nothing shows how an edge is finished: it isn't folded over or bound, its
    piece is not lined, and no piece in no seam has an edge as long.
    """
    if folded_over(end.edge) or called_hem(end.edge) or min(end.edge.allowance) == 0.0:
        return False
    named = {piece for piece, _ in sewn_edges(pattern_set.seams)}
    size, slack = length(end.edge.points), pattern_set.defaults.tolerance
    for piece in pattern_set.pieces:
        plan = piece.derive
        if plan is not None:
            if plan.how is Derive.LINING and piece.parent == end.piece.name:
                return False
        elif piece.name not in named and any(
            min(abs(length(edge.points) - times * size) for times in (1, 2)) <= slack
            for edge in piece.edges
        ):
            return False
    return True
