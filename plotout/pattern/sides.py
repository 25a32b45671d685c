"""The sides of a seam: chains of edges, and how many of them make up the whole that is sewn."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from plotout.errors import Place, UserError, nearest
from plotout.geometry.polyline import length
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import Edge, Piece, Seam, Side


@dataclass(frozen=True, slots=True)
class Chain:
    """One side of a seam as it is walked: each edge, and whether it is walked backwards.

    own: its length in mm. folds: at which end it meets the piece's fold: "start", "end" or "".
    times: how many such chains make up the whole seam. twinned: only this side has a mirrored
    half along the seam, so that a notch on it stands at two places of the other side.
    """

    piece: Piece
    edges: tuple[tuple[Edge, bool], ...]
    own: float
    folds: str
    times: int
    twinned: bool

    @property
    def whole(self) -> float:
        """Length of all that is sewn, in mm."""
        return self.own * self.times

    def on_edge(self, along: float) -> tuple[str, float]:
        """Return the edge at `along` mm of the seam, and how far along that edge it is.

        Of a twinned side, the second half of the seam lies on the same edges as the first.
        """
        if self.twinned:
            past = along - self.own
            along = abs(past) if self.folds == "start" else self.own - abs(past)
        for edge, turned in self.edges:
            size = length(edge.points)
            if along <= size + 1e-6:
                here = min(max(along, 0.0), size)
                return edge.name, size - here if turned else here
            along -= size
        last, turned = self.edges[-1]
        return last.name, 0.0 if turned else length(last.points)


def chained(edges: Sequence[Edge], names: Sequence[str]) -> list[Edge]:
    """Return the named edges in the order in which they follow one another round the piece.

    Raises ValueError where they don't.
    """
    order = [edge.name for edge in edges]
    first = next((name for name in names if order[order.index(name) - 1] not in names), names[0])
    start = order.index(first)
    chain = [edges[(start + k) % len(edges)] for k in range(len(set(names)))]
    if {edge.name for edge in chain} != set(names):
        raise ValueError(f"its edges do not follow one another: {', '.join(names)}")
    return chain


def chains(seam: Seam, piece_of: Callable[[str], Piece]) -> tuple[Chain, Chain]:
    """Return both sides of a seam. Raises UserError for an edge that there isn't."""
    sides = (seam.first, seam.second)
    pieces = [piece_of(side.piece) for side in sides]
    edges = [_edges(side, seam, piece) for side, piece in zip(sides, pieces, strict=True)]
    folds = [_folds(piece, chain) for piece, chain in zip(pieces, edges, strict=True)]
    times = [side.times or _times(nth, pieces, folds) for nth, side in enumerate(sides)]
    first, second = (
        Chain(
            pieces[nth],
            edges[nth],
            sum(length(edge.points) for edge, _ in edges[nth]),
            folds[nth],
            times[nth],
            bool(folds[nth]) and times[nth] == 2 * times[1 - nth],
        )
        for nth in (0, 1)
    )
    return first, second


def _edges(side: Side, seam: Seam, piece: Piece) -> tuple[tuple[Edge, bool], ...]:
    names = [edge.name for edge in piece.edges]
    for name, _ in side.edges:
        if name not in names:
            raise UserError(
                f"seam '{seam.name}': there is no edge '{name}'",
                fix=nearest(name, names),
                place=Place(piece=piece.name),
            )
    return tuple((piece.edge(name), turned) for name, turned in side.edges)


def _folds(piece: Piece, chain: Sequence[tuple[Edge, bool]]) -> str:
    """Return at which end of the walk the chain meets the piece's fold, "" where at neither."""
    if piece.fold is None:
        return ""
    fold = piece.edge(piece.fold).points
    ends = {"start": _end(chain[0], last=False), "end": _end(chain[-1], last=True)}
    for name, at in ends.items():
        if (at == fold[0]).all() or (at == fold[-1]).all():
            return name
    return ""


def _end(link: tuple[Edge, bool], *, last: bool) -> FloatArray:
    edge, turned = link
    return np.asarray(edge.points[-1 if last != turned else 0])


def _times(nth: int, pieces: Sequence[Piece], folds: Sequence[str]) -> int:
    """Return how many of this side's chain make up the whole seam.

    A chain that ends on the fold: its two halves. Sewn to a single piece on the fold, a pair's
    left and right together (a collar to both fronts); to several, one each (a sleeve to its side).
    """
    if folds[nth]:
        return 2
    partner = pieces[1 - nth]
    if not folds[1 - nth] or not any(cut.pair for cut in pieces[nth].cuts):
        return 1
    return 2 if sum(cut.count for cut in partner.cuts[:1]) <= 1 else 1


def seam_ends_at(
    seams: Sequence[Seam], pieces: Sequence[str], before: str, after: str
) -> bool | None:
    """Say whether a seam ends where edge `before` goes over into edge `after` of one of `pieces`.

    False where one runs on over the join; None where no seam of the set knows either edge.
    """
    known: bool | None = None
    for seam in seams:
        for side in (seam.first, seam.second):
            if side.piece not in pieces:
                continue
            names = [name for name, _ in side.edges]
            if {before, after} <= set(names) and abs(names.index(before) - names.index(after)) == 1:
                known = known or False
            elif before in names or after in names:
                known = True
    return known
