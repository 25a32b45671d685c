"""The runs of edges by which pieces are joined: to other pieces, or to their own other half."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from plotout.geometry.strokes import FloatArray
from plotout.pattern.chain import Chain
from plotout.pattern.model import PatternSet, Piece, Seam
from plotout.pattern.sides import chains
from plotout.review.tubes import cloth_between, ends_of

PARALLEL = np.cos(np.radians(35.0))  # of the angle between both sides of a part of a tube


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """Edges of a piece that a seam sews to another, or along which its other half lies.

    ends: (2, 2), counter-clockwise. seam: its name, or "" for a fold. to: what it is sewn to, or
    None: its own other half.
    """

    piece: Piece
    edges: frozenset[str]
    ends: FloatArray
    seam: str
    to: tuple[str, frozenset[str]] | None


Runs = Mapping[str, Sequence[Run]]


def runs_of(seams: Sequence[Seam], pattern_set: PatternSet) -> Runs:
    """Return the runs of each piece: those of seams of one piece to one piece, and its fold."""
    found: dict[str, list[Run]] = defaultdict(list)
    for seam in seams:
        sides = chains(seam, pattern_set.piece)
        own, its = (frozenset((link.piece.name, link.edge.name) for link in side.links)
                    for side in sides)  # fmt: skip
        pieces = [{name for name, _ in keys} for keys in (own, its)]
        if any(len(names) > 1 for names in pieces) or (pieces[0] == pieces[1] and own != its):
            continue
        for side, other in (sides, sides[::-1]) if own != its else (sides,):
            run = _run(side, other, seam.name, itself=own == its)
            found[run.piece.name].append(run)
    for piece in pattern_set.pieces:
        if piece.fold is not None:
            ends = piece.edge(piece.fold).points[[0, -1]]
            found[piece.name].append(Run(piece, frozenset([piece.fold]), ends, "", None))
    return found


def _run(side: Chain, other: Chain, seam: str, *, itself: bool) -> Run:
    edges, its = (frozenset(link.edge.name for link in chain.links) for chain in (side, other))
    to = None if itself else (other.links[0].piece.name, its)
    return Run(side.links[0].piece, edges, ends_of(side), seam, to)


def opposite(one: Run, other: Run, least: float = PARALLEL) -> bool:
    """Return whether two runs of a piece lie on both sides of it, about parallel.

    least: cosine of the angle between them.
    """
    if one.edges & other.edges or cloth_between(one.ends, other.ends) is None:
        return False
    along, back = one.ends[1] - one.ends[0], other.ends[0] - other.ends[1]
    size = float(np.hypot(*along) * np.hypot(*back))
    return bool(size > 0.0 and float(along @ back) >= least * size)


def meet(one: Run, other: Run) -> bool:
    """Return whether two runs of a piece have an end in common."""
    return any(bool((a == b).all()) for a in one.ends for b in other.ends)
