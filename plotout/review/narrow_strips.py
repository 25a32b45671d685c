"""Finds strips that are narrower than the allowances along them: noted, never corrected.

Allowances are turned to the inside of a strip, where they would lie over each other, or past it.
Piping and bindings, on the bias, and loops that are in no seam are made so (common practice, from
memory).
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from plotout.geometry.polyline import extent, length, unit
from plotout.pattern.model import Edge, PatternSet, Piece
from plotout.review.edges_met import edges_met

_ALONG = np.cos(np.radians(20.0))  # of the angle between an edge and the strip
_LONG = 3.0  # times its width that a strip is long at least


def narrow_strips(pattern_set: PatternSet) -> Iterator[str]:
    """Yield the strips that an allowance of a sewn edge is wider than, or those of two edges that
    are both sewn to other pieces, together.
    """
    met = edges_met(pattern_set.seams)
    for piece in pattern_set.pieces:
        if piece.derive is not None or piece.bias:
            continue
        along, wide = _strip(piece)
        widths = {edge.name: max(edge.allowance) for edge in along
                  if (piece.name, edge.name) in met}  # fmt: skip
        others = [width for name, width in widths.items()
                  if any(of != piece.name for of, _ in met[piece.name, name])]  # fmt: skip
        if max(widths.values(), default=0.0) > wide:
            yield (
                f"{piece.name}: it is {wide:.3g} mm wide, less than its allowance of "
                f"{max(widths.values()):g} mm: is its unit right?"
            )
        elif len(others) == 2 and sum(others) > wide:
            yield (
                f"{piece.name}: the seams along it lie {wide:.3g} mm apart, and their allowances, "
                f"{others[0]:g} and {others[1]:g} mm wide, over each other: is its unit right?"
            )


def _strip(piece: Piece) -> tuple[list[Edge], float]:
    """Return the edges along a strip, but for its fold, and how wide it is, mm, opened. No edges of
    a piece that is no strip.
    """
    longest = max(piece.edges, key=lambda edge: length(edge.points))
    chord = longest.points[-1] - longest.points[0]
    if not chord.any():
        return [], np.inf
    ahead = unit(chord)
    long, wide = extent(piece.outline, ahead)
    along = [
        edge
        for edge in piece.edges
        if abs((edge.points[-1] - edge.points[0]) @ ahead) > _ALONG * length(edge.points)
    ]
    wide *= 2.0 if any(edge.name == piece.fold for edge in along) else 1.0
    if long < _LONG * wide:
        return [], wide
    return [edge for edge in along if edge.name != piece.fold], wide
