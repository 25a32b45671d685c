"""Finds right angles at a piece's centre that growth has bent: unfolded, a peak or a dip."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

import numpy as np

from plotout.geometry.polyline import direction_at, length
from plotout.pattern.model import Edge

_SQUARE = 0.5  # degrees off a right angle that still is one as drawn
BENT = 1.0  # degrees by which it is no longer one: 2 mm over a hem of 100 mm


def bent_at_centre(
    edges: Sequence[Edge], base: Sequence[Edge], centres: Collection[str | None]
) -> Iterator[str]:
    """Yield the edges that met a fold or a front end square as drawn, and no longer do.

    edges, base: grown and as drawn, in the same order. centres: names of folds and front ends.
    """
    for index, centre in enumerate(base):
        if centre.name not in centres:
            continue
        for first in (index - 1, index):
            second = (first + 1) % len(base)
            drawn, grown = _off_square(base, first, second), _off_square(edges, first, second)
            if drawn <= _SQUARE and grown > BENT:
                other = base[first if first != index else second].name
                yield (
                    f"'{other}' meets '{centre.name}' square as drawn, but {grown:.1f} degrees off "
                    "square once grown: do both its ends grow as they should?"
                )


def _off_square(edges: Sequence[Edge], first: int, second: int) -> float:
    """Return by how many degrees two edges that follow each other don't meet square."""
    before, after = edges[first].points, edges[second].points
    (x, y), (u, v) = direction_at(before, length(before)), direction_at(after, 0.0)
    return abs(90.0 - float(np.degrees(np.arctan2(abs(x * v - y * u), abs(x * u + y * v)))))
