"""How blurred a picture is, by its marks' edges, and whether it is so in one direction only."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from plotout_photo.marks import Seen

SAMPLED = 0.42  # square pixels by which interpolating widens an edge (rendered ones, measured)
FEWEST = 4  # marks that show a direction
RISE = 2.507  # sigmas of a blur that an edge's rise takes


def blur_of(marks: Sequence[Seen]) -> float:
    """Return the picture's blur as a sigma, pixels."""
    seen = float(np.median([mark.blur for mark in marks])) / RISE if marks else 1.1
    return float(np.sqrt(max(seen**2 - SAMPLED, 0.25)))


def smear_of(marks: Sequence[Seen]) -> float:
    """Return by how much the picture is blurred one way and not across it, pixels.

    A camera that moves smears edges by how far it moves across them. The squares of edges' widths
    are then a + b cos(2 (direction - that of the motion)), so 2 b is that of the smear. Blur in all
    directions leaves it. Rendered pictures without motion: at most 2.2; moved by 5 pixels: 2.9, by
    7 pixels: 4.2, by 9 pixels: 5.5.
    """
    if len(marks) < FEWEST:
        return 0.0
    corners = np.array([mark.corners for mark in marks])
    along = np.roll(corners, -1, axis=1) - corners
    twice = 2.0 * np.arctan2(along[..., 1], along[..., 0]).ravel()
    square = np.array([mark.blurs for mark in marks]).ravel() ** 2
    waves = np.column_stack([np.ones_like(twice), np.cos(twice), np.sin(twice)])
    kept = np.ones(len(square), dtype=bool)
    for _ in range(3):  # without edges that are hidden or shaded
        _, cos, sin = solved = np.linalg.lstsq(waves[kept], square[kept], rcond=None)[0]
        off = np.abs(square - waves @ solved)
        kept = off <= 3.0 * np.median(off) + 1e-9
    return float(np.sqrt(2.0 * np.hypot(cos, sin)))
