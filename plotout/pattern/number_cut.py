"""Whether as many of each piece are cut as its seams take."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from math import ceil

from plotout.errors import quoted
from plotout.geometry.end_heading import end_heading
from plotout.geometry.polyline import turned_by
from plotout.pattern.chain import Chain, Link
from plotout.pattern.cloths import can_take, halves, pieces_cut
from plotout.pattern.model import Edge, Piece
from plotout.tongue import Tongue

_ONE_SIDED = re.compile(
    r"(?<!\w)(fly|underlap|zip (guard|shield)"
    r"|hosenschlitz|schlitz(beleg|besatz|blende|kante|untertritt|übertritt)?|untertritt|übertritt"
    r"|reissverschluss(blende|untertritt)"
    r"|braguette|sous-(pont|patte)|bragueta|braguilha"
    r"|patta|(voor)?gulp\w*|gylf\w*|gylp\w*|halkio\w*|rozpor\w*|rozpar\w*|poklop\w*|slicc|前立て)(?!\w)"
)
"""Words for what is only on the left or only on the right: common practice, from memory."""
_PLACKET = re.compile(r"(?<!\w)(placket|patte de boutonnage|tapeta|vista de cierre)(?!\w)")
"""Words for what may be on one side of a pair of fronts, but goes round other openings."""
_SLEEVE = re.compile(
    r"(?<!\w)(\w*sleeve|\w*ärmel|manche|manga|manica|mouw|ärm|ærme|hiha|rękaw|rukáv|ujja|袖)"
)
"""Words for a sleeve, whose placket is on the left and on the right."""
_GOES_ON = 30.0  # degrees: an edge that turns less into the next goes on in it

Sides = tuple[Chain, Chain]
Key = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Use:
    """An edge in a seam. times: how many of it the seam takes; each: how many of it a piece has
    for it; there: how many are cut.
    """

    piece: Piece
    edge: str
    times: int
    each: int
    there: int

    @property
    def often(self) -> int:
        """How many times the seam can be sewn with what is cut."""
        return self.there // self.times

    @property
    def cut(self) -> int:
        """How many pieces are cut."""
        return self.there // self.each


def too_few(sides: Sides, closed: Set[Key], say: Tongue) -> list[str]:
    """Return the pieces of which fewer are cut than one seam takes, in words.

    closed: see `sewn_to_themselves`.
    """
    found = [
        f"it takes {ceil(use.times / use.each)} of '{use.piece.name}', "
        f"but only {use.cut} {are(use.cut)} cut"
        for use in uses(sides, closed, say)
        if not use.often
    ]
    return list(dict.fromkeys(found))


def left_over(seams: Mapping[str, Sides], say: Tongue) -> dict[str, list[str]]:
    """Return by seam the pieces of which more are cut than it can take, in words.

    A seam can be sewn as often as the piece of which fewest are cut allows. Others may be cut in
    several layers, each sewn by itself (an upper and an under collar), or their rest may be sewn in
    another seam (a pair of hood sides to both edges of one strip). Where another seam takes all of
    an edge, as many are cut as are meant (a visor is sewn to two panels of six, a band to all). A
    fly is on one front of two: along a slit, past the seam of left and right, or so called.
    """
    closed = sewn_to_themselves(seams)
    used = {name: uses(sides, closed, say) for name, sides in seams.items()}
    fewest = {name: min(found, key=lambda use: use.often) for name, found in used.items() if found}
    parts: dict[Key, int] = defaultdict(int)  # taken by seams that don't take layers
    odd: dict[str, list[Use]] = defaultdict(list)
    whole = {
        (use.piece.name, use.edge)
        for each in used.values()
        for use in each
        if taken_by(use, each) == use.there
    }
    for name in [
        name for name, least in fewest.items() if not _one_sided(least, used[name], closed)
    ]:
        for use in used[name]:
            taken = taken_by(use, used[name])
            counted = (use.piece.name, use.edge) in whole
            if taken and not counted and not can_take(use.piece, taken, use.each, say):
                parts[use.piece.name, use.edge] += taken
                odd[name].append(use)
    words: dict[str, list[str]] = defaultdict(list)
    for name, least in fewest.items():
        over = [
            use
            for use in odd[name]
            if not can_take(use.piece, parts[use.piece.name, use.edge], use.each, say)
        ]
        for cut, often in dict.fromkeys((use.cut, use.often) for use in over):
            same = [use for use in over if (use.cut, use.often) == (cut, often)]
            pieces = dict.fromkeys(use.piece.name for use in same)
            of_each = "each of " if len(pieces) > 1 else ""
            rest = (
                f", but the {least.cut} of '{least.piece.name}'{_folded(least)} only "
                f"{_often(least.often)}"
            )
            if often == least.often:
                left = same[0].cut - taken_by(same[0], used[name]) // same[0].each
                rest = f", and {left} {are(left)} left over"
            words[name].append(
                f"the {cut} cut of {of_each}{quoted(pieces)} {are(cut)} enough to sew it "
                f"{_often(often)}{rest}: is 'cut' right, or is the rest sewn elsewhere?"
            )
    return words


def _one_sided(use: Use, beside: Sequence[Use], closed: Set[Key]) -> bool:
    """Return whether a piece is cut once, and for one side of the garment: of a slit, or by its
    name, or that of the edge that is sewn.

    beside: all that the seam sews. closed: see `sewn_to_themselves`.
    """
    others = [one for one in beside if one is not use]
    if use.cut == 1 == use.each and any(_in_a_slit(one, closed) for one in others):
        return True
    names = f"{use.piece.name} {use.edge}".casefold()
    paired = all(one.piece.paired for one in others)
    if use.cut > 1 or not (_ONE_SIDED.search(names) or (paired and _PLACKET.search(names))):
        return False
    return not any(_SLEEVE.search(f"{one.piece.name} {one.edge}".casefold()) for one in others)


def _in_a_slit(use: Use, closed: Set[Key]) -> bool:
    """Return whether an edge of a pair goes on into one whose left is sewn to its right, as that of
    a fly does into the crotch.
    """
    edges = use.piece.edges
    at = [edge.name for edge in edges].index(use.edge)
    before, own, after = edges[at - 1], edges[at], edges[(at + 1) % len(edges)]
    return use.piece.paired and any(
        (use.piece.name, other.name) in closed and _turn(first, second) < _GOES_ON
        for other, first, second in ((before, before, own), (after, own, after))
    )


def _turn(first: Edge, second: Edge) -> float:
    """Return by how many degrees the outline turns from an edge to the next."""
    return turned_by(
        end_heading(first.points, last=True).direction,
        end_heading(second.points, last=False).direction,
    )


def taken_by(use: Use, beside: Iterable[Use]) -> int:
    """Return how many of an edge a seam takes, sewn as often as the fewest of its pieces allow."""
    return use.times * min(one.often for one in beside)


def uses(sides: Sides, closed: Set[Key], say: Tongue) -> list[Use]:
    """Return the edges of a seam, without those of pieces of which nothing is cut to be sewn.

    An edge that is on both sides is there once, and taken by both. closed: see
    `sewn_to_themselves`.
    """
    found: dict[Key, Use] = {}
    for side, other in (sides, sides[::-1]):
        for link in side.links:
            key = link.piece.name, link.edge.name
            taken = side.times + (found[key].times if key in found else 0)
            each = 1 if _folded_lengthwise(side, other, closed) else halves(link.piece)
            there = each * pieces_cut(link.piece, say)
            found[key] = Use(link.piece, link.edge.name, taken, each, there)
    return [use for use in found.values() if use.there]


def sewn_to_themselves(seams: Mapping[str, Sides]) -> frozenset[Key]:
    """Return the pieces and edges of which the left one is sewn to the right one: centre seams."""
    return frozenset(
        (link.piece.name, link.edge.name)
        for first, second in seams.values()
        if [(a.piece.name, a.edge.name) for a in first.links]
        == [(b.piece.name, b.edge.name) for b in second.links]
        for link in first.links
    )


def _folded_lengthwise(side: Chain, other: Chain, closed: Set[Key]) -> bool:
    """Return whether a side is an edge of a piece whose fold runs along it, as a waistband's does.

    The halves of a piece on the fold lie to the left and the right of it. Where the left and the
    right of the other side meet at its end, at a centre seam or a fold that the seam goes over,
    those of this side would: if it doesn't end at its fold, the fold lies along the seam, and both
    halves over each other.
    """
    if side.folds or side.links[0].piece.fold is None or len(side.links) > 1:
        return False
    return bool(other.folds and other.times > 1) or any(
        (end.piece.name, _beside(end, last=last)) in closed
        for end, last in ((other.links[0], False), (other.links[-1], True))
    )


def _beside(link: Link, *, last: bool) -> str:
    """Return the edge of its piece next to where a link begins or ends as walked."""
    names = [edge.name for edge in link.piece.edges]
    step = 1 if last != link.turned else -1
    return names[(names.index(link.edge.name) + step) % len(names)]


def _folded(use: Use) -> str:
    return ", folded along it," if use.each < halves(use.piece) else ""


def are(count: int) -> str:
    """Return the verb for so many."""
    return "is" if count == 1 else "are"


def _often(times: int) -> str:
    return {1: "once", 2: "twice"}.get(times, f"{times} times")
