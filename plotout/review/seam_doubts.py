"""Finds what a set says of its seams that may not have been meant: noted, never corrected.

What is reported, and its figures, are common practice in pattern rooms, from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence, Set
from dataclasses import dataclass, replace
from functools import partial
from itertools import permutations

from plotout.pattern.chain import Chain
from plotout.pattern.model import PatternSet, Seam
from plotout.pattern.sides import chains, sewn_edges
from plotout.review.hems_met import Beside, beside, faced_edges, folded_over
from plotout.review.layered import may_be_layers

GRADED = 3.0  # mm: by as much the layers of a seam are made narrower, to lie flat
_ALIKE = 0.9  # mm: no two units of one width are as far apart, 5/8 in and 15 mm
LOOSE = 10.0  # mm by which no seam may be both too short and too long
_WIDE, _TIMES = 50.0, 3.0  # mm between the least and the most ease, and their ratio: more is asked
_TOGETHER = 5.0  # mm: edges sewn together for less only meet at a notch or a corner


def seam_doubts(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the seams whose two sides have different allowances where they are sewn together."""
    for seam in seams:
        both = chains(seam, pattern_set.piece)
        first, second = map(_widths, both)
        most = GRADED if may_be_layers(both, pattern_set) else _ALIKE
        reported: set[tuple[str, str]] = set()
        for one in first:
            for other in second:
                low, high = max(one.start, other.start), min(one.end, other.end)
                pair = one.piece, other.piece
                at = max(((low + high) / 2.0, low, high), key=partial(_apart, one, other))
                if high - low < _TOGETHER or _apart(one, other, at) <= most:
                    continue
                if pair not in reported:
                    where = "" if one.even and other.even else f" {at:.0f} mm from its start"
                    own, its = one.named(other), other.named(one)
                    yield (
                        f"seam '{seam.name}':{where} its allowance is {one.at(at):.4g} mm on "
                        f"{own}, but {other.at(at):.4g} mm on {its}"
                    )
                reported.add(pair)


@dataclass(frozen=True, slots=True)
class _Width:
    """The allowance of an edge from `start` to `end` mm along a seam, linear between."""

    piece: str
    edge: str
    start: float
    end: float
    first: float
    last: float

    def named(self, other: _Width) -> str:
        """Return its piece in words, with its edge if the other is of the same piece."""
        return (
            f"'{self.edge}' of '{self.piece}'" if self.piece == other.piece else f"'{self.piece}'"
        )

    @property
    def even(self) -> bool:
        return self.first == self.last

    def at(self, along: float) -> float:
        return self.first + (self.last - self.first) * (along - self.start) / (
            self.end - self.start
        )


def _apart(one: _Width, other: _Width, at: float) -> float:
    return abs(one.at(at) - other.at(at))


def _widths(side: Chain) -> list[_Width]:
    """Return the allowances along one side of a seam, as walked, but for a fold, which has none."""
    found, start = [], 0.0
    for link in side.links:
        first, last = link.edge.allowance[::-1] if link.turned else link.edge.allowance
        if link.edge.name != link.piece.fold:
            found.append(
                _Width(link.piece.name, link.edge.name, start, start + link.size, first, last)
            )
        start += link.size
    if not side.twinned:
        return found
    mirrored = [
        replace(w, start=2.0 * start - w.end, end=2.0 * start - w.start, first=w.last, last=w.first)
        for w in found
    ]
    if side.folds == "end":
        return found + mirrored[::-1]
    shifted = [replace(w, start=w.start + start, end=w.end + start) for w in found]
    return [replace(w, start=w.start - start, end=w.end - start) for w in mirrored[::-1]] + shifted


def hem_doubts(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the seams at whose end hems meet that have different allowances, or corners.

    Edges are hems if both are turned back or folded over, or share a name: they go on as one. Of
    one name, both are sewn to something, or neither is. A cowl has its facing in one with it, where
    the back has one of its own.
    """
    sewn, faced = sewn_edges(pattern_set.seams), faced_edges(pattern_set.pieces)
    for seam in seams:
        first, second = chains(seam, pattern_set.piece)
        for last in (False, True):
            one, other = beside(first, last=last), beside(second, last=last)
            if one is None or other is None or not _go_on(one, other, sewn):
                continue
            if any(own.edge.facing and (its.piece.name, its.edge.name) in faced
                   for own, its in permutations((one, other))):  # fmt: skip
                continue
            where = "end" if last else "start"
            turned, plain = (one, other) if folded_over(one.edge) else (other, one)
            if folded_over(turned.edge) and not folded_over(plain.edge) and plain.allowance > 0.0:
                yield (
                    f"seam '{seam.name}': at its {where} '{turned.edge.name}' of "
                    f"'{turned.piece.name}' is folded over, but '{plain.edge.name}' of "
                    f"'{plain.piece.name}' is not: is its corner right?"
                )
            if abs(one.allowance - other.allowance) > GRADED:
                yield (
                    f"seam '{seam.name}': at its {where} the allowance of '{one.edge.name}' is "
                    f"{one.allowance:.4g} mm on '{one.piece.name}', but that of "
                    f"'{other.edge.name}' is {other.allowance:.4g} mm on '{other.piece.name}'"
                )


def _go_on(one: Beside, other: Beside, sewn: Set[tuple[str, str]]) -> bool:
    alike = one.edge.name.casefold() == other.edge.name.casefold()
    in_seams = {(side.piece.name, side.edge.name) in sewn for side in (one, other)}
    return (alike and len(in_seams) == 1) or all(folded_over(side.edge) for side in (one, other))


def lining_doubts(pattern_set: PatternSet) -> Iterator[str]:
    """Yield linings that are shortened at a sewn edge, though their parent has a hem elsewhere."""
    sewn = sewn_edges(pattern_set.seams)
    for piece in pattern_set.pieces:
        plan = piece.derive
        if plan is None or plan.hem is None or piece.parent is None:
            continue
        parent, name = pattern_set.piece(piece.parent), plan.hem[0]
        hems = [edge.name for edge in parent.edges if folded_over(edge)]
        if (parent.name, name) in sewn and hems and name not in hems:
            yield (
                f"{piece.name}: it is shortened at '{name}', which is sewn, but the hem of "
                f"'{parent.name}' is '{hems[0]}': is the edge right?"
            )


def ease_doubts(seams: Sequence[Seam]) -> Iterator[str]:
    """Yield the seams that match whether they are far too short or far too long, and those of
    which the ease may be almost anything. Of gathers both ends of a range are large.
    """
    for seam in seams:
        least, most = seam.ease
        if min(-least, most) >= LOOSE:
            yield (
                f"seam '{seam.name}': with an ease of {least:g} to {most:g} mm it matches whether "
                "it is too short or too long: is its unit right?"
            )
        elif most - least > _WIDE and max(-least, most) > _TIMES * max(least, -most, 0.0):
            yield (
                f"seam '{seam.name}': with an ease of {least:g} to {most:g} mm it matches almost "
                "whatever its lengths are: is its unit right?"
            )


def same_edges(seams: Sequence[Seam]) -> Iterator[str]:
    """Yield the seams that sew the same edges to each other as one before them."""
    first: dict[frozenset[frozenset[tuple[str, str]]], str] = {}
    for seam in seams:
        sides = frozenset(
            frozenset((piece, edge) for piece, edge, _ in side.edges)
            for side in (seam.first, seam.second)
        )
        if sides in first:
            yield f"seam '{seam.name}': it sews the same edges as seam '{first[sides]}'"
        first.setdefault(sides, seam.name)
