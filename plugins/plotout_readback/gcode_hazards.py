"""What a file may not do with a tool in the stock: go down too fast, or burn one place for long."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

SPARE = 1.01  # of a profile's speed: a file's is rounded
SLOW_BURN = 0.5  # mm/s: a beam that stays for 2 s on each millimetre


TAKE_P = (4.0, 64.0)  # of the codes that are followed; G64 P is its tolerance (from memory)


def unused(words: Mapping[str, float], gs: Sequence[float], motion: float) -> Iterator[str]:
    """Yield what a control refuses of a line's words: NIST IR 6556, 3.3.2.5 (P, of a dwell or
    another code), 3.5.3 (I, J and R, of arcs), 3.7 (S isn't negative).
    """
    if motion not in (2.0, 3.0):
        yield from (f"{letter} without an arc" for letter in "IJR" if letter in words)
    if "P" in words and not any(g in TAKE_P for g in gs):
        yield "P without a code that takes it"
    if words.get("S", 0.0) < 0.0:
        yield f"S{words['S']:g}: not a speed"
    if 4.0 in gs and words.get("P", 0.0) < 0.0:
        yield f"G4 P{words['P']:g}: not a time"


def slow_burn(feed: float) -> str:
    """Return in words what is wrong with the speed of a beam in its work, mm/s, or ""."""
    return f"its beam moves at {feed:.2g} mm/s only" if 0.0 < feed < SLOW_BURN else ""


def plunge(
    fall: float, path: Sequence[float], start: tuple[float, float], feed: float, most: float
) -> str:
    """Return in words what is wrong with a move that ends in the stock, or "".

    fall: mm; inf if nobody knows from where. path: x, y, x, y ... from `start`, mm. feed, most:
    mm/s, along the move and straight down; a feed of inf is a rapid move, a most of inf is none.
    """
    if fall <= 0.0:
        return ""
    if math.isinf(feed):
        return "it goes down into the stock by a rapid move (G0)"
    steps = np.diff(np.reshape((*start, *path), (-1, 2)), axis=0)
    slope = math.hypot(1.0, float(np.hypot(*steps.T).sum()) / fall)
    down = feed / slope
    if down <= SPARE * most:
        return ""
    return f"it goes down into the stock at {down:.3g} mm/s, more than the profile's {most:g}"
