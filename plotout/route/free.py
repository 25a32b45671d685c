"""The net of strokes of which contours may be begun anywhere, and some must come before others."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from plotout.geometry.nearest import nearest
from plotout.geometry.strokes import FloatArray
from plotout.machine import Motion
from plotout.route.cost import costs, model_of
from plotout.route.net import nodes_of, strokes_of
from plotout.route.options import Options
from plotout.route.ring import Ints, Net

_NEIGHBOURS, _LOOKED_AT = 12, 48
"""Neighbours of a node, and the number of spots searched near every spot."""
_AT_ONCE = 20_000
"""Spots whose surroundings are in memory at a time."""


def free_net(
    ends: FloatArray, options: Options, after: Ints, start: FloatArray, beyond: FloatArray,
    motion: Motion | None,
) -> Net:  # fmt: skip
    """Return the net of strokes, every contour at the first of its options.

    ends: (n, 2, 2), mm: starts and ends. after: (n,) the stroke that must come later, -1 for none.
    start: (2,). beyond: (m,) cost of going on from the options once all is done; 0 for the start.
    """
    head = options.first[:-1]
    past = np.column_stack([beyond[head], beyond[options.first[1:] - 1]])
    at, mate, past = nodes_of(ends, start, past)
    n, nodes = len(ends), len(at)
    count = np.ones(nodes, np.int64)
    count[:n] = np.where(mate[:n] < 0, np.diff(options.first), 1)
    first = np.concatenate([[0], np.cumsum(count)])
    owner = np.repeat(np.arange(nodes), count)
    own = np.arange(len(owner)) - first[owner]
    spots = np.column_stack([at, past])[owner]
    free = owner < n
    which = head[owner[free]] + own[free]
    spots[free] = np.column_stack([options.ends[which, :2], beyond[which]])
    outer = np.full(nodes, -1, np.int64) if (after >= 0).any() else np.empty(0, np.int64)
    if len(outer):
        outer[:n] = after
        outer[mate[:n][mate[:n] >= 0]] = after[mate[:n] >= 0]
    near, far = _neighbours(spots[:-1, :2], owner[:-1], mate, motion)
    last = np.resize(np.argsort(past[:-2], kind="stable"), near.shape[1])
    near, far = np.vstack([near, last]), np.vstack([far, np.zeros(near.shape[1])])
    return Net(at, mate, near.astype(np.uint32), far, past, model_of(motion), spots, first, outer)


def ring_of(places: Ints, ends: FloatArray, net: Net) -> Ints:
    """Return the ring of strokes in this order. ends: (n, 2, 2) in that order."""
    nodes = len(net.at) - 2
    mate = net.mate[places]
    turned = (mate >= 0) & (net.at[places] != ends[:, 0]).any(axis=1)
    both = np.column_stack([np.where(turned, mate, places), np.where(turned, places, mate)])
    return np.concatenate([[nodes], both[both >= 0], [nodes + 1]])


def read(ring: Ints, net: Net, at: FloatArray, ends: FloatArray) -> tuple[Ints, FloatArray]:
    """Return the order of a ring's strokes, and their starts and ends in it, (n, 2, 2).

    at: where the nodes are. ends: (n, 2, 2) of the strokes, as the net was made from them.
    """
    places, turned = strokes_of(ring, ends)
    other = np.where(net.mate[places] < 0, places, net.mate[places])
    enter, leave = np.where(turned, other, places), np.where(turned, places, other)
    return places, np.stack([at[enter], at[leave]], axis=1)


def _neighbours(
    at: FloatArray, owner: Ints, mate: Ints, motion: Motion | None
) -> tuple[Ints, FloatArray]:
    """Return nodes near every node, the nearest first, and the least costs to them, both (n, k).

    at: (m, 2) the nodes' spots; owner: (m,) their nodes. Repeated where there are fewer.
    """
    n = int(owner[-1]) + 1
    # a tiny shift separates coincident places, so that none is always the nearest
    faint = at + np.random.default_rng(1).uniform(-1e-7, 1e-7, at.shape)
    first = np.searchsorted(owner, np.arange(n + 1))
    parts = np.unique(np.searchsorted(first, np.arange(0, len(at), _AT_ONCE)).clip(max=n - 1))
    made = [
        _neighbours_of(np.arange(begin, end), first, at, faint, owner, mate, motion)
        for begin, end in pairwise([*parts.tolist(), n])
    ]
    return np.vstack([near for near, _ in made]), np.vstack([far for _, far in made])


def _neighbours_of(
    nodes: Ints, first: Ints, at: FloatArray, faint: FloatArray, owner: Ints, mate: Ints,
    motion: Motion | None,
) -> tuple[Ints, FloatArray]:  # fmt: skip
    """Return the neighbours of nodes that follow one another, (k,), as `_neighbours` does.

    first: (n + 1,) where the nodes' spots begin.
    """
    n, low, high = len(first) - 1, first[nodes[0]], first[nodes[-1] + 1]
    many = min(len(at), _LOOKED_AT)
    independent = motion is not None and motion.independent
    found = nearest(faint[low:high], faint, many, independent=independent)
    node, other = np.repeat(owner[low:high], many), owner[found.ravel()]
    gap = costs(at[low:high, None], at[found], motion).ravel()
    apart = (node != other) & (mate[node] != other)
    node, other, gap = node[apart], other[apart], gap[apart]
    rank = np.lexsort([gap, other, node])
    node, other, gap = node[rank], other[rank], gap[rank]
    least = np.append(True, (node[1:] != node[:-1]) | (other[1:] != other[:-1]))[: len(node)]
    node, other, gap = node[least], other[least], gap[least]
    rank = np.lexsort([gap, node])
    begins = np.searchsorted(node[rank], np.append(nodes, nodes[-1] + 1))
    own = np.diff(begins)[:, None]
    turn = np.minimum(np.arange(min(_NEIGHBOURS, n - 1)), np.maximum(own, 1) - 1)
    which = np.append(rank, 0)[np.minimum(begins[:-1, None] + turn, len(rank))]
    none = (nodes[:, None] + 1) % n
    near = np.where(own > 0, np.append(other, 0)[which], none)
    return near, np.where(own > 0, np.append(gap, 0.0)[which], 0.0)
