"""Pieces without a drawing: a rectangle or corners written in the set file."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from plotout.pattern.drawing import Drawing, Role, Shape
from plotout.pattern.spec import PieceSpec

SIDES = ("bottom", "right", "top", "left")  # of a rectangle, as its card hangs


def typed(spec: PieceSpec) -> Drawing:
    """Return the outline given in the set file, with its named sides.

    The first side runs from the first corner to the second, in either direction.
    """
    if spec.rectangle is not None:
        wide, high = spec.rectangle
        corners = np.array([[0.0, 0.0], [wide, 0.0], [wide, high], [0.0, high]])
        names: tuple[str, ...] = SIDES
    else:
        corners = np.array(spec.points, dtype=np.float64)
        names = tuple(str(index) for index in range(1, len(corners) + 1))
    if spec.edges:
        names = tuple(ref.name for ref in spec.edges)
    ends = np.roll(corners, -1, axis=0)
    return Drawing(tuple(
        Shape(np.array([start, end]), Role.OUTLINE, name)
        for start, end, name in zip(corners, ends, names, strict=True)
    ))  # fmt: skip


def without_names(spec: PieceSpec) -> PieceSpec:
    """Return the piece's spec without its list of edges: its sides already have names."""
    return replace(spec, edges=())
