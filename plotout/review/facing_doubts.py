"""Finds facings along an edge at which the garment goes on, though another edge is left open.

Noted, never corrected. A facing finishes an edge of the garment; a collar, a hood, a band or a
pocket bag may be sewn in between. That none lies along a side, a shoulder or the armhole of a
sleeve is common practice, from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence, Set

from plotout.errors import quoted
from plotout.geometry.polyline import length
from plotout.pattern.cloths import halves, sewn_cuts
from plotout.pattern.model import Derive, PatternSet, Piece, Seam
from plotout.pattern.number_cut import Key, Sides
from plotout.pattern.sides import chains, sewn_edges
from plotout.review.ends_alike import end_alike
from plotout.review.hems_met import called_hem, faced_edges, folded_over, joined_twice
from plotout.review.name_words import is_within
from plotout.review.side_doubts import are_panels, one_side
from plotout.review.tubes import tubes


def facing_doubts(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the facings that only run along sides, shoulders or armholes.

    seams: those that can be walked.
    """
    named = {piece for piece, _ in sewn_edges(pattern_set.seams)}
    inner, centres = _goes_on_at(seams, pattern_set), _sewn_to_their_twins(seams)
    for piece in pattern_set.pieces:
        plan = piece.derive
        if plan is None or plan.how is not Derive.FACING or piece.name in named:
            continue
        if any(is_within(edge, piece.name) for edge in plan.along):
            continue  # it is called after its edge
        parent = next((one for one in pattern_set.pieces if one.name == piece.parent), None)
        along = [(piece.parent or "", edge) for edge in plan.along]
        met = [inner[key] for key in along if key in inner]
        open_edges = _open(parent, pattern_set) if parent is not None else []
        if parent is not None and open_edges and met and {*along} <= inner.keys() | centres:
            seam, other = met[0]
            yield (
                f"{piece.name}: it faces {quoted(plan.along)} of '{parent.name}', which seam "
                f"'{seam}' sews to '{other}', but {quoted(open_edges)} "
                f"{'is' if len(open_edges) == 1 else 'are'} in no seam: is along right?"
            )


def short_facings(pattern_set: PatternSet) -> Iterator[str]:
    """Yield the facings that are wider than the edges along which they run are long together."""
    by_name = {piece.name: piece for piece in pattern_set.pieces}
    for piece in pattern_set.pieces:
        plan, parent = piece.derive, by_name.get(piece.parent or "")
        if plan is None or parent is None or plan.how is not Derive.FACING:
            continue
        long = sum(length(edge.points) for edge in parent.edges if edge.name in plan.along)
        if plan.along and long * halves(parent) < plan.width:
            yield (
                f"{piece.name}: it runs along {quoted(plan.along)} of '{parent.name}', {long:.0f} "
                f"mm long, but is {plan.width:g} mm wide: is along right?"
            )


def _goes_on_at(seams: Sequence[Seam], pattern_set: PatternSet) -> Mapping[Key, tuple[str, str]]:
    """Return the edges at which the garment goes on, with their seam and what is sewn there.

    Of pieces that go on beside each other at one seam, these are all that they are sewn at.
    """
    sleeves = {tube.piece.name for tube in tubes(seams, pattern_set)}
    sides = {seam.name: chains(seam, pattern_set.piece) for seam in seams}
    sewn, twice = sewn_edges(pattern_set.seams), joined_twice(seams)
    beside = {
        _names(both)
        for both in sides.values()
        if _of_one_cloth(both, pattern_set) and _side_by_side(both, sewn, twice)
    }
    found: dict[Key, tuple[str, str]] = {}
    for name, both in sides.items():
        for side, other in (both, both[::-1]):
            across = {link.piece.name for link in other.links}
            if _names(both) in beside or across <= sleeves:
                for link in side.links:
                    if link.piece.name not in across:
                        found[link.piece.name, link.edge.name] = name, other.name
    return found


def _sewn_to_their_twins(seams: Sequence[Seam]) -> set[Key]:
    """Return the edges of which the left is sewn to the right: a facing beside another edge may
    reach them, as it does the centre back of a shawl collar.
    """
    return {step[:2] for seam in seams if seam.of_one_edge for step in seam.first.edges}


def _names(sides: Sides) -> frozenset[str]:
    return frozenset(link.piece.name for side in sides for link in side.links)


def _of_one_cloth(sides: Sides, pattern_set: PatternSet) -> bool:
    """Return whether both sides are cut of one cloth, with their own linings: the back of a
    waistcoat is. A lining drawn by itself lies over its piece.
    """
    own, its = (
        {
            cut.cloth
            for link in side.links
            for piece in (link.piece, *_linings(link.piece, pattern_set))
            for cut in sewn_cuts(piece, pattern_set.say)
        }
        for side in sides
    )
    return bool(own & its)


def _linings(parent: Piece, pattern_set: PatternSet) -> list[Piece]:
    return [
        piece
        for piece in pattern_set.pieces
        if piece.parent == parent.name
        if piece.derive is not None and piece.derive.how is Derive.LINING
    ]


def _side_by_side(sides: Sides, sewn: Set[Key], twice: Set[frozenset[str]]) -> bool:
    """Return whether a seam sews two pieces that go on beside each other, as front and back do.

    They do at both ends of it, and are sewn at another edge, too, or are panels along the grain.
    """
    one, other = (one_side(side) for side in sides)
    if one is None or other is None or not end_alike(*sides, sewn):
        return False
    return frozenset((one.piece.name, other.piece.name)) in twice or are_panels(one, other)


def _open(piece: Piece, pattern_set: PatternSet) -> list[str]:
    """Return the edges of a piece that are left open: in no seam, no hem, and not faced."""
    sewn, faced = sewn_edges(pattern_set.seams), faced_edges(pattern_set.pieces)
    return [
        edge.name
        for edge in piece.edges
        if (piece.name, edge.name) not in sewn and edge.name != piece.fold
        if (piece.name, edge.name) not in faced and not folded_over(edge) and not called_hem(edge)
    ]
