"""Finds a short path through strokes with fixed ends."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.strokes import FloatArray
from plotout.machine import Motion
from plotout.route.budget import Budget
from plotout.route.cost import costs, model_of
from plotout.route.exact import MOST

if TYPE_CHECKING:
    from plotout.route.ring import Net

Ints = NDArray[np.int64]

_AT_ONCE = 100
_QUADRANT, _NEIGHBOURS, _LOOKED_AT = 2, 10, 40
"""Neighbours of a node per quadrant, in all, and the number of nearest searched."""
_BLOCK = 20_000
_LONGEST = 50_000
_LONGEST_KICKED, _REVERSED = 1_000, 10_000_000
_KICKS, _FEWEST = 2, 200
"""Kicks per stroke in the first cooling, and at least; every later one is twice as long."""
_HOT = 1.0
"""How much worse a kick may leave the path at first, in mean travels."""


def shortest(
    ends: FloatArray,
    start: FloatArray,
    beyond: FloatArray,
    motion: Motion | None,
    budget: Budget,
    seed: int,
) -> tuple[Ints, NDArray[np.bool_]]:
    """Return the order of the strokes, and which of them are worked in reverse.

    ends: (n, 2, 2), mm: their starts and ends. start: (2,). beyond: (n, 2) cost of going on from
    either end once all is done. motion: if given, travel is weighed by its time, else by distance.
    """
    from plotout.route.search import laid_out, shortened

    net = _net(ends, start, beyond, motion)
    ring, desk = laid_out(_first_ring(net, motion, budget, seed))
    state = np.array([seed * 2 + 88172645463325253], dtype=np.uint64)
    shortened(net, ring, _LONGEST, 0, 0.0, state, desk)
    longest = max(_LONGEST_KICKED, _REVERSED // len(net.at))
    best, lost, least = ring.nodes.copy(), 0.0, 0.0
    hot = _HOT * _length(ring.nodes, net, motion) / len(ends)
    epoch, done = usual_steps(len(ends)), 0
    try:
        for kicks in budget.shares(len(ends), epoch, _AT_ONCE):
            if done >= epoch:
                epoch, done, lost = 2 * epoch, 0, least
                ring, desk = laid_out(best.copy())
                desk.turn[1], desk.waits[:] = 0, False
            heat = hot * (1.0 - done / epoch) ** 2
            lost -= shortened(net, ring, longest, kicks, heat, state, desk)
            done += kicks
            if lost < least - 1e-9:
                best[:], least = ring.nodes, lost
    except KeyboardInterrupt:
        budget.stopped = True
    return _read(best, len(ends), ends)


def usual_steps(strokes: int) -> int:
    """Return how many kicks are worthwhile for so many strokes; none for a few."""
    if strokes <= MOST:
        return 0
    return -(-max(_KICKS * strokes, _FEWEST) // _AT_ONCE) * _AT_ONCE


def _length(nodes: Ints, net: Net, motion: Motion | None) -> float:
    """Return the cost of the ring's travels, without those between mates and to the open end."""
    after = np.roll(nodes, -1)
    free = (net.mate[nodes] != after) & (nodes < len(nodes) - 1) & (after < len(nodes) - 1)
    return float(costs(net.at[nodes[free]], net.at[after[free]], motion).sum())


def _net(ends: FloatArray, start: FloatArray, beyond: FloatArray, motion: Motion | None) -> Net:
    from plotout.route.ring import Net

    at, mate, past = _nodes(ends, start, beyond)
    near = _neighbours(at, mate, past, motion is not None and motion.independent)
    far = costs(at[:, None], at[near], motion)
    far[-1] = past[near[-1]]
    return Net(at, mate, near, far, past, model_of(motion))


def _single(ends: FloatArray) -> NDArray[np.bool_]:
    return np.asarray((ends[:, 0] == ends[:, 1]).all(axis=1))


