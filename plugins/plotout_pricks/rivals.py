"""Other explanations of a run's pricks than the one taken: what its fit is by each of them."""

from __future__ import annotations

from plotout.kit import FEWEST_PRICKS, Explanation, Strays
from plotout_pricks.end_pricks import stand_ins
from plotout_pricks.tidy import Tidy

LEAST_CHANCE = 0.01  # of another explanation: fewer hardly show in two sigma of a length
MOST = 5  # explanations, the likeliest, for the sake of time
IN_ITS_STEAD = 0.3  # chance that the outermost prick strayed, not the one beside it (judgement)


def taken_otherwise(item: Tidy, judged: Strays) -> list[Explanation]:
    """Return the explanations of a run's pricks that weren't taken, the likeliest first."""
    fewest = 2 if item.run.kind == "straight" else FEWEST_PRICKS
    return [
        one
        for one in _others(item, judged)[:MOST]
        if one.chance >= LEAST_CHANCE and len(item.numbers) - len(one.strayed) >= fewest
    ]


def _others(item: Tidy, judged: Strays) -> list[Explanation]:
    """Return all that may be otherwise, the likeliest first.

    An outermost prick may always have strayed in the stead of the one beside it.
    """
    chances = {frozenset(one.strayed): one.chance for one in judged.explanations}
    for beside, outermost in stand_ins(item, judged).items():
        instead = frozenset({*judged.left_out, outermost} - {beside})
        chances[instead] = max(chances.get(instead, 0.0), IN_ITS_STEAD)
    chances.pop(frozenset(judged.left_out), None)
    others = [Explanation(tuple(sorted(some)), chance) for some, chance in chances.items()]
    return sorted(others, key=lambda one: (-one.chance, one.strayed))
