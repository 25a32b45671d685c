"""Finds edges in more seams than are cut of them, though another closes the ring: asked about.

A cushion's strip goes along three edges of its top, and a zip strip along the fourth. Sewn by a
slip to one of the three, it lies on what is sewn there, and leaves the fourth open. By topology.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence

from plotout.errors import quoted
from plotout.pattern.by_cloth import together_and_by_cloth
from plotout.pattern.model import Edge, PatternSet, Piece, Seam
from plotout.pattern.number_cut import Key, Sides, sewn_to_themselves, taken_by, uses
from plotout.pattern.sides import chains, sewn_edges
from plotout.review.edge_lengths import as_long
from plotout.review.hems_met import folded_over
from plotout.tongue import Tongue

Taken = Mapping[Key, Mapping[str, int]]


def taken_twice(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the seams of an edge of which others take all, if one as long leaves its ring open.

    seams: those that can be walked.
    """
    sides = {seam.name: chains(seam, pattern_set.piece) for seam in seams}
    found = {
        seam: asked
        for alone in together_and_by_cloth(sides, pattern_set.say)
        for seam, asked in _taken(alone, seams, pattern_set)
    }
    yield from found.values()


def _taken(
    sides: Mapping[str, Sides], seams: Sequence[Seam], pattern_set: PatternSet
) -> Iterator[tuple[str, str]]:
    """Yield the names of such seams, of what is cut of their pieces, and what to ask."""
    there, taken = counted(sides, pattern_set.say)
    for piece in pattern_set.pieces:
        free = _open_edge(piece, pattern_set)
        if free is None or not _goes_round(piece, free, sides):
            continue
        for seam in [seam for seam in seams if seam.name in sides]:
            slack = pattern_set.defaults.tolerance + max(map(abs, seam.ease))
            for edge in _single(piece, sides[seam.name]):
                key = piece.name, edge.name
                before = [name for name in taken[key] if name != seam.name]
                full = sum(taken[key][name] for name in before) == there[key]
                alike = as_long(edge, free, slack)
                if alike and full and taken[key][seam.name] <= there[key]:
                    take = "seam {} takes" if len(before) == 1 else "seams {} take"
                    yield (
                        seam.name,
                        f"seam '{seam.name}': it sews '{edge.name}' of '{piece.name}', but "
                        f"{take.format(quoted(before))} all that are cut, and '{free.name}', as "
                        "long, is in no seam: is one of them wrong?",
                    )


def counted(sides: Mapping[str, Sides], say: Tongue) -> tuple[Mapping[Key, int], Taken]:
    """Return of each edge how many are cut, and how many each of its seams takes."""
    there: dict[Key, int] = {}
    taken: dict[Key, dict[str, int]] = defaultdict(dict)
    closed = sewn_to_themselves(sides)
    for name, both in sides.items():
        together = uses(both, closed, say)
        for use in together:
            key = use.piece.name, use.edge
            there[key], taken[key][name] = use.there, taken_by(use, together)
    return there, taken


def _open_edge(piece: Piece, pattern_set: PatternSet) -> Edge | None:
    """Return the only edge of a piece that is in no seam, if it may be sewn; else None."""
    sewn = sewn_edges(pattern_set.seams)
    free = [e for e in piece.edges if (piece.name, e.name) not in sewn and e.name != piece.fold]
    return free[0] if len(free) == 1 and not folded_over(free[0]) else None


def _goes_round(piece: Piece, free: Edge, sides: Mapping[str, Sides]) -> bool:
    """Return whether one other piece is sewn along all edges of a piece but the free one."""
    round_it = {edge.name for edge in piece.edges} - {free.name, piece.fold}
    met: dict[str, set[str]] = defaultdict(set)
    for both in sides.values():
        for side, other in (both, both[::-1]):
            for name in {link.piece.name for link in other.links} - {piece.name}:
                met[name] |= {
                    link.edge.name for link in side.links if link.piece.name == piece.name
                }
    return len(round_it) > 1 and round_it in met.values()


def _single(piece: Piece, sides: Sides) -> Iterator[Edge]:
    """Yield the edge of a piece that is alone on its side of a seam."""
    for first, *others in (side.links for side in sides):
        if not others and first.piece.name == piece.name:
            yield first.edge
