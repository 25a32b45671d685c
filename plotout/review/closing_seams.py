"""Finds sleeves set in with their seam at the shoulder: asked about, since it fits as well.

The two edges of a cap meet at its top, and at the sleeve's seam, which the walk may go over, too.
Only how the grain lies shows which it should be: that the seam of a sleeve, along its grain, goes
on into that of the side, along the body's, and not into the shoulder is common practice.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from plotout.geometry.polyline import length
from plotout.pattern.chain import Chain, Link
from plotout.pattern.model import PatternSet, Piece, Seam
from plotout.pattern.parted import as_they_lie, way_words
from plotout.pattern.sides import chains
from plotout.pattern.true_measure import slant

_ALONG, _ACROSS = 30.0, 60.0  # degrees between a seam and the grain
_DEEP = 0.15  # of the way round: a band that is narrower is closed wherever one likes
_NEAR = 0.15  # of a side, by which joints that meet may lie apart, with the ease

Key = tuple[str, str]


def closing_seams(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the seams round a piece whose closing seam, along its grain, meets one across the
    grain, though another one of the other side runs along it.

    seams: those that can be walked.
    """
    for seam in seams:
        sides = chains(seam, pattern_set.piece)
        for own, other in (sides, sides[::-1]):
            if own.folds or other.folds or own.laps != 1 or other.laps != 1:
                continue
            closing = [joint for joint in _joints(own.links, seams) if joint.along]
            if len({link.piece.name for link in own.links}) > 1 or len(closing) != 1:
                continue
            if closing[0].size < _DEEP * sum(link.size for link in own.links):
                continue
            others = _joints(other.links, seams)
            near = [joint for joint in others if abs(joint.place - closing[0].place) < _NEAR]
            along = [joint.seam for joint in others if joint.along]
            if along and near and all(joint.across for joint in near):
                yield (
                    f"seam '{seam.name}': the seam that closes '{own.name}', "
                    f"'{closing[0].seam}', meets '{near[0].seam}', and not '{along[0]}', which "
                    f"runs along the grain as it does: {_how(own, along[0])}"
                )


def _how(own: Chain, along: str) -> str:
    if ways := as_they_lie(own.links, set()):
        first, second = way_words(ways)
        return f"walk edges = [{first}], or the other way, [{second}], or is its drawing mirrored?"
    return f"name the pieces of the other side so that it begins at '{along}'"


@dataclass(frozen=True, slots=True)
class _Joint:
    """Where a side of a seam goes over another seam, of that name. place: its share of the side.

    size: how long that is, mm. along, across: whether it runs along the grain on both sides of it,
    or across it.
    """

    seam: str
    place: float
    size: float
    along: bool
    across: bool


def _joints(links: Sequence[Link], seams: Sequence[Seam]) -> list[_Joint]:
    """Return the joints within a side, and that of its ends, if these are sewn to each other."""
    total, reached, found = sum(link.size for link in links), 0.0, []
    for before, after in pairwise((links[-1], *links)):
        if not _adjacent(before, after):
            keys = _past(before, last=True), _past(after, last=False)
            off = [_off_grain(link.piece, edge)
                   for link, (_, edge) in zip((before, after), keys, strict=True)]  # fmt: skip
            name = _sewing(*keys, seams)
            along, across = max(off) <= _ALONG, min(off) >= _ACROSS
            size = length(before.piece.edge(keys[0][1]).points)
            found += [_Joint(name, reached / total, size, along, across)] if name else []
        reached += after.size
    return found


def _adjacent(before: Link, after: Link) -> bool:
    of_one = before.piece.name == after.piece.name
    return of_one and bool((before.end(last=True) == after.end(last=False)).all())


def _past(link: Link, *, last: bool) -> Key:
    """Return the edge of a link's piece past its end, or before its start, as walked."""
    names = [edge.name for edge in link.piece.edges]
    step = 1 if last != link.turned else -1
    return link.piece.name, names[(names.index(link.edge.name) + step) % len(names)]


def _off_grain(piece: Piece, edge: str) -> float:
    """Return by how many degrees an edge lies off its piece's grain; 45 on the bias."""
    if piece.grain is None or piece.bias:
        return 45.0
    return abs(slant(piece.grain, piece.edge(edge).points))


def _sewing(one: Key, other: Key, seams: Sequence[Seam]) -> str:
    """Return the seam that sews an edge to another, "" if none does."""
    for seam in seams:
        first, second = ({(p, e) for p, e, _ in s.edges} for s in (seam.first, seam.second))
        if (one in first and other in second) or (one in second and other in first):
            return seam.name
    return ""
