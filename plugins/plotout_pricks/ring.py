"""A closed run: an outline by itself."""

from __future__ import annotations

import math

import numpy as np
import shapely

from plotout import Role, Shape
from plotout.kit import Otherwise, curve_fit, strays, two_sigma
from plotout_pricks.curve_fits import without
from plotout_pricks.rivals import taken_otherwise
from plotout_pricks.stray_notes import stray_notes
from plotout_pricks.tidy import Tidy
from plotout_pricks.variants import LEAST_OWN, OUTLINES


def ring_of(item: Tidy, notes: list[str]) -> Shape:
    """Return the outline through a closed run's pricks, and how surely its length is known."""
    judged = strays(item.run.points, closed=True, sure=item.sure)
    notes += stray_notes(item, judged)
    curve = curve_fit(without(item, judged.left_out).points, closed=True)
    length = shapely.LineString(curve.points).length
    others = taken_otherwise(item, judged)
    own = max(1.0 - sum(one.chance for one in others), LEAST_OWN)
    fits = [(curve, own)]
    fits += [(curve_fit(without(item, one.strayed).points, closed=True), one.chance)
             for one in others]  # fmt: skip
    off, chances, drawn = [], [], []
    for fit, chance in fits:
        sizes = [shapely.LineString(line).length for line in fit.likely(OUTLINES)]
        drawn.append(np.array(sizes) - length)
        off += drawn[-1].tolist()
        chances += [chance / len(sizes)] * len(sizes)
        if not off:  # the pricks don't determine the curve itself
            return Shape(curve.points, Role.OUTLINE, item.run.name, known_to=math.inf)
    known = two_sigma(np.array(off), np.array(chances))
    alone = two_sigma(drawn[0])
    otherwise = [
        Otherwise(one.why, float(by.mean()), two_sigma(by - by.mean()), one.chance, alone)
        for one, by in zip(others, drawn[1:], strict=True)
        if len(by)
    ]
    return Shape(
        curve.points,
        Role.OUTLINE,
        item.run.name,
        known_to=known,
        unproved=max(known - alone, 0.0),
        otherwise=tuple(otherwise),
    )
