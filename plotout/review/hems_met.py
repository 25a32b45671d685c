"""Finds where hems meet: at a seam's end, the edges past both its sides go on as one."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from plotout.geometry.end_heading import end_heading
from plotout.pattern.chain import Chain, Link
from plotout.pattern.model import Derive, Edge, PatternSet, Piece, Seam
from plotout.pattern.number_cut import Key
from plotout.pattern.settings import Corner
from plotout.pattern.sides import chains, sewn_edges
from plotout.review.faces import but_for_faces, words_of

_HEM = re.compile(
    r"hem|hemline|\w*saum(kante|linie)?|ourlet|bas|dobladillo|bajo|ruedo|orlo|fondo|bainha|\w*zoom|"
    r"fåll|nederkant|oplæg|oplægning|fald|helma|päärme|dół|podwinięcie|podłożenie|alja?|felhajtás|"
    r"низ|подгибка|подол|поділ|tiv|porub|palistus|στρίφωμα|.*裾|.*すそ|下摆|底边"
)
"""The word for it, from memory."""


@dataclass(frozen=True, slots=True)
class Beside:
    """The edge past a side's end. forward: it begins there. allowance: of that end of it, mm."""

    piece: Piece
    edge: Edge
    forward: bool

    @property
    def allowance(self) -> float:
        """The allowance where the edges meet, mm."""
        return self.edge.allowance[0 if self.forward else 1]

    @property
    def corner(self) -> float:
        """The angle within the piece between the seam and the edge, degrees."""
        at = self.piece.edges.index(self.edge)
        before = self.piece.edges[at - 1] if self.forward else self.edge
        after = self.edge if self.forward else self.piece.edges[(at + 1) % len(self.piece.edges)]
        x, y = -end_heading(before.points, last=True).direction
        u, v = end_heading(after.points, last=False).direction
        return float(np.degrees(np.arctan2(u * y - v * x, x * u + y * v)) % 360.0)


def hems_met(
    seams: Sequence[Seam], pattern_set: PatternSet
) -> Iterator[tuple[Seam, Beside, Beside]]:
    """Yield the seams at whose end two hems meet, with these."""
    sewn = sewn_edges(pattern_set.seams)
    joined = joined_twice(pattern_set.seams)
    for seam in seams:
        sides = chains(seam, pattern_set.piece)
        for last in (False, True):
            one, other = (beside(side, last=last) for side in sides)
            if one is None or other is None:
                continue
            twice = frozenset((one.piece.name, other.piece.name)) in joined
            if _are_hems(one, other, sewn, twice=twice):
                yield seam, one, other


def beside(side: Chain, *, last: bool) -> Beside | None:
    """Return the edge past a side's end; None at a fold."""
    link: Link = side.links[-1 if last else 0]
    edges, forward = link.piece.edges, last != link.turned
    at = [edge.name for edge in edges].index(link.edge.name)
    edge = edges[(at + (1 if forward else -1)) % len(edges)]
    return None if edge.name == link.piece.fold else Beside(link.piece, edge, forward)


def folded_over(edge: Edge) -> bool:
    """Return whether an edge's allowance is folded over: a facing, or a turned-back hem."""
    return edge.facing or edge.corner is Corner.TURNED


def faced_edges(pieces: Iterable[Piece]) -> set[Key]:
    """Return the edges along which facings run that are made from their pieces."""
    return {
        (piece.parent, edge)
        for piece in pieces
        if piece.parent is not None and piece.derive is not None
        if piece.derive.how is Derive.FACING
        for edge in piece.derive.along
    }


def called_hem(edge: Edge) -> bool:
    """Return whether an edge is a hem by its name, in the languages in which sets are written."""
    return any(_HEM.fullmatch(word) for word in words_of(edge.name))


def _are_hems(one: Beside, other: Beside, sewn: set[tuple[str, str]], *, twice: bool) -> bool:
    """Return whether two edges are hems, as one of which they go on.

    Folded over; or called hem; or of one name, if nothing is sewn to them, or of one with a word
    more, as the part of a hem beside a dart, or of one but for words for front and back. A band's
    free end may be called as the side that it meets, so the pieces must then be sewn to each other
    `twice`.
    """
    if all(folded_over(side.edge) for side in (one, other)):
        return True
    if any((side.piece.name, side.edge.name) in sewn for side in (one, other)):
        return False
    if all(called_hem(side.edge) for side in (one, other)):
        return True
    name, its = (side.edge.name.casefold().split() for side in (one, other))
    both = [but_for_faces(side.edge.name) for side in (one, other)]
    alike = set(name) <= set(its) or set(its) <= set(name) or (both[0] == both[1] != set())
    return twice and alike


def joined_twice(seams: Sequence[Seam]) -> set[frozenset[str]]:
    """Return the pairs of pieces that are joined at two edges of both: by two seams, or by one
    along several edges.
    """
    edges: dict[frozenset[str], set[tuple[str, str]]] = {}
    found: set[frozenset[str]] = set()
    for seam in seams:
        for piece, edge, _ in seam.first.edges:
            for other, its, _ in seam.second.edges:
                pair = frozenset((piece, other))
                own = (edge, its) if piece < other else (its, edge)
                before = edges.setdefault(pair, set())
                if any(own[0] != one[0] and own[1] != one[1] for one in before):
                    found.add(pair)
                before.add(own)
    return found
