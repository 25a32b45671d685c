"""Finds seams that sew a side to itself, though edges that are in no seam fit as well.

Noted, never corrected. What is sewn to itself on purpose is common practice, from memory: a left to
its right at a centre, a sleeve's one edge to its other, a dart's one leg to its other. So is it
that edges of one length are sewn to each other if they have one name and their pieces are joined,
or if the edges beside them are sewn to the same edges.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import combinations

from plotout.geometry.polyline import length
from plotout.pattern.chain import Chain, Link
from plotout.pattern.cloths import share_a_cloth
from plotout.pattern.model import Edge, PatternSet, Piece, Seam
from plotout.pattern.number_cut import Key
from plotout.pattern.sides import chains
from plotout.pattern.true_measure import askew, bow
from plotout.review.edges_met import Free, Met, edges_met, free_edges
from plotout.review.fold_doubts import CENTRE
from plotout.review.hems_met import called_hem
from plotout.review.tubes import cloth_between

_STRAIGHT = 1.0  # mm by which a centre seam may bow
_ALONG = 0.5  # degrees that it may lie off the grain
_SHARE = 0.08  # of an edge's length: one that differs by more is not as long, whatever the ease


def own_edge_doubts(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the seams of a side with itself of which a side may be edges that are in no seam.

    seams: those that can be walked.
    """
    met, every = edges_met(seams), free_edges(pattern_set)
    for seam in seams:
        sides = chains(seam, pattern_set.piece)
        names = {link.piece.name for side in sides for link in side.links}
        free = [(piece, edge) for piece, edge in every if piece.name not in names]
        own, say = sides[0].links[0].piece, pattern_set.say
        free = [one for one in free if share_a_cloth(one[0], own, say)]
        slack = pattern_set.defaults.tolerance + max(map(abs, seam.ease))
        found = []
        if len(names) == len(sides[0].links) == len(sides[1].links) == 1:
            found = _alike_edges(sides[0].links[0], sides[1].links[0], free, met, slack)
        if seam.of_one_edge:
            found = found or _together(sides[0], free, met, slack)
        if found:
            yield (
                f"seam '{seam.name}': it sews {_sewn(sides)}, but {' and '.join(found)}, as long, "
                f"{'is' if len(found) == 1 else 'are'} in no seam: is one of its sides wrong?"
            )


def _sewn(sides: tuple[Chain, Chain]) -> str:
    first, *_ = links = sides[0].links
    own = " and ".join(
        dict.fromkeys(f"'{link.edge.name}' of '{link.piece.name}'" for link in links)
    )
    other = sides[1].links[0].edge.name
    if len(links) > 1:
        return f"{own} to themselves"
    return f"{own} to itself" if first.edge.name == other else f"{own} to its '{other}'"


def _alike_edges(one: Link, other: Link, free: Free, met: Met, slack: float) -> list[str]:
    """Return the edges like one of two of a piece that are sewn to each other, in words."""
    if _of_a_dart(one, other):
        return []
    centre = one.edge.name == other.edge.name
    found = dict.fromkeys(
        _named(piece, edge)
        for piece, edge in free
        for mine in (one.edge, other.edge)
        if _fits(length(edge.points), length(mine.points), slack)
        and not (centre and _both_at_centre(one, piece, edge))
        and (_alike(one.piece, mine, piece, edge, met) or (centre and _alone(one, edge, met)))
    )
    return list(found)


def _together(side: Chain, free: Free, met: Met, slack: float) -> list[str]:
    """Return the edges that are as long as a whole side that is sewn to itself, in words.

    One edge for several, as a cap is for two armholes; two of one name for one, as these are. Not
    of a strip on the bias: a binding need be in no seam.
    """
    if len(side.links) > 1:
        return [
            _named(piece, edge)
            for piece, edge in free
            if not piece.bias and _fits(length(edge.points), side.own, slack)
        ]
    for one, other in combinations(free, 2):
        name, its = (edge.name.casefold() for _, edge in (one, other))
        total = length(one[1].points) + length(other[1].points)
        joined = not called_hem(one[1]) and _joined(one[0].name, other[0].name, met)
        if name == its and joined and _fits(total, side.own, slack):
            return [_named(*one), _named(*other)]
    return []


def _named(piece: Piece, edge: Edge) -> str:
    return f"'{edge.name}' of '{piece.name}'"


def _of_a_dart(one: Link, other: Link) -> bool:
    """Return whether two edges of a piece are the legs of a dart: the cloth is outside them."""
    ends = [edge.points[[0, -1]] for edge in (one.edge, other.edge)]
    return one.edge.name != other.edge.name and cloth_between(*ends) is None


def _fits(size: float, own: float, slack: float) -> bool:
    """Return whether a length is another one within the ease of a seam, either way."""
    return abs(size - own) <= min(slack, _SHARE * own)


def _both_at_centre(one: Link, piece: Piece, edge: Edge) -> bool:
    """Return whether a left is sewn to its right at a centre, and another edge is one too.

    A garment that has a seam at its centre back may be open at its centre front.
    """
    named = [CENTRE & set(re.findall(r"\w+", e.name.casefold())) for e in (one.edge, edge)]
    unlike = one.edge.name.casefold() != edge.name.casefold()
    return all(named) or (unlike and _on_grain(one.piece, one.edge) and _on_grain(piece, edge))


def _on_grain(piece: Piece, edge: Edge) -> bool:
    grain = piece.grain
    if grain is None or bow(edge.points) > _STRAIGHT:
        return False
    return askew(grain, edge.points) <= _ALONG + max(edge.headings_to)


def _alike(own: Piece, mine: Edge, piece: Piece, edge: Edge, met: Met) -> bool:
    """Return whether two edges have one name and joined pieces, or the same beside them."""
    if mine.name.casefold() == edge.name.casefold() and _joined(own.name, piece.name, met):
        return True
    beside, others = _beside(own, mine), _beside(piece, edge)
    return any(one in met for one in beside) and any(
        all(_go_on(one, other, met) for one, other in zip(beside, pair, strict=True))
        for pair in (others, others[::-1])
    )


def _alone(one: Link, edge: Edge, met: Met) -> bool:
    """Return whether a piece is sewn to nothing but itself, at an edge called as another one is."""
    others = {of for (name, _), keys in met.items() if name == one.piece.name for of, _ in keys}
    return others <= {one.piece.name} and one.edge.name.casefold() == edge.name.casefold()


def _joined(own: str, other: str, met: Met) -> bool:
    """Return whether two pieces are sewn to each other, or each to no other piece."""
    beyond = {piece for (name, _), keys in met.items() if name in (own, other) for piece, _ in keys}
    sewn = {piece for (name, _), keys in met.items() if name == own for piece, _ in keys}
    return other in sewn or beyond <= {own, other}


def _beside(piece: Piece, edge: Edge) -> tuple[Key, Key]:
    """Return the edges before and after an edge of a piece."""
    names = [other.name for other in piece.edges]
    at = names.index(edge.name)
    return (piece.name, names[at - 1]), (piece.name, names[(at + 1) % len(names)])


def _go_on(one: Key, other: Key, met: Met) -> bool:
    """Return whether two edges may meet at a seam: sewn to the same edge or each other, or free."""
    if one not in met or other not in met:
        return one not in met and other not in met
    return bool(met[one] & met[other]) or other in met[one]
