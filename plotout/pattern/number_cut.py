"""Whether as many of each piece are cut as its seams take."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import ceil

from plotout.pattern.cloths import can_take, edge_count, halves
from plotout.pattern.model import Piece
from plotout.pattern.sides import Chain
from plotout.tongue import Tongue

Sides = tuple[Chain, Chain]


@dataclass(frozen=True, slots=True)
class Use:
    """An edge in a seam. times: how many of it the seam takes; there: how many are cut."""

    piece: Piece
    edge: str
    times: int
    there: int

    @property
    def often(self) -> int:
        """How many times the seam can be sewn with what is cut."""
        return self.there // self.times

    @property
    def cut(self) -> int:
        """How many pieces are cut; one on the fold has each edge twice."""
        return self.there // halves(self.piece)


def too_few(sides: Sides, say: Tongue) -> list[str]:
    """Return the pieces of which fewer are cut than one seam takes, in words."""
    found = [
        f"it takes {ceil(use.times / halves(use.piece))} of '{use.piece.name}', "
        f"but only {use.cut} {_are(use.cut)} cut"
        for use in uses(sides, say)
        if not use.often
    ]
    return list(dict.fromkeys(found))


def left_over(seams: Mapping[str, Sides], say: Tongue) -> dict[str, list[str]]:
    """Return by seam the pieces of which more are cut than it can take, in words.

    A seam can be sewn as often as the piece of which fewest are cut allows. Others may be cut in
    several layers, each sewn by itself (an upper and an under collar), or their rest may be sewn in
    another seam (a pair of hood sides to both edges of one strip).
    """
    used = {name: uses(sides, say) for name, sides in seams.items()}
    fewest = {name: min(found, key=lambda use: use.often) for name, found in used.items() if found}
    parts: dict[tuple[str, str], int] = defaultdict(int)  # taken by seams that don't take layers
    odd: dict[str, list[Use]] = defaultdict(list)
    for name in fewest:
        for use in used[name]:
            taken = taken_by(use, used[name])
            if taken and not can_take(use.piece, taken, say):
                parts[use.piece.name, use.edge] += taken
                odd[name].append(use)
    words: dict[str, list[str]] = defaultdict(list)
    for name, least in fewest.items():
        over = [
            use
            for use in odd[name]
            if not can_take(use.piece, parts[use.piece.name, use.edge], say)
        ]
        for cut, often in dict.fromkeys((use.cut, use.often) for use in over):
            same = dict.fromkeys(u.piece.name for u in over if (u.cut, u.often) == (cut, often))
            of_each = "each of " if len(same) > 1 else ""
            words[name].append(
                f"the {cut} cut of {of_each}{_listed(same)} {_are(cut)} enough to "
                f"sew it {_often(often)}, but the {least.cut} of '{least.piece.name}' only "
                f"{_often(least.often)}: is 'cut' right, or is the rest sewn elsewhere?"
            )
    return words


def taken_by(use: Use, beside: Iterable[Use]) -> int:
    """Return how many of an edge a seam takes, sewn as often as the fewest of its pieces allow."""
    return use.times * min(one.often for one in beside)


def uses(sides: Sides, say: Tongue) -> list[Use]:
    """Return the edges of a seam, without those of pieces of which nothing is cut to be sewn.

    An edge that is on both sides is there once, and taken by both.
    """
    found: dict[tuple[str, str], Use] = {}
    for side in sides:
        for link in side.links:
            key = link.piece.name, link.edge.name
            taken = side.times + (found[key].times if key in found else 0)
            found[key] = Use(link.piece, link.edge.name, taken, edge_count(link.piece, say))
    return [use for use in found.values() if use.there]


def _listed(names: Iterable[str]) -> str:
    return " and ".join(f"'{name}'" for name in names)


def _are(count: int) -> str:
    return "is" if count == 1 else "are"


def _often(times: int) -> str:
    return {1: "once", 2: "twice"}.get(times, f"{times} times")
