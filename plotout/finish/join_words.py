"""Says where and why a card is divided, as the places are in its piece's drawing, mm."""

from __future__ import annotations

import numpy as np
from shapely import Polygon

from plotout.finish.bare_card import BareCard
from plotout.finish.card_marks import straight_within
from plotout.geometry.polyline import bounds, rotated
from plotout.geometry.strokes import FloatArray

_LEVEL = 1e-6  # sine of the angle within which a join is level, or upright, in the drawing


def from_to(start: FloatArray, end: FloatArray, bare: BareCard) -> str:
    """Say in the drawing's coordinates between which two places of a card a line lies."""
    (x1, y1), (x2, y2) = drawn(start, bare), drawn(end, bare)
    return f"from x {x1:.0f} mm, y {y1:.0f} mm to x {x2:.0f} mm, y {y2:.0f} mm"


def drawn(point: FloatArray, bare: BareCard) -> tuple[float, float]:
    """Return where a place of the card lies in the piece's drawing, mm."""
    x, y = rotated(point, -bare.turn).tolist()
    return x, y


def too_long(bare: BareCard, line: FloatArray, upright: bool, most: float) -> str:
    """Say where and why a card is divided that is longer than `most` mm, square to the join.

    line: (2, 2), two places on the join, which is level on the card, or upright.
    """
    low, high = np.reshape(bounds(bare.outline), (2, 2))
    size = (high - low)[0 if upright else 1]
    start, end = np.array([drawn(at, bare) for at in line])
    across, up = np.abs(end - start) / np.hypot(*(end - start))
    slanting = min(across, up) >= _LEVEL
    long = (
        f"square to it the piece is {size:.0f} mm"
        if slanting
        else f"it is {size:.0f} mm {'wide' if across < up else 'tall'} there"
    )
    return f"divided {where(bare, line)}: {long}, and the stock holds {most:.0f} mm"


def where(bare: BareCard, line: FloatArray) -> str:
    """Say where a join lies, in the drawing's directions: two places on it are given, (2, 2)."""
    start, end = np.array([drawn(at, bare) for at in line])
    across, up = np.abs(end - start) / np.hypot(*(end - start))
    if across < _LEVEL:
        return f"at x {start[0]:.0f} mm"
    if up < _LEVEL:
        return f"at y {start[1]:.0f} mm"
    within = straight_within(Polygon(bare.outline), line[0], line[1] - line[0])
    start, end = line if within is None else within
    return f"along the line {from_to(start, end, bare)}"
