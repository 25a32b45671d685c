"""Finds pieces that lie on each other in twos, as the layers of a brim do, and too few of them.

Common practice, from memory: both layers go into the seam by which they are set on.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from plotout.geometry.polyline import length
from plotout.pattern.cloths import halves, most_of_a_cloth
from plotout.pattern.model import PatternSet, Seam
from plotout.pattern.number_cut import Sides, Use, sewn_to_themselves, uses
from plotout.tongue import Tongue

_LONGEST = 0.95  # times as long as the longest edge of its piece one may be (estimated)


def sewn_onto_their_twins(seams: Sequence[Seam], pattern_set: PatternSet) -> set[str]:
    """Return the pieces that lie on each other in twos, as a peak's two layers do: one of their
    longest edges is sewn to itself. Halves that follow each other are joined at a shorter one.
    """
    sewn = {step[:2] for seam in seams if seam.of_one_edge for step in seam.first.edges}
    sizes = {(piece.name, edge.name): length(edge.points)
             for piece in pattern_set.pieces for edge in piece.edges}  # fmt: skip
    longest: dict[str, float] = {}
    for (name, _), size in sizes.items():
        longest[name] = max(size, longest.get(name, 0.0))
    return {key[0] for key in sewn if sizes.get(key, 0.0) > _LONGEST * longest[key[0]]}


def single_layers(
    seams: Sequence[Seam], sides: Mapping[str, Sides], pattern_set: PatternSet
) -> Iterator[str]:
    """Yield the rings of which two lie on each other, though a seam takes as many pieces as are cut
    one by one: two halves of a brim, where four are needed. Each once. The two halves of a tent's
    roof are no rings.

    sides: of all seams that can be walked, by their names.
    """
    doubled, closed = sewn_onto_their_twins(seams, pattern_set), sewn_to_themselves(sides)
    doubled &= _rings(seams)
    for name, pair in sides.items():
        together = uses(pair, closed, pattern_set.say)
        for use in together:
            piece = use.piece
            others = [one for one in together if one.piece.name != piece.name]
            twice = any(one.piece.name in doubled for one in others)
            if piece.name not in doubled or piece.turned_over or twice or not others:
                continue
            if halves(piece) > 1 or use.times > 1:
                continue
            many = _often(use, pattern_set.say)
            if many == min(_often(one, pattern_set.say) for one in others):
                doubled.discard(piece.name)
                yield (
                    f"{piece.name}: a seam sews two of it to each other, one on the other, but "
                    f"seam '{name}' takes all {many} that are cut of it one by one: is its count "
                    "right?"
                )


def _rings(seams: Sequence[Seam]) -> set[str]:
    """Return the pieces of which one edge is sewn to another one."""
    alone = ({step[0] for step in (*s.first.edges, *s.second.edges)} for s in seams
             if not s.of_one_edge)  # fmt: skip
    return {name for names in alone if len(names) == 1 for name in names}


def _often(use: Use, say: Tongue) -> int:
    """Return how often a seam can be sewn with what is cut of a piece's main cloth."""
    return most_of_a_cloth(use.piece, say) * use.each // use.times
