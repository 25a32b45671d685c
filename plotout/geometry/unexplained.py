"""Runs of pricks that no curve explains: in another order, of several edges, or of no edge at all.

A hand pricks few places wrong. What a curve explains only if far more are left out is not
explained by it. Where so many turn to and fro by more than any scatter, no curve need be sought.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from plotout.geometry.fitting import fit_line
from plotout.geometry.polyline import inner_turns
from plotout.geometry.strokes import FloatArray

AGAIN = 0.05  # of the other pricks stray where one did (common practice)
HARDLY, AT_MOST = 0.005, 0.2  # chance of more strays than are taken for such; or share of pricks
MANY = 24  # pricks from which it is worth while to look before fitting
SHARP = 20.0  # degrees of a turn to or fro
OUT = 3.0  # mm that such a prick lies off the way between its neighbours: more than any scatter


@cache
def most_strays(count: int) -> int:
    """Return how many of a run's pricks may have strayed, at most, for a curve to explain it."""
    return max(_hardly_more(count), int(AT_MOST * count))


def _hardly_more(count: int) -> int:
    """Return how many stray in all but `HARDLY` of runs: by the binomial distribution.

    scipy.stats takes longer to load than a set to read.
    """
    more = 1.0
    for strays in range(count + 1):
        more -= math.comb(count, strays) * AGAIN**strays * (1.0 - AGAIN) ** (count - strays)
        if more <= HARDLY:
            return strays
    return count


def is_wide(points: FloatArray) -> bool:
    """Return whether half of (n, 2) points, mm, lie off a straight by more than any scatter."""
    return len(points) >= MANY and bool(np.median(np.abs(fit_line(points).offsets(points))) > OUT)


def goes_to_and_fro(points: FloatArray) -> bool:
    """Return whether more of (n, 2) points, mm, must have strayed than a curve explains.

    One that strays turns the path at itself, and the other way at both of its neighbours.
    """
    if len(points) < MANY:
        return False
    step = np.diff(points, axis=0)
    turn = inner_turns(points)
    chord = points[2:] - points[:-2]
    size = np.maximum((chord**2).sum(axis=1), 1e-12)
    share = np.clip((step[:-1] * chord).sum(axis=1) / size, 0.0, 1.0)
    out = np.hypot(*(step[:-1] - share[:, None] * chord).T)
    wild = (np.abs(np.degrees(turn)) > SHARP) & (out > OUT)
    on = wild[1:] & wild[:-1] & (turn[1:] * turn[:-1] < 0.0)
    ends = np.flatnonzero(np.diff(np.pad(on.astype(int), 1)))
    pairs = ends[1::2] - ends[::2]  # of neighbours, in every stretch to and fro
    return int(np.ceil((pairs + 1) / 3.0).sum()) > most_strays(len(points))
