"""Whether as many of each piece are cut as its seams take."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil

from plotout.pattern.cloths import can_take, edge_count
from plotout.pattern.model import Piece
from plotout.pattern.sides import Chain
from plotout.tongue import Tongue

Sides = tuple[Chain, Chain]


@dataclass(frozen=True, slots=True)
class _Use:
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
        return self.there // _halves(self.piece)


def too_few(sides: Sides, say: Tongue) -> list[str]:
    """Return the pieces of which fewer are cut than one seam takes, in words."""
    found = [
        f"it takes {ceil(use.times / _halves(use.piece))} of '{use.piece.name}', "
        f"but only {use.cut} {_are(use.cut)} cut"
        for use in _uses(sides, say)
        if not use.often
    ]
    return list(dict.fromkeys(found))


def left_over(seams: Mapping[str, Sides], say: Tongue) -> dict[str, list[str]]:
    """Return by seam the pieces of which more are cut than it can take, in words.

    A seam can be sewn as often as the piece of which fewest are cut allows. Others may be cut in
    several layers, each sewn by itself (an upper and an under collar), or their rest may be sewn in
    another seam (a pair of hood sides to both edges of one strip).
    """
    uses = {name: _uses(sides, say) for name, sides in seams.items()}
    fewest = {name: min(each, key=lambda use: use.often) for name, each in uses.items() if each}
    parts: dict[tuple[str, str], int] = defaultdict(int)  # taken by seams that don't take layers
    odd = []
    for name, least in fewest.items():
        for use in uses[name]:
            taken = use.times * least.often
            if taken and not can_take(use.piece, taken, say):
                parts[use.piece.name, use.edge] += taken
                odd.append((name, use, least))
    told: dict[str, list[str]] = defaultdict(list)
    for name, use, least in odd:
        words = (
            f"the {use.cut} cut of '{use.piece.name}' {_are(use.cut)} enough to sew it "
            f"{_often(use.often)}, but the {least.cut} of '{least.piece.name}' only "
            f"{_often(least.often)}: is 'cut' right, or is a seam missing?"
        )
        rest_is_sewn = can_take(use.piece, parts[use.piece.name, use.edge], say)
        if not rest_is_sewn and words not in told[name]:
            told[name].append(words)
    return told


def _uses(sides: Sides, say: Tongue) -> list[_Use]:
    """Return the edges of a seam, without those of pieces of which nothing is cut to be sewn."""
    found = [
        _Use(link.piece, link.edge.name, side.times, edge_count(link.piece, say))
        for side in sides
        for link in side.links
    ]
    return [use for use in found if use.there]


def _halves(piece: Piece) -> int:
    return 1 if piece.fold is None else 2


def _are(count: int) -> str:
    return "is" if count == 1 else "are"


def _often(times: int) -> str:
    return {1: "once", 2: "twice"}.get(times, f"{times} times")