def _nodes(
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


def _neighbours(at: FloatArray, mate: Ints, past: FloatArray, independent: bool) -> Ints:
    """Return nodes near every node, (n, k): the nearest in every quadrant, then the nearest of all.

    The nearest alone would all lie in the same row or cluster, without a way out of it. The mate
    and the end are left out; near the end are the nodes from which it costs least.
    """
    from scipy.spatial import KDTree

    nodes = len(at) - 1
    count = min(_NEIGHBOURS, nodes - 1)
    # a tiny shift separates coincident places, which would make the tree slow
    faint = at[:-1] + np.random.default_rng(1).uniform(-1e-7, 1e-7, (nodes, 2))
    tree, norm = KDTree(faint), np.inf if independent else 2.0
    near = np.empty((nodes + 1, count), dtype=np.int64)
    for first in range(0, nodes, _BLOCK):
        some = np.arange(first, min(first + _BLOCK, nodes))
        _, found = tree.query(faint[some], k=min(_LOOKED_AT, nodes), p=norm)
        near[some] = _in_quadrants(faint, some, np.asarray(found), mate, count)
    last = np.argsort(past[:-2], kind="stable")[:count]
    near[-1] = np.resize(last, count)
    return near


def _in_quadrants(
    at: FloatArray, some: Ints, found: Ints, mate: Ints, count: int
) -> Ints:  # fmt: skip
    """Choose `count` of the nodes found near some, (m, k), the nearest first."""
    other = (found != some[:, None]) & (found != mate[some, None])
    off = at[found] - at[some, None]
    quadrant = (off[..., 0] > 0.0) * 2 + (off[..., 1] > 0.0)
    first = np.zeros(found.shape, dtype=np.bool_)
    for which in range(4):
        mine = other & (quadrant == which)
        first |= mine & (mine.cumsum(axis=1) <= _QUADRANT)
    rank = np.where(first, 0, np.where(other, 1, 2))
    kept = np.sort(np.argsort(rank, axis=1, kind="stable")[:, :count], axis=1)
    return np.take_along_axis(found, kept, axis=1)


def _first_ring(net: Net, motion: Motion | None, budget: Budget, seed: int) -> Ints:
    """Return a first ring: fragments of near nodes, ordered and turned as if they were strokes.

    These are ordered in the same way, from longer fragments (multilevel search: C. Walshaw 2002).
    """
    from plotout.route.fragments import fragments

    nodes, first = fragments(net)
    tips = np.column_stack([nodes[first[:-1]], nodes[first[1:] - 1]])
    if len(tips) > 1:
        own = Budget(None, None, len(tips))
        order, turned = shortest(net.at[tips], net.at[-2], net.beyond[tips], motion, own, seed)
        budget.stopped |= own.stopped
    else:
        whole = costs(net.at[-2], net.at[tips[0]], motion) + net.beyond[tips[0, ::-1]]
        order, turned = np.zeros(1, np.int64), whole[1:] < whole[:1]
    parts = [nodes[first[k] : first[k + 1]] for k in order.tolist()]
    turns = [-1 if back else 1 for back in turned.tolist()]
    inside = [part[::turn] for part, turn in zip(parts, turns, strict=True)]
    return np.concatenate([[len(nodes)], *inside, [len(nodes) + 1]])


def _read(ring: Ints, strokes: int, ends: FloatArray) -> tuple[Ints, NDArray[np.bool_]]:
    """Return the order and turning of the ring's strokes, from the start."""
    nodes = len(ring) - 2
    first = int(np.flatnonzero(ring == nodes)[0])
    turned = np.roll(ring, -first)
    walk = turned[1:-1] if turned[-1] == nodes + 1 else turned[:1:-1]
    double = np.flatnonzero(~_single(ends)).astype(np.int64)
    seconds = walk >= strokes
    stroke = np.where(seconds, double[np.maximum(walk - strokes, 0)] if len(double) else 0, walk)
    _, begins = np.unique(stroke, return_index=True)
    entry = np.sort(begins)
    return stroke[entry].astype(np.int64), seconds[entry]
