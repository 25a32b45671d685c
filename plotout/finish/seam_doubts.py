"""Finds what a set says of its seams that may not have been meant: noted, never corrected.

What is reported, and its figures, are common practice in pattern rooms, from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from plotout.pattern.model import Edge, PatternSet, Seam
from plotout.pattern.settings import Corner
from plotout.pattern.sides import Chain, Link, chains

GRADED = 3.0  # mm: by as much the layers of a seam are made narrower, to lie flat
_TOGETHER = 5.0  # mm: edges sewn together for less only meet at a notch or a corner


def seam_doubts(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the seams whose two sides have different allowances where they are sewn together."""
    for seam in seams:
        first, second = (_widths(side) for side in chains(seam, pattern_set.piece))
        reported: set[tuple[str, str]] = set()
        for one in first:
            for other in second:
                low, high = max(one.start, other.start), min(one.end, other.end)
                at = (low + high) / 2.0
                pair = one.piece, other.piece
                if high - low < _TOGETHER or abs(one.at(at) - other.at(at)) <= GRADED:
                    continue
                if pair not in reported:
                    yield (
                        f"seam '{seam.name}': its allowance is {one.at(at):.4g} mm on "
                        f"'{one.piece}', but {other.at(at):.4g} mm on '{other.piece}'"
                    )
                reported.add(pair)


@dataclass(frozen=True, slots=True)
class _Width:
    """The allowance of an edge from `start` to `end` mm along a seam, linear between."""

    piece: str
    start: float
    end: float
    first: float
    last: float

    def at(self, along: float) -> float:
        return self.first + (self.last - self.first) * (along - self.start) / (
            self.end - self.start
        )


def _widths(side: Chain) -> list[_Width]:
    """Return the allowances along one side of a seam, as walked."""
    found, start = [], 0.0
    for link in side.links:
        first, last = link.edge.allowance[::-1] if link.turned else link.edge.allowance
        found.append(_Width(link.piece.name, start, start + link.size, first, last))
        start += link.size
    if not side.twinned:
        return found
    mirrored = [
        _Width(w.piece, 2.0 * start - w.end, 2.0 * start - w.start, w.last, w.first) for w in found
    ]
    if side.folds == "end":
        return found + mirrored[::-1]
    shifted = [replace(w, start=w.start + start, end=w.end + start) for w in found]
    return [replace(w, start=w.start - start, end=w.end - start) for w in mirrored[::-1]] + shifted


def hem_doubts(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the seams at whose end hems meet that have different allowances.

    Edges are hems if both are turned back or folded over, or share a name: they go on as one.
    """
    for seam in seams:
        first, second = chains(seam, pattern_set.piece)
        for last in (False, True):
            one, other = _next_to(first, last=last), _next_to(second, last=last)
            if one is None or other is None or not _go_on(one[1], other[1]):
                continue
            if abs(one[2] - other[2]) > GRADED:
                where = "end" if last else "start"
                yield (
                    f"seam '{seam.name}': at its {where} the allowance of '{one[1].name}' is "
                    f"{one[2]:.4g} mm on '{one[0]}', but that of '{other[1].name}' is "
                    f"{other[2]:.4g} mm on '{other[0]}'"
                )


def _next_to(side: Chain, *, last: bool) -> tuple[str, Edge, float] | None:
    """Return piece, edge and its allowance, mm, past a side's end; None at a fold."""
    if side.folds == ("end" if last else "start"):
        return None
    link: Link = side.links[-1 if last else 0]
    edges, forward = link.piece.edges, last != link.turned
    at = [edge.name for edge in edges].index(link.edge.name)
    edge = edges[(at + (1 if forward else -1)) % len(edges)]
    return link.piece.name, edge, edge.allowance[0 if forward else 1]


def _go_on(one: Edge, other: Edge) -> bool:
    folded = [edge.facing or edge.corner is Corner.TURNED for edge in (one, other)]
    return all(folded) or one.name.casefold() == other.name.casefold()


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
