"""Lines broken into dashes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from plotout.geometry.polyline import length, part
from plotout.geometry.strokes import FloatArray

# ISO 128-2: line type 04, dashes and gaps in line widths; these are for a 0.5 mm pen
LONG_DASH_DOT = (12.0, 1.5, 0.25, 1.5)


def dashed(points: FloatArray, pattern: Sequence[float] = LONG_DASH_DOT) -> list[FloatArray]:
    """Return the dashes of a line, each (n, 2), mm: it begins and ends with the first dash.

    pattern: lengths in mm of dash, gap, dash, gap ..., repeated; stretched evenly so that a whole
    number of repeats and one more dash fills the line. A line too short for that stays whole.
    """
    whole, repeat, first = length(points), sum(pattern), pattern[0]
    count = round((whole - first) / repeat)
    if count < 1:
        return [points]
    stretch = whole / (count * repeat + first)
    bounds = np.cumsum([0.0, *(list(pattern) * count), first]) * stretch
    return [
        part(points, float(a), float(b)) for a, b in zip(bounds[::2], bounds[1::2], strict=True)
    ]
