"""Other explanations of a run's pricks than the one taken: what its fit is by each of them."""

from __future__ import annotations

from collections.abc import Collection
from typing import NamedTuple

from plotout.kit import FEWEST_PRICKS, Explanation, Strays
from plotout_pricks.end_pricks import stand_ins
from plotout_pricks.tidy import Tidy

LEAST_CHANCE = 0.003  # of another explanation: of strays that don't show, 92 of 100 have more
FEWEST = {"straight": 2, "curve": FEWEST_PRICKS - 1, "closed": FEWEST_PRICKS}  # that may be left
LEAST_AT_END = 0.001  # the same of a curve's outermost prick, without which it is led on from afar
HARDLY = 2e-5  # the same of that prick alone: no other shows where the curve meets its neighbour
MOST = 8  # explanations, the likeliest, for the sake of time
IN_ITS_STEAD = 0.3  # chance that the outermost prick strayed, not the one beside it (judgement)


class Rival(NamedTuple):
    """Pricks that strayed by another explanation, by index; its chance, and what is so in words."""

    strayed: tuple[int, ...]
    chance: float
    why: str


def taken_otherwise(item: Tidy, judged: Strays) -> list[Rival]:
    """Return the explanations of a run's pricks that weren't taken, the likeliest first."""
    fewest = FEWEST[item.run.kind]
    return [
        Rival(one.strayed, one.chance, _why(item, one.strayed, judged.left_out))
        for one in _others(item, judged)[:MOST]
        if one.chance >= _least(item, one.strayed, judged.left_out)
        and len(item.numbers) - len(one.strayed) >= fewest
    ]


def _least(item: Tidy, strayed: Collection[int], left_out: Collection[int]) -> float:
    ends = {0, len(item.numbers) - 1}
    if item.run.kind != "curve" or not ends & {*strayed}:
        return LEAST_CHANCE
    more = {*strayed} - {*left_out}
    return HARDLY if more <= ends and len(more) == 1 else LEAST_AT_END


def _others(item: Tidy, judged: Strays) -> list[Explanation]:
    """Return all that may be otherwise, the likeliest first.

    An outermost prick may always have strayed in the stead of the one beside it. Of the fewest
    pricks that make a curve either outermost one may have: a bend through all explains anything.
    """
    chances = {frozenset(one.strayed): one.chance for one in judged.explanations}
    for beside, outermost in stand_ins(item, judged).items():
        instead = frozenset({*judged.left_out, outermost} - {beside})
        chances[instead] = max(chances.get(instead, 0.0), IN_ITS_STEAD)
    if item.run.kind == "curve" and len(item.numbers) <= FEWEST_PRICKS:
        for outermost in {0, len(item.numbers) - 1} - {*item.sure}:
            chances.setdefault(frozenset({*judged.left_out, outermost}), LEAST_AT_END)
    chances.pop(frozenset(judged.left_out), None)
    others = [Explanation(tuple(sorted(some)), chance) for some, chance in chances.items()]
    return sorted(others, key=lambda one: (-one.chance, one.strayed))


def _why(item: Tidy, strayed: Collection[int], left_out: Collection[int]) -> str:
    """Return in words what must be so if these pricks strayed, and not those left out."""
    found = []
    for some, what in (
        ({*strayed} - {*left_out}, "strayed"),
        ({*left_out} - {*strayed}, "did not stray"),
    ):
        if some:
            numbers = " and ".join(str(item.numbers[n]) for n in sorted(some))
            pricks = "prick" if len(some) == 1 else "pricks"
            found.append(f"{pricks} {numbers} of '{item.run.name}' {what}")
    return " and ".join(found)
