"""In how many layers pieces are cut, by the seams that take them."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Container, Mapping

from plotout.pattern.by_cloth import by_cloth
from plotout.pattern.cloths import cut_by_cloth, is_lining, most_of_a_cloth, sewn_cuts
from plotout.pattern.model import Derive, PatternSet, Piece
from plotout.pattern.number_cut import Sides, Use, sewn_to_themselves, taken_by, uses
from plotout.tongue import Tongue

Layers = Mapping[str, Mapping[str, int]]
"""By piece and seam: how often what is cut of one cloth would go into the seam as it is sewn."""


def layers_of(sides: Mapping[str, Sides], say: Tongue) -> Layers:
    """Return in how many layers each piece is cut, by the seams that it is in.

    Of a shell and its lining from the same cards, the one of which more are cut counts.
    sides: of all seams that can be walked, by their names.
    """
    found = _counted(sides, say)
    for alone in by_cloth(sides, say).values():
        for piece, own in _counted(alone, say).items():
            for name, times in own.items():
                found[piece][name] = max(times, found[piece].get(name, times))
    return found


def _counted(sides: Mapping[str, Sides], say: Tongue) -> dict[str, dict[str, int]]:
    closed = sewn_to_themselves(sides)
    taken: Counter[tuple[str, str]] = Counter()
    there: dict[tuple[str, str], int] = {}
    within: dict[tuple[str, str], list[str]] = defaultdict(list)
    for name, pair in sides.items():
        together = uses(pair, closed, say)
        for use in together:
            key = use.piece.name, use.edge
            taken[key] += taken_by(use, together)
            there[key] = use.each * most_of_a_cloth(use.piece, say)
            within[key].append(name)
    found: dict[str, dict[str, int]] = defaultdict(dict)
    for (piece, edge), number in taken.items():
        for name in within[piece, edge] if number else ():
            times = max(there[piece, edge] // number, 1)
            found[piece][name] = min(times, found[piece].get(name, times))
    return found


def with_linings(piece: Piece, beside: Piece, pattern_set: PatternSet) -> int:
    """Return in how many layers a piece is there with the linings and copies that are made from it
    and cut of the same cloth as the piece beside it.
    """
    own, cloths = most_of_a_cloth(piece, pattern_set.say), cut_by_cloth(beside, pattern_set.say)
    lining = _of_linings(piece, cloths, pattern_set)
    return 1 + lining // own if own else 1


def more_with_lining(one: Use, other: Use, pattern_set: PatternSet) -> bool:
    """Return whether a piece has more layers, with its lining, than one beside it that is cut of
    that lining alone, for inside and outside, as the back of a waistcoat is.
    """
    own, its = cut_by_cloth(one.piece, pattern_set.say), cut_by_cloth(other.piece, pattern_set.say)
    shell = max((many for cloth, many in own.items() if cloth not in its), default=0)
    lining = sum(own.get(cloth, 0) for cloth in its) + _of_linings(one.piece, its, pattern_set)
    scale, beside = one.each / one.times, sum(its.values()) * other.each / other.times
    more = shell + lining if all(map(is_lining, its)) else shell + 1  # self may be padded inside
    is_double = _layers_cut(other, pattern_set.say) > 1
    return is_double and min(shell, lining) > 0 and more * scale > beside


def _layers_cut(use: Use, say: Tongue) -> int:
    """Return in how many layers a panel is cut, if its left and its right are one."""
    of_both = use.each > 1 or use.piece.paired
    return sum(cut.count for cut in sewn_cuts(use.piece, say)) // (1 if of_both else 2)


def made_from(parent: Piece, pattern_set: PatternSet) -> list[Piece]:
    """Return the linings and the copies of a piece."""
    return [
        piece
        for piece in pattern_set.pieces
        if piece.parent == parent.name
        if piece.derive is not None and piece.derive.how in (Derive.LINING, Derive.COPY)
    ]


def _of_linings(piece: Piece, cloths: Container[str], pattern_set: PatternSet) -> int:
    """Return how many linings and copies of a piece are cut of some cloths."""
    return sum(
        many
        for other in made_from(piece, pattern_set)
        for cloth, many in cut_by_cloth(other, pattern_set.say).items()
        if cloth in cloths
    )
