"""Stretches of G-code that are only straight feeds, read at once."""

from __future__ import annotations

import re

import numpy as np

from plotout import FloatArray

_NUMBER = rb"-?(?:\d{1,8}(?:\.\d*)?|\.\d+)"
_FEEDS = rb"G0?1 ?X% ?Y%(?: ?F%)?\r?\n(?:(?:G0?1 ?)?X% ?Y%\r?\n){0,5000}".replace(b"%", _NUMBER)
STRETCH = re.compile(b"(" + _FEEDS + rb")|[^\n]+")
"""Gives line by line, but straight feeds one after another as one stretch, in group 1."""
_PLACES = re.compile(rb"G0?1|F[^\r\n]*")
_APART = bytes.maketrans(b"XY", b"  ")


def places(feeds: bytes) -> FloatArray:
    """Return where a stretch of feeds leads, (n, 2), in the file's units."""
    numbers = _PLACES.sub(b"", feeds).translate(_APART).split()
    return np.array(numbers, dtype=np.float64).reshape(-1, 2)
