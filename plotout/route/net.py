"""The net of strokes with fixed ends: nodes, their neighbours, and what a ring of them means."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.nearest import nearest_in, strips_of
from plotout.geometry.strokes import FloatArray
from plotout.loops.compiled import compiled
from plotout.machine import Motion
from plotout.route.cost import costs, model_of
from plotout.route.ring import Ints, Net, Numbers

_QUADRANT, _NEIGHBOURS, _LOOKED_AT = 2, 10, 40
"""Neighbours of a node per quadrant, in all, and the number of nearest searched."""
_QUADRANTS = 4
_BLOCK = 20_000


def fixed_net(
    ends: FloatArray, start: FloatArray, beyond: FloatArray, motion: Motion | None
) -> Net:
    """Return the net of strokes with fixed ends; see `path.shortest`."""
    at, mate, past = nodes_of(ends, start, beyond)
    near = _neighbours(at, mate, past, motion is not None and motion.independent)
    far = np.empty(near.shape)
    for first in range(0, len(at), _BLOCK):
        some = slice(first, first + _BLOCK)
        far[some] = costs(at[some, None], at[near[some]], motion)
    far[-1] = past[near[-1]]
    none = np.empty(0, np.int64)
    return Net(at, mate, near, far, past, model_of(motion), np.empty((0, 3)), none, none)


def _single(ends: FloatArray) -> NDArray[np.bool_]:
    """Return which strokes are one node."""
    return np.asarray((ends[:, 0] == ends[:, 1]).all(axis=1))


def nodes_of(
    ends: FloatArray, start: FloatArray, beyond: FloatArray
) -> tuple[FloatArray, Ints, FloatArray]:
    """Return one node for a closed stroke, else two; then the start and the end."""
    double = np.flatnonzero(~_single(ends))
    n, m = len(ends), len(double)
    at = np.vstack([ends[:, 0], ends[double, 1], start[None], start[None]])
    mate = np.full(n + m + 2, -1, dtype=np.int64)
    mate[double] = n + np.arange(m)
    mate[n : n + m] = double
    mate[-2], mate[-1] = n + m + 1, n + m
    far = np.concatenate([beyond[:, 0], beyond[double, 1], [0.0, 0.0]])
    return at, mate, far


def _neighbours(at: FloatArray, mate: Ints, past: FloatArray, independent: bool) -> Numbers:
    """Return nodes near every node, (n, k): the nearest in every quadrant, then the nearest of all.

    The nearest alone would all lie in the same row or cluster, without a way out of it. The mate
    and the end are left out; near the end are the nodes from which it costs least.
    """
    nodes = len(at) - 1
    count = min(_NEIGHBOURS, nodes - 1)
    # a tiny shift separates coincident places, so that none is always the nearest
    faint = at[:-1] + np.random.default_rng(1).uniform(-1e-7, 1e-7, (nodes, 2))
    near = np.empty((nodes + 1, count), dtype=np.uint32)
    looked_at = min(_LOOKED_AT, nodes)
    strips = strips_of(faint, looked_at)
    desk = np.empty(looked_at + _QUADRANTS, np.int64)
    for first in range(0, nodes, _BLOCK):
        some = np.arange(first, min(first + _BLOCK, nodes))
        found = nearest_in(strips, faint[some], looked_at, independent=independent)
        in_quadrants(faint, first, found, mate, desk, near[first : first + len(some)])
    last = np.argsort(past[:-2], kind="stable")[:count]
    near[-1] = np.resize(last, count)
    return near


@compiled
def in_quadrants(
    at: FloatArray, first: int, found: Ints, mate: Ints, desk: Ints, near: Numbers
) -> None:
    """Choose some of the nodes found near each one, the nearest first, and write them to `near`.

    first: the first of these nodes, which follow one another. found: (m, l), near: (m, k). desk:
    (l + 4,) working memory: the rank of each, and how many were seen in every quadrant.
    """
    many = found.shape[1]
    for row in range(len(found)):
        node, left, written = first + row, near.shape[1], 0
        desk[many:] = 0
        for k in range(many):
            other = found[row, k]
            desk[k] = 2
            if other not in (node, mate[node]):
                quadrant = many
                if at[other, 0] - at[node, 0] > 0.0:
                    quadrant += 2
                if at[other, 1] - at[node, 1] > 0.0:
                    quadrant += 1
                desk[quadrant] += 1
                desk[k] = 0 if desk[quadrant] <= _QUADRANT else 1
        for rank in range(3):
            for k in range(many):
                if desk[k] == rank and left > 0:
                    desk[k] = -1
                    left -= 1
        for k in range(many):
            if desk[k] < 0:
                near[row, written] = found[row, k]
                written += 1


def walked(ring: Ints) -> Ints:
    """Return a ring's nodes from the start to the end, without these two."""
    nodes = len(ring) - 2
    turned = np.roll(ring, -int(np.flatnonzero(ring == nodes)[0]))
    return turned[1:-1] if turned[-1] == nodes + 1 else turned[:1:-1]


def strokes_of(ring: Ints, ends: FloatArray) -> tuple[Ints, NDArray[np.bool_]]:
    """Return the order and turning of the ring's strokes, from the start."""
    strokes, walk = len(ends), walked(ring)
    double = np.flatnonzero(~_single(ends)).astype(np.int64)
    seconds = walk >= strokes
    stroke = np.where(seconds, double[np.maximum(walk - strokes, 0)] if len(double) else 0, walk)
    _, begins = np.unique(stroke, return_index=True)
    entry = np.sort(begins)
    return stroke[entry].astype(np.int64), seconds[entry]
