"""In how many layers pieces are cut, by the seams that take them."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping

from plotout.pattern.by_cloth import by_cloth
from plotout.pattern.cloths import cut_by_cloth, most_of_a_cloth
from plotout.pattern.model import Derive, PatternSet, Piece
from plotout.pattern.number_cut import Sides, sewn_to_themselves, taken_by, uses
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
    say = pattern_set.say
    own, cloths = most_of_a_cloth(piece, say), cut_by_cloth(beside, say)
    more = [
        cut_by_cloth(other, say)
        for other in pattern_set.pieces
        if other.parent == piece.name
        and other.derive is not None
        and other.derive.how in (Derive.LINING, Derive.COPY)
    ]
    lining = sum(many for counts in more for cloth, many in counts.items() if cloth in cloths)
    return 1 + lining // own if own else 1
