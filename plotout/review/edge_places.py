"""On which pieces each edge of a set lies as it is sewn, or where it begins and ends."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from plotout.pattern.chain import Chain
from plotout.pattern.model import PatternSet, Seam
from plotout.pattern.sides import chains, sewn_edges

_SAMPLES = 40  # places along an edge at which its partner is looked up
_NEAR = 3.0  # mm within a joint: on what is sewn there
_SOME = 0.1  # of an edge: so much of it is sewn to a piece
_DEEP = 40.0  # mm from any other piece: an edge that ends there was not only moved a little

Key = tuple[str, str]


@dataclass(slots=True)
class Place:
    """Where an edge of a piece lies.

    sewn: it is sewn there itself, and does not only begin or end there. on: the pieces on which it
    lies. deep: of those, the ones well within which it begins or ends. seams: by which. others:
    all pieces on the other side of these. elsewhere: the pieces that one which begins or ends there
    is sewn to, if only in part.
    """

    sewn: bool
    on: set[str] = field(default_factory=set)
    deep: set[str] = field(default_factory=set)
    seams: dict[str, None] = field(default_factory=dict)
    others: set[str] = field(default_factory=set)
    elsewhere: set[str] = field(default_factory=set)


def edge_places(seams: Sequence[Seam], pattern_set: PatternSet) -> dict[tuple[Key, bool], Place]:
    """Return where each edge lies that is in a seam of the set, by itself and whether it is sewn
    there. One that lies on its own piece, or within a chain, tells nothing.
    """
    sewn = sewn_edges(pattern_set.seams)
    found: dict[tuple[Key, bool], Place] = {}
    partners: dict[Key, set[str]] = defaultdict(set)
    for seam in seams:
        sides = chains(seam, pattern_set.piece)
        walked = {(link.piece.name, link.edge.name) for side in sides for link in side.links}
        for own, other in (sides, sides[::-1]):
            names = {link.piece.name for link in other.links}
            met = list(_met(own, other))
            for key, pieces in met:
                partners[key] |= {on for on, often in pieces.items() if often > _SOME * _SAMPLES}
            for is_sewn, key, on, deep in (*_sewn(met), *_beside(own, other)):
                if on == key[0] or key not in sewn or (not is_sewn and key in walked):
                    continue
                place = found.setdefault((key, is_sewn), Place(is_sewn))
                place.on.add(on)
                place.deep |= {on} if deep else set()
                place.seams[seam.name] = None
                place.others |= names
    for (key, is_sewn), place in found.items():
        if not is_sewn:
            place.elsewhere |= partners[key]
    return found


Lying = tuple[bool, Key, str, bool]
"""Whether it is sewn there itself, the edge, the piece on which it lies, whether well within."""


def _sewn(met: Sequence[tuple[Key, Counter[str]]]) -> Iterator[Lying]:
    """Yield the edges of a side, each with the piece that most of it is sewn to; see `_met`."""
    for key, pieces in met:
        piece, often = pieces.most_common(1)[0]
        if often > 0.6 * _SAMPLES:
            yield True, key, piece, False


def _met(own: Chain, other: Chain) -> Iterator[tuple[Key, Counter[str]]]:
    """Yield the edges of a side, with how many places of each are sewn to which piece."""
    for key, start, end in _spans(own):
        at = start + (np.arange(_SAMPLES) + 0.5) / _SAMPLES * (end - start)
        yield key, Counter(_opposite(own, other, float(along)) for along in at)


def _beside(own: Chain, other: Chain) -> Iterator[Lying]:
    """Yield the edges past both ends of each run of a side's adjacent edges, with the piece there.

    A seam that ends where it begins is a ring: so is one that goes round an armhole.
    """
    for link, (_, start, end) in zip(own.links, _spans(own), strict=True):
        edges = [edge.name for edge in link.piece.edges]
        at = edges.index(link.edge.name)
        for last, along, inner in ((False, start, _NEAR), (True, end, -_NEAR)):
            edge = edges[(at + (1 if last != link.turned else -1)) % len(edges)]
            on = _opposite(own, other, along + inner)
            round_ = {_opposite(own, other, (along + d) % own.walked) for d in (-_DEEP, _DEEP)}
            yield False, (link.piece.name, edge), on, round_ == {on}


def _spans(side: Chain) -> Iterator[tuple[Key, float, float]]:
    """Yield the edges of a side with where they begin and end along the seam, mm.

    Of one with a mirrored half, or with laps, those of its half, or of the first.
    """
    along = side.own if side.twinned and side.folds == "start" else 0.0
    for link in side.links:
        yield (link.piece.name, link.edge.name), along, along + link.size
        along += link.size


def _opposite(own: Chain, other: Chain, along: float) -> str:
    """Return the piece that the other side has where one is at `along` mm."""
    return other.on_edge(along / own.walked * other.walked)[0]
