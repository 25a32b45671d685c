"""The numbers of HP-GL/2's encoded polyline instruction (PE).

Source: HP-GL/2 and HP RTL Reference Guide (Hewlett-Packard), "PE, Polyline Encoded", base 64: the
sign goes into the lowest bit; six bits a character, lowest first; the last of a number is marked.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FIRST = 63  # added to a character's six bits
LAST = 191  # added to those of a number's last character


def encode(values: NDArray[np.int64]) -> bytes:
    """Return whole numbers, (n,), as characters of base 64."""
    left = np.where(values < 0, 1 - 2 * values, 2 * values)
    columns: list[NDArray[np.uint8]] = []
    used: list[NDArray[np.bool_]] = []
    active = np.ones(len(left), dtype=bool)
    while active.any():
        rest = left >> 6
        digits = (left & 63) + np.where(rest > 0, FIRST, LAST)
        columns.append(digits.astype(np.uint8))
        used.append(active)
        active = active & (rest > 0)
        left = rest
    return np.column_stack(columns)[np.column_stack(used)].tobytes() if columns else b""
