"""Seams of two pieces that contradict each other in how the pieces lie beside one another.

Where two pieces are joined they lie as drawn, or one of them turned over: a left front is sewn to a
left back. So all seams of both walk their edges alike round both pieces, or all opposite.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from plotout.errors import quoted
from plotout.geometry.polyline import length
from plotout.pattern.meetings import Member, Sewn
from plotout.pattern.model import PatternSet, Piece

_STRAP = 3.0  # times its width: a piece so long can be twisted between its ends
_END = 1.5  # times its width: a shorter edge of it is one of those


@dataclass(frozen=True, slots=True)
class _Joint:
    """Edges of two pieces in a seam. alike: whether both are walked the same way round."""

    seam: str
    alike: bool
    edges: tuple[frozenset[str], frozenset[str]]


def hands_met(sewn: Sequence[Sewn], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the seams of two pieces of which one runs the other way round them than the others."""
    joints: dict[tuple[str, str], list[_Joint]] = defaultdict(list)
    for seam in sewn:
        for one in _once(seam.sides[0]):
            for other in _once(seam.sides[1]):
                first, second = sorted((one, other), key=lambda member: member.piece)
                if _comparable(first, second, pattern_set):
                    alike = first.steps[0][1] == second.steps[0][1]
                    edges = frozenset(first.walked), frozenset(second.walked)
                    joint = _Joint(seam.name, alike, edges)
                    joints[first.piece, second.piece].append(joint)
    for pieces, found in joints.items():
        as_drawn, over = ([j for j in found if j.alike == alike] for alike in (True, False))
        if as_drawn and over and not _wrapped(found):
            yield _words(pieces, as_drawn, over)


def _once(side: Sequence[Member]) -> list[Member]:
    """Return the members of a side that it walks one way only, without those there twice."""
    names = [member.piece for member in side]
    return [
        member
        for member in side
        if names.count(member.piece) == 1 and len({back for _, back in member.steps}) == 1
    ]


def _comparable(one: Member, other: Member, pattern_set: PatternSet) -> bool:
    """Return whether two members are of different pieces, of which a seam takes each hand once."""
    known = one.piece != other.piece and all(one.half or one.single for one in (one, other))
    return known and not any(ends_strap(one, pattern_set) for one in (one, other))


def ends_strap(member: Member, pattern_set: PatternSet) -> bool:
    """Return whether a member is an end of a long narrow piece, which may be twisted."""
    piece: Piece = pattern_set.piece(member.piece)
    box = shapely.minimum_rotated_rectangle(Polygon(piece.outline))
    sides = np.hypot(*np.diff(shapely.get_coordinates(box), axis=0).T)
    wide, long = min(sides[:2]), max(sides[:2])
    size = sum(length(piece.edge(name).points) for name in member.walked)
    return bool(long > _STRAP * wide and size < _END * wide)


def _wrapped(joints: Sequence[_Joint]) -> bool:
    """Return whether an edge is in two of the seams: the other piece is folded over it, or is a
    whole that is sewn to a half at its left and at its right.
    """
    for index in (0, 1):
        named = [edge for joint in joints for edge in joint.edges[index]]
        if len(set(named)) < len(named):
            return True
    return False


def _words(pieces: tuple[str, str], joints: Sequence[_Joint], others: Sequence[_Joint]) -> str:
    fewer, more = sorted((joints, others), key=len)
    wrong, *rest = dict.fromkeys(joint.seam for joint in fewer)
    against = quoted(dict.fromkeys(joint.seam for joint in more))
    also = f", as in seam {quoted(rest)}," if rest else ""
    which = "its own sides" if len(fewer) < len(more) else "their sides"
    return (
        f"seam '{wrong}': {quoted(pieces)} lie in it{also} as if one of them were turned over, "
        f"compared with seam {against}: is one of {which} walked the wrong way?"
    )
