"""Finds pieces that a seam of their own closes to a tube: a sleeve, a leg. Common practice."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import PatternSet, Piece, Seam
from plotout.pattern.sides import Chain, chains

_DEEP = 0.5  # of the width of a tube: one that isn't deeper is a band
_BODY = 0.6  # of the width of a sleeve: so much more cloth beside it is the body's (estimated)


@dataclass(frozen=True, slots=True, eq=False)
class Tube:
    """A piece that a seam closes to a tube. axis: (2,), mm, along it. of_body: see `of_body`.
    is_band: it is less deep than half its width, as a cuff is.
    """

    seam: str
    piece: Piece
    axis: FloatArray
    of_body: bool = False
    is_band: bool = False


def tubes(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[Tube]:
    """Yield the pieces that a seam closes to a tube; not bands, nor those with a dart."""
    return (tube for tube in rings(seams, pattern_set) if not tube.is_band)


def rings(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[Tube]:
    """Yield the pieces that a seam closes to a tube, bands too; not those with a dart."""
    for seam in seams:
        named = [{(piece, edge) for piece, edge, _ in side.edges}
                 for side in (seam.first, seam.second)]  # fmt: skip
        if named[0] & named[1] or len({piece for piece, _ in named[0] | named[1]}) > 1:
            continue
        sides = chains(seam, pattern_set.piece)
        first, second = ((ends_of(side), [link.edge.name for link in side.links]) for side in sides)
        between = cloth_between(first[0], second[0])
        if between is not None:
            piece = pattern_set.piece(seam.first.edges[0][0])
            deep, wide = (float(np.hypot(*way)) for way in between)
            body = of_body(piece, (first, second))
            yield Tube(seam.name, piece, between[0], body, is_band=deep <= _DEEP * wide)


def ends_of(side: Chain) -> FloatArray:
    """Return the ends of a side of a seam on its piece, (2, 2), counter-clockwise round it."""
    first, last = side.links[0], side.links[-1]
    walked = np.array([first.end(last=False), last.end(last=True)])
    return walked[::-1] if first.turned else walked


def cloth_between(first: FloatArray, second: FloatArray) -> tuple[FloatArray, FloatArray] | None:
    """Return the axis of the cloth between two sides of a piece, and its width: (2,) each, mm.

    first, second: the ends of both, (2, 2), counter-clockwise. None if the cloth lies outside them,
    as outside the legs of a dart.
    """
    other = second[::-1]
    axis, width = (first[1] - first[0] + other[1] - other[0]) / 2.0, (other - first).mean(axis=0)
    return (axis, width) if float(width @ [-axis[1], axis[0]]) > 0.0 else None


def width_of(between: tuple[FloatArray, FloatArray]) -> float:
    """Return how wide the cloth between two sides is, square to its axis, mm."""
    axis, width = between
    return abs(float(axis[0] * width[1] - axis[1] * width[0])) / float(np.hypot(*axis))


def of_body(piece: Piece, sides: Sequence[tuple[FloatArray, Collection[str]]]) -> bool:
    """Return whether a tube is a sleeve in one with a body, which lies beside it on its piece.

    sides: of both sides of the tube the ends, (2, 2), counter-clockwise, and the edges' names.
    """
    between = cloth_between(*(ends for ends, _ in sides))
    assert between is not None
    wide = width_of(between)
    return any(_beside(piece, *side) > _BODY * wide for side in sides)


def _beside(piece: Piece, ends: FloatArray, names: Collection[str]) -> float:
    """Return how far other edges of a piece lie past the line from end to end of a side, mm."""
    x, y = ends[1] - ends[0]
    size = float(np.hypot(x, y))
    others = [edge.points for edge in piece.edges if edge.name not in names]
    past = (np.vstack(others) - ends[0]) @ [y, -x]
    return float(past.max()) / size if size else 0.0
