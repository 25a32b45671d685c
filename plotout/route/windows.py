"""Windows in the plane: their nodes are ordered by themselves, while the rest of a ring is held.

A move in a long ring may reverse thousands of nodes that lie apart in memory, so that a kick takes
longer, the more nodes there are. In a window, what the ring does outside is a stroke from where it
leaves to where it comes back, and the ring of these is short (parts of the plane: R. M. Karp 1977;
a tour in part of it: K. Helsgaun 2009).
"""

from __future__ import annotations

import numpy as np

from plotout.geometry.strokes import FloatArray
from plotout.machine import Motion
from plotout.route.held import Held, held
from plotout.route.net import walked
from plotout.route.ring import Ints, Net

_NODES = 4_000
"""In a window, at most: half as many take less time, but find less where travels are short."""
_FEWEST = 4
SHIFTS = (0.0, 0.5)
"""Of a window's width and height: what one pass holds at the windows' edges, the next one frees."""


def too_long(net: Net) -> bool:
    """Return whether a net has so many nodes, all with fixed places, that windows are quicker."""
    return len(net.at) > 3 * _NODES and not len(net.spots)


def windows(net: Net, shift: float) -> list[Ints]:
    """Return the nodes of every window, without the start and the end. shift: see `SHIFTS`."""
    at = net.at[:-2]
    count = -(-len(at) // _NODES)
    width, height = np.ptp(at, axis=0) + 1e-9
    across = min(max(round(float(np.sqrt(count * width / height))), 1), count)
    return [
        column[row]
        for column in _bands(at[:, 0], across, shift)
        for row in _bands(at[column, 1], -(-count // across), shift)
    ]


def _bands(values: FloatArray, count: int, shift: float) -> list[Ints]:
    """Return indices of the values in so many bands of as many each; shifted ones are one more."""
    bounds = np.arange(1 - shift, count) * len(values) / count
    return np.split(np.argsort(values, kind="stable"), bounds.astype(np.int64))


def opened(ring: Ints, net: Net, inside: Ints, motion: Motion | None) -> Held | None:
    """Return the ring parted at every travel between two of these nodes; None if there are few."""
    free = np.zeros(len(net.at), np.bool_)
    free[inside] = free[-2:] = True
    whole = np.concatenate([[len(ring) - 2], walked(ring), [len(ring) - 1]])
    one, other = whole[:-1], whole[1:]
    cuts = np.flatnonzero(free[one] & free[other] & (net.mate[one] != other)) + 1
    if len(cuts) <= _FEWEST:
        return None
    return held(np.split(whole, cuts), net, motion)
