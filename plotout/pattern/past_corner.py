"""How a stitching line goes on past a corner, through the allowance of the edge that it meets."""

from __future__ import annotations

import numpy as np

from plotout.geometry.end_heading import end_heading
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import Edge
from plotout.pattern.settings import Corner

_FAR = 10_000.0  # mm: further than any allowance reaches


def turned_up(before: Edge, after: Edge) -> Edge | None:
    """Return which of two edges is a hem that is turned up along its stitching line.

    Of two it is the facing: folded over first, it lies on the hem's allowance too, and both are
    turned up together.
    """
    both = (before, after) if after.twin_of else (after, before)
    turned = [edge for edge in both if edge.corner is Corner.TURNED]
    return next((edge for edge in turned if edge.facing), turned[0] if turned else None)


def past_corner(seam: Edge, other: Edge, *, ends: bool, mirrored: bool) -> FloatArray:
    """Return how a seam's stitching line goes on past its corner with `other`, (n, 2), mm.

    ends: the corner is its end, not its start. It goes straight on. Mirrored, in a hem that is
    turned up, it is its own mirror image, as the hem's ends are: the seam is sewn along it before
    the hem is turned up onto the piece. It ends there where the seam does, under a wider hem.
    """
    inner = seam.points[::-1] if ends else seam.points
    corner = inner[0]
    if not mirrored:
        return np.vstack([corner, corner - end_heading(inner, last=False).direction * _FAR])
    x, y = end_heading(other.points, last=not ends).direction
    across = np.array([-y, x])
    return np.asarray(inner - 2.0 * ((inner - corner) @ across)[:, None] * across)
