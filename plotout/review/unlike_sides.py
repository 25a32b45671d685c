"""Finds two unlike pieces, one for each side of the body, that are cut for the same side.

Of pieces that lie beside each other with the same side of the cloth up, a seam walks one clockwise
and the other counter-clockwise, and a seam along a row of them walks all alike (topology). What
lies on another, as a facing does, is sewn to it otherwise: so two seams have to say the same.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from plotout.errors import quoted
from plotout.finish.handed import ASKED, may_have_no_hand
from plotout.finish.prepare import upright
from plotout.pattern.cloths import share_a_cloth
from plotout.pattern.meetings import Member, Sewn
from plotout.pattern.model import PatternSet, Piece
from plotout.review.hands_met import ends_strap

_OF_WHOLE = 2  # seams to each side of a whole, of which two edges may be meant to be unlike


@dataclass(frozen=True, slots=True)
class _Joint:
    """A seam of a piece to another one. own: the piece's edges in it. alike: whether both are
    walked the same way round.
    """

    seam: str
    to: Member
    own: frozenset[str]
    alike: bool

    @property
    def edges(self) -> frozenset[str]:
        """The other one's edges."""
        return frozenset(self.to.walked)


@dataclass(frozen=True, slots=True)
class _Said:
    """What seams say of two pieces: whether both are to be cut alike. whole: the piece to whose two
    sides they sew them, "" if one seam goes along both.
    """

    seams: tuple[str, ...]
    alike: bool
    whole: str = ""


def unlike_sides(sewn: Sequence[Sewn], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the pairs of pieces that are cut for one side of what both are sewn to, each once."""
    once = [piece for piece in pattern_set.pieces if _has_one_hand(piece)]
    joints = {piece.name: list(_joints(piece.name, sewn, pattern_set)) for piece in once}
    taken = Counter(
        (member.piece, edge)
        for seam in sewn
        for side in seam.sides
        for member in side
        for edge in member.walked
    )
    for one, other in combinations(once, 2):
        if not share_a_cloth(one, other, pattern_set.say):
            continue
        names, cut_alike = (one.name, other.name), one.cuts[0].reversed == other.cuts[0].reversed
        across = _across(joints[one.name], joints[other.name], taken)
        along = _along(names, sewn)
        if across is not None and across.alike != cut_alike:
            yield _words(names, across)
        elif along is not None and along.alike != cut_alike:
            yield _words(names, along)


def _has_one_hand(piece: Piece) -> bool:
    """Return whether a piece has a hand, and one is cut of it of each cloth, all the same way."""
    if piece.fold or any(cut.pair or cut.on_fold or cut.count > 1 for cut in piece.cuts):
        return False
    if len({cut.reversed for cut in piece.cuts}) != 1:
        return False
    return not may_have_no_hand(upright(replace(piece, notches=(), drills=(), lines=())), ASKED)


def _joints(piece: str, sewn: Sequence[Sewn], pattern_set: PatternSet) -> Iterator[_Joint]:
    """Yield the seams of a piece and another one alone."""
    for seam in sewn:
        for own, to in (seam.sides, seam.sides[::-1]):
            alone = len(own) == len(to) == 1 and own[0].piece == piece != to[0].piece
            if alone and not ends_strap(own[0], pattern_set):
                alike = _back(own[0]) == _back(to[0])
                yield _Joint(seam.name, to[0], frozenset(own[0].walked), alike)


def _back(member: Member) -> bool:
    return member.steps[0][1]


def _across(
    ones: Sequence[_Joint], others: Sequence[_Joint], taken: Mapping[tuple[str, str], int]
) -> _Said | None:
    """Return what the seams of two pieces to a third one say of them; None if they don't.

    Sewn to the same edges of halves, they are for the left and the right. Sewn to other edges of a
    whole by edges that are called alike, they are for its two sides.
    """
    for whole in dict.fromkeys(joint.to.piece for joint in ones):
        first, second = ([j for j in found if j.to.piece == whole] for found in (ones, others))
        pairs = [
            (one, other)
            for one in first
            for other in second
            if one.own == other.own and one.to.half == other.to.half
            if one.to.single or (one.edges == other.edges and _all_taken(one, taken))
            if not (one.to.single and one.edges & other.edges)
        ]
        alike = {one.alike == other.alike for one, other in pairs}
        enough = pairs and (pairs[0][0].to.half or len(pairs) >= _OF_WHOLE)
        if enough and len(alike) == 1 and _sole(pairs):
            seams = tuple(joint.seam for joint in pairs[0])
            return _Said(seams, alike.pop() == pairs[0][0].to.single, whole)
    return None


def _all_taken(joint: _Joint, taken: Mapping[tuple[str, str], int]) -> bool:
    """Return whether both halves of an edge, and no more, are in seams."""
    return all(taken[joint.to.piece, edge] == 2 for edge in joint.edges)


def _sole(pairs: Sequence[tuple[_Joint, _Joint]]) -> bool:
    """Return whether every seam is in one pair alone, all of a piece walked with it alike."""
    return all(
        len({joint.seam for joint in side}) == len(side) and len({j.alike for j in side}) == 1
        for side in zip(*pairs, strict=True)
    )


def _along(names: tuple[str, str], sewn: Sequence[Sewn]) -> _Said | None:
    """Return what the seam along a row of pieces says of two of them; None if there is none."""
    for seam in sewn:
        for side in seam.sides:
            found = {m.piece: _back(m) for m in side if m.piece in names}
            if len(found) == 2 and sum(m.piece in names for m in side) == 2:
                return _Said((seam.name,), len({*found.values()}) == 1)
    return None


def _words(names: Sequence[str], said: _Said) -> str:
    lie = f"lies wrong side out beside '{names[1]}' in seam {quoted(said.seams)}"
    if said.whole:
        lie = f"is for the same side of '{said.whole}' as '{names[1]}', but seams "
        lie += f"{quoted(said.seams)} sew them to its two sides"
    return (
        f"{names[0]}: as it is drawn and cut it {lie}: is reversed = true missing, or wrong, in "
        "one of them?"
    )
