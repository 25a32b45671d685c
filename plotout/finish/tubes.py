"""Finds pieces that a seam of their own closes to a tube: a sleeve, a leg. Common practice."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import PatternSet, Piece, Seam
from plotout.pattern.sides import Chain, chains

_DEEP = 0.5  # of the width of a tube: a less deep one is a band, as a cuff is


@dataclass(frozen=True, slots=True, eq=False)
class Tube:
    """A piece that a seam closes to a tube. axis: (2,), mm, along it."""

    seam: str
    piece: Piece
    axis: FloatArray


def tubes(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[Tube]:
    """Yield the pieces that a seam closes to a tube; not bands, nor those with a dart."""
    for seam in seams:
        named = [{(piece, edge) for piece, edge, _ in side.edges}
                 for side in (seam.first, seam.second)]  # fmt: skip
        if named[0] & named[1] or len({piece for piece, _ in named[0] | named[1]}) > 1:
            continue
        first, second = chains(seam, pattern_set.piece)
        own, other = _ends(first), _ends(second)
        axis, width = (own[1] - own[0] + other[1] - other[0]) / 2.0, (other - own).mean(axis=0)
        inward = np.array([-axis[1], axis[0]]) * (-1.0 if first.links[0].turned else 1.0)
        if inward @ width > 0.0 and np.hypot(*axis) > _DEEP * np.hypot(*width):
            yield Tube(seam.name, first.links[0].piece, axis)


def _ends(side: Chain) -> FloatArray:
    """Return the places on its piece where a side of a seam starts and ends as walked, (2, 2)."""
    first, last = side.links[0], side.links[-1]
    start = first.edge.points[-1 if first.turned else 0]
    return np.array([start, last.edge.points[0 if last.turned else -1]])
