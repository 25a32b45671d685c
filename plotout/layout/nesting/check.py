"""Check of a lay: nothing overlaps, the gap is kept, everything is within reach."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from plotout.layout.nesting.shape import body, overlaps
from plotout.model import Placed

TOLERANCE = 0.01
"""mm."""

_ROUNDING = 4.0  # times that of the search: a card's outline is moved and turned once more


def faults(
    cards: Sequence[Placed], free: BaseGeometry, gap: float, *, inside: bool = False
) -> tuple[str, ...]:
    """Return the faults of a sheet's lay, in words; empty without any.

    free: where cards may lie. inside: cards may lie in the cut-outs of others.
    """
    found = []
    bodies = [body(placed.card, placed.matrix, inside=inside) for placed in cards]
    allowed = free.buffer(TOLERANCE)
    for placed, polygon in zip(cards, bodies, strict=True):
        if not allowed.covers(polygon):
            found.append(f"card '{placed.card.title}' lies out of reach")
    tree = shapely.STRtree(bodies)
    first, second = tree.query(np.array(bodies), predicate="dwithin", distance=gap + 1.0)
    for one, other in zip(first.tolist(), second.tolist(), strict=True):
        if one >= other:
            continue
        titles = "' and '".join(cards[n].card.title for n in (one, other))
        apart, shared = bodies[one].distance(bodies[other]), 0.0
        if apart <= 0.0:
            shared = float(
                overlaps(np.array([bodies[one]], dtype=object), bodies[other], _ROUNDING)[0]
            )
        if shared > 0.0:
            found.append(f"cards '{titles}' overlap by {shared:.3g} mm2")
        elif apart < gap - TOLERANCE:
            found.append(f"cards '{titles}' are {apart:.3f} mm apart")
    return tuple(found)
