"""Finds pieces that a seam of their own closes to a tube: a sleeve, a leg. Common practice."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

import numpy as np

from plotout.geometry.strokes import FloatArray
from plotout.pattern.chain import Chain
from plotout.pattern.model import PatternSet, Piece, Seam
from plotout.pattern.sides import chains

_DEEP = 0.5  # of the width of a tube: one that isn't deeper is a band
_ROW = 3  # of a piece in a row: one that isn't deeper than wide is a length of a band
_BODY = 0.6  # of the width of a sleeve: so much more cloth beside it is the body's (estimated)


@dataclass(frozen=True, slots=True, eq=False)
class Tube:
    """A piece that a seam closes to a tube. axis: (2,), mm, along it. of_body: see `of_body`.
    is_band: it is less deep in all, a cap or a crotch included, than half its width, as a cuff is.
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
    """Yield the pieces that a seam closes to a tube, bands too; not those with a dart.

    Also one that goes on from others, as that of a sleeve sewn in flat does from the side.
    """
    walked = [(seam.name, chains(seam, pattern_set.piece)) for seam in seams]
    in_rows = _in_rows(both for _, both in walked)
    for name, both in walked:
        for piece in dict.fromkeys(link.piece.name for link in both[0].links):
            runs = [_run_of(piece, side) for side in both]
            if runs[0] is None or runs[1] is None or _share_an_edge(*both, piece):
                continue
            sides = [(ends_of(run), [link.edge.name for link in run.links]) for run in runs if run]
            between = cloth_between(sides[0][0], sides[1][0])
            if between is not None:
                axis, wide = between[0], float(np.hypot(*between[1]))
                own = pattern_set.piece(piece)
                deep = float(np.ptp(own.outline @ axis)) / float(np.hypot(*axis))
                band = deep <= (wide if piece in in_rows else _DEEP * wide)
                yield Tube(name, own, axis, of_body(own, sides), is_band=band)


def _run_of(piece: str, side: Chain) -> Chain | None:
    """Return the part of a side that is of a piece; None if there is none, or more than one."""
    groups = [(name, tuple(links)) for name, links in groupby(side.links, lambda x: x.piece.name)]
    own = [links for name, links in groups if name == piece]
    return replace(side, links=own[0]) if len(own) == 1 else None


def _share_an_edge(one: Chain, other: Chain, piece: str) -> bool:
    """Return whether an edge of a piece is on both sides: of a left to its right."""
    own, its = ({link.edge.name for link in side.links if link.piece.name == piece}
                for side in (one, other))  # fmt: skip
    return bool(own & its)


def _in_rows(walked: Iterable[tuple[Chain, Chain]]) -> set[str]:
    """Return the pieces of which several follow each other along a seam, as lengths of a frill."""
    return {
        link.piece.name for both in walked for side in both for link in side.links
        if side.times >= _ROW
    }  # fmt: skip


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
