"""Single pieces that are sewn to the same half of a piece, since only one of them is reversed.

The edge of a half on the fold is there twice on the body: at the left and at the right. Which one
a single piece is sewn to, its seam says: edges that are walked opposite ways round their pieces lie
beside each other as drawn, and else one piece is turned over, as `reversed` turns it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import product

from plotout.errors import quoted
from plotout.pattern.meetings import Member, Sewn
from plotout.pattern.model import PatternSet


def reversed_hands(sewn: Sequence[Sewn], pattern_set: PatternSet) -> Iterator[str]:
    """Yield two single pieces that take one edge of a half twice and leave its other one open.

    Of pieces that are both reversed, or both not, that is told by how their seams are walked.
    """
    taken: dict[tuple[str, str], dict[str, tuple[str, bool]]] = defaultdict(dict)
    for seam in sewn:
        for one, other in (seam.sides, seam.sides[::-1]):
            for half, single in product(one, other):
                if half.half and single.single and _one_way(half) and _one_way(single):
                    alike = half.steps[0][1] == single.steps[0][1]
                    for edge in half.walked:
                        taken[half.piece, edge][seam.name] = single.piece, alike
    asked: set[frozenset[str]] = set()
    for (piece, edge), places in taken.items():
        if len(places) != 2:
            continue
        (first, alike), (second, alike_too) = places.values()
        turned = [_is_reversed(name, pattern_set) for name in (first, second)]
        pair = frozenset((first, second))
        if alike != alike_too and turned[0] != turned[1] and pair not in asked and len(pair) == 2:
            asked.add(pair)
            which = first if turned[0] else second
            yield (
                f"seams {quoted(places)}: as '{which}' is reversed, '{edge}' of one half of "
                f"'{piece}' is sewn to '{first}' and '{second}', and that of the other half to "
                "nothing: is that right?"
            )


def _one_way(member: Member) -> bool:
    return len({back for _, back in member.steps}) == 1


def _is_reversed(name: str, pattern_set: PatternSet) -> bool:
    cuts = pattern_set.piece(name).cuts
    return bool(cuts) and all(cut.reversed for cut in cuts)
