"""Edges sewn where another of their piece belongs, by the names of the pieces: asked about.

A sleeve's `cap front` goes to the piece Front and its `cap back` to the piece Back, whatever front
and back are called, if one word, or one root, stands in both names (common practice, from memory).
Names are weak, so it takes two edges of one piece that both lie where the other belongs; or one,
if their names are else alike, or if both lie on one piece and none on the other.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence, Set
from itertools import permutations

from plotout.pattern.model import PatternSet, Seam
from plotout.review.edge_places import Place, edge_places
from plotout.review.name_words import any_akin, plain_words, telling

Edges = Mapping[str, Place]
"""Where the edges of one piece lie."""


def crossed_names(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[tuple[str, str]]:
    """Yield the names of seams that sew an edge to the piece of another, by its name, and what to
    ask: of each seam once.
    """
    by_piece: dict[tuple[str, bool], dict[str, Place]] = defaultdict(dict)
    for ((piece, edge), sewn), place in edge_places(seams, pattern_set).items():
        by_piece[piece, not sewn][edge] = place
    met = _sewn_together(seams)
    asked: set[str] = set()
    for (piece, _), edges in sorted(by_piece.items(), key=lambda found: found[0][1]):
        for one, other in permutations(edges, 2):
            apart = frozenset(((piece, one), (piece, other))) not in met
            why = _crossed(piece, edges, one, other)
            if not why and apart:
                why = _both_on_one(edges, one, other)
            if not why:
                continue
            told = f"'{one}' of '{piece}' {why}: is '{piece}' the wrong way round, or is it right?"
            for name in dict.fromkeys((*edges[one].seams, *edges[other].seams)):
                if name not in asked:
                    asked.add(name)
                    yield name, f"seam '{name}': {told}"


def _crossed(piece: str, edges: Edges, one: str, other: str) -> str:
    """Return in words on which pieces two edges lie, if each is called after that of the other; or
    if the first is, and the second has the same name but for words that tell nothing. Nor do words
    then that are in the name of their own piece, or of a third edge that lies elsewhere: an upper
    sleeve's 'sleeve cap' is not called after the under sleeve.
    """
    own_place, its_place = edges[one], edges[other]
    elsewhere = own_place.elsewhere | its_place.elsewhere
    for here in sorted(own_place.on - its_place.on - elsewhere):
        for there in sorted(its_place.on - own_place.on - elsewhere):
            own, its = _told(one, other, here, there)
            how = "is sewn to" if own_place.sewn else "ends on"
            lie = f"{how} '{here}', and '{other}' {how} '{there}'"
            if own == {there} and its == {here}:
                return f"{lie}, but by name each is the other's"
            if own != {there} or its or not _named_alike(edges, one, other):
                continue
            idle = plain_words(piece) | _words_apart(edges, one, other, there)
            if _told(one, other, here, there, idle)[0] == {there}:
                return f"{lie}, after which the first is called"
    return ""


def _words_apart(edges: Edges, one: str, other: str, there: str) -> set[str]:
    """Return the words of edges beside two that do not lie on a piece."""
    third = (n for n, place in edges.items() if n not in (one, other) and there not in place.on)
    return {word for name in third for word in plain_words(name)}


def _both_on_one(edges: Edges, one: str, other: str) -> str:
    """Return in words on which piece two edges end, if the first is called after another piece of
    the seam and ends well within this one, and the second after this one.
    """
    place = edges[one]
    if place.sewn or place.on != edges[other].on or len(place.on) > 1 or not place.deep:
        return ""
    (here,) = place.on
    for there in sorted(place.others - place.on - place.elsewhere):
        if _told(one, other, here, there) == ({there}, {here}):
            return f"ends on '{here}' like '{other}', but is called after '{there}'"
    return ""


def _told(
    one: str, other: str, here: str, there: str, idle: Set[str] = frozenset()
) -> tuple[Set[str], Set[str]]:
    """Return after which of two pieces two edges are called, by the words that tell them apart.
    idle: words that tell nothing.
    """
    names = [telling(plain_words(name), idle) for name in (one, other, here, there)]
    own, its = telling(names[0], names[1]), telling(names[1], names[0])
    near, far = telling(names[2], names[3]), telling(names[3], names[2])

    def called(words: Set[str]) -> set[str]:
        return {piece for piece, its in ((here, near), (there, far)) if any_akin(words, its)}

    return called(own), called(its)


def _named_alike(edges: Edges, one: str, other: str) -> bool:
    """Return whether two edges have words in common that no third has."""
    both = plain_words(one) & plain_words(other)
    return bool(both) and not any(both <= plain_words(n) for n in edges if n not in (one, other))


def _sewn_together(seams: Sequence[Seam]) -> set[frozenset[tuple[str, str]]]:
    """Return the pairs of edges that are the only ones of both sides of a seam."""
    found = set()
    for seam in seams:
        sides = seam.first.edges, seam.second.edges
        if all(len(side) == 1 for side in sides):
            found.add(frozenset((piece, edge) for side in sides for piece, edge, _ in side))
    return found
