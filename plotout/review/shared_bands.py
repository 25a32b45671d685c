"""Finds bands of which too few are cut for two seams, or some too many: of a front, and its back.

A band whose ends are sewn to each other goes on in itself there, or in one more like it. If what it
is sewn to goes on from a front to a back at its end, there is one more. By topology. What lies over
another piece, a facing, is sewn to one edge with it; that it is no deeper than that piece, while a
band is, is common practice, from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, product

from plotout.geometry.polyline import extent
from plotout.pattern.chain import Chain
from plotout.pattern.meetings import Sewn
from plotout.pattern.model import PatternSet, Seam
from plotout.pattern.number_cut import Key, Use, sewn_to_themselves, taken_by, uses
from plotout.pattern.sides import chains
from plotout.review.edges_met import Met, edges_met
from plotout.review.taken_twice import counted
from plotout.review.tubes import ends_of

Beside = tuple[Key, Key]
"""At an end of a seam, the edges next to it on a band, and on what that is sewn to."""


def shared_bands(
    seams: Sequence[Seam], sewn: Sequence[Sewn], pattern_set: PatternSet
) -> Iterator[str]:
    """Yield the bands of which two seams take more than are cut, or all seams no whole number of
    layers, if the two follow each other.

    seams: those that can be walked. sewn: the same, as walked.
    """
    sides = {seam.name: chains(seam, pattern_set.piece) for seam in seams}
    joined = edges_met(seams)
    ends = {seam.name: seam for seam in sewn}
    closed, (_, all_taken) = sewn_to_themselves(sides), counted(sides, pattern_set.say)
    for one, other in combinations([name for name in sides if name in ends], 2):
        for index, its in product((0, 1), (0, 1)):
            band, also = sides[one][index], sides[other][its]
            key = _only_edge(band)
            across, beyond = sides[one][1 - index], sides[other][1 - its]
            if key is None or key != _only_edge(also) or not _is_shallow(band, across, beyond):
                continue
            used = [uses(sides[name], closed, pattern_set.say) for name in (one, other)]
            there, taken = _count(key, used)
            layers_end = there % sum(all_taken[key].values()) == 0
            pairs = product(_ends(ends[one], index), _ends(ends[other], its))
            if (taken > there or not layers_end) and any(_goes_on(*pair, joined) for pair in pairs):
                cut = there // _each(key, used[0])
                names = " and then ".join(f"'{side.name}'" for side in (across, beyond))
                yield (
                    f"{key[0]}: its '{key[1]}' goes to {names}, in seams '{one}' and '{other}', "
                    f"but {'only ' if taken > there else ''}{cut} {'is' if cut == 1 else 'are'} "
                    "cut: is its count right?"
                )


def _only_edge(side: Chain) -> Key | None:
    link, *others = side.links
    return None if others else (link.piece.name, link.edge.name)


def _is_shallow(band: Chain, *others: Chain) -> bool:
    """Return whether a piece is less deep, square to its edge, than those that it is sewn to."""
    return all(_depth(band) < _depth(other) for other in others)


def _depth(side: Chain) -> float:
    ends, outline = ends_of(side), side.links[0].piece.outline
    if not (ends[1] - ends[0]).any():
        return 0.0
    return extent(outline, ends[1] - ends[0])[1]


def _count(key: Key, used: Sequence[Sequence[Use]]) -> tuple[int, int]:
    """Return how many of an edge are there, and how many two seams take."""
    own = [(use, found) for found in used for use in found if (use.piece.name, use.edge) == key]
    return max((use.there for use, _ in own), default=0), sum(taken_by(*one) for one in own)


def _each(key: Key, used: Sequence[Use]) -> int:
    return next(use.each for use in used if (use.piece.name, use.edge) == key)


def _ends(seam: Sewn, index: int) -> Iterator[Beside]:
    """Yield what lies next to both ends of a side, but for its fold, and of the other side."""
    for last in (False, True):
        (own, at), (other, its) = (seam.ending(k, last=last) for k in (index, 1 - index))
        if not own.folds(last=at) and not other.folds(last=its):
            yield (own.piece, own.beside(last=at)), (other.piece, other.beside(last=its))


def _goes_on(one: Beside, other: Beside, joined: Met) -> bool:
    """Return whether a band's end is sewn to its own, where one of its neighbours' goes on into the
    other's.
    """
    (band, beside), (also, its) = one, other
    return also in joined.get(band, set()) and its in joined.get(beside, set())
