"""Where a card is punched, so that it hangs plumb and its hole tears nothing."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry

from plotout.finish.card_marks import clear_of
from plotout.geometry.region import lines_in

EDGE = 6.0  # mm of card round the hole; common practice, about a hole's width
MARK = 2.0  # mm between the hole and a line or letter


def hole_place(
    card: BaseGeometry, taken: Sequence[BaseGeometry], size: float, inset: float
) -> tuple[tuple[float, float] | None, str]:
    """Return the hole's centre, and a warning or "".

    It lies on the vertical through the card's centre of area and above it, `inset` mm below the
    card's top edge there, at least EDGE mm of card about it and MARK mm clear of all that is
    `taken`. Where that is not safe, the nearest safe place on that vertical; where there is none,
    None.
    """
    centre = card.centroid
    low, high = card.bounds[1] - 1.0, card.bounds[3] + 1.0
    plumb = LineString([(centre.x, low), (centre.x, high)])
    tops = [part.bounds[3] for part in lines_in(card.intersection(plumb))]
    if not tops:
        return None, f"no place on the plumb line for the {size:g} mm hanging hole"
    top = max(tops)
    room = card.buffer(-(size / 2.0 + EDGE)).difference(clear_of(taken, size / 2.0 + MARK))
    free = [
        (part.bounds[1], part.bounds[3])
        for part in lines_in(room.intersection(plumb))
        if part.bounds[3] > centre.y + size
    ]
    wanted = top - inset
    best: float | None = None
    for bottom, upper in free:
        at = float(np.clip(wanted, max(bottom, centre.y + size), upper))
        if best is None or abs(at - wanted) < abs(best - wanted):
            best = at
    if best is None:
        return None, (
            f"nowhere on the vertical through its centre of area is safe for the {size:g} mm "
            "hanging hole; punch it by hand, or give the set a smaller hole"
        )
    if abs(best - wanted) > 0.05:
        return (centre.x, best), (
            f"its hanging hole is {top - best:.1f} mm from the top, not {inset:g} mm: "
            "the shape or its marks leave no room there"
        )
    return (centre.x, best), ""


def disc(at: tuple[float, float], size: float) -> BaseGeometry:
    """Return the hole itself with the card that must stay clear about it."""
    return Point(at).buffer(size / 2.0 + MARK)
