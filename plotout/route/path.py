"""The shortest path found through strokes whose ends stand fast."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.strokes import FloatArray
from plotout.route.budget import Budget

Ints = NDArray[np.int64]

_AT_ONCE = 200
_NEIGHBOURS = 8
_LONGEST = 50_000
_LONGEST_KICKED = 1_000
_KICKS, _FEW = 10, 1_000
"""Kicks for each of few nodes, up to so many in all; of more nodes each gets one."""
_IN_VAIN = 400
"""Kicks in a row that gained nothing: improvement has dried up."""


def shortest(
    ends: FloatArray,
    start: FloatArray,
    beyond: FloatArray,
    model: FloatArray,
    budget: Budget,
    seed: int,
) -> tuple[Ints, NDArray[np.bool_]]:
    """Return the order of the strokes and which of them are worked from their end.

    ends: (n, 2, 2), mm: where each begins and ends. start: (2,). beyond: (n, 2) cost of going on
    from either end once all is done. model: see plotout.route.cost.
    """
    from plotout.route.ring import Net
    from plotout.route.search import laid_out, lin_kernighan

    at, mate, far = _nodes(ends, start, beyond)
    near = _neighbours(at, mate, far, model)
    ring, desk = laid_out(_curve(at, mate))
    state = np.array([seed * 2 + 88172645463325253], dtype=np.uint64)
    net = Net(at, mate, near, far, model)
    lin_kernighan(net, ring, _LONGEST, 0, state, desk)
    longest = max(_LONGEST_KICKED, 30_000 if len(at) < 30_000 else 0)
    in_vain = 0
    try:
        for kicks in budget.shares(len(ends), usual_steps(len(at)), _AT_ONCE):
            gain = lin_kernighan(net, ring, longest, kicks, state, desk)
            in_vain = 0 if gain > 0.0 else in_vain + kicks
            if in_vain >= _IN_VAIN and not budget.asked:
                break
    except KeyboardInterrupt:
        budget.stopped = True
    return _read(ring.nodes, len(ends), ends)


def usual_steps(nodes: int) -> int:
    """Return how many kicks are worth their time for so many nodes."""
    return max(nodes, min(_KICKS * nodes, _FEW))


def _single(ends: FloatArray) -> NDArray[np.bool_]:
    return np.asarray((ends[:, 0] == ends[:, 1]).all(axis=1))


def _nodes(
    ends: FloatArray, start: FloatArray, beyond: FloatArray
) -> tuple[FloatArray, Ints, FloatArray]:
    """One node for a stroke that ends where it begins, else two; then the start and the end."""
    double = np.flatnonzero(~_single(ends))
    n, m = len(ends), len(double)
    at = np.vstack([ends[:, 0], ends[double, 1], start[None], start[None]])
    mate = np.full(n + m + 2, -1, dtype=np.int64)
    mate[double] = n + np.arange(m)
    mate[n : n + m] = double
    mate[-2], mate[-1] = n + m + 1, n + m
    far = np.concatenate([beyond[:, 0], beyond[double, 1], [0.0, 0.0]])
    return at, mate, far


def _neighbours(at: FloatArray, mate: Ints, far: FloatArray, model: FloatArray) -> Ints:
    """The nearest nodes of each, (n, k), the nearest first; the mate and the end left out."""
    from scipy.spatial import KDTree

    nodes = len(at) - 1
    count = min(_NEIGHBOURS, nodes - 1)
    norm = np.inf if model[0] == 2.0 else 2.0
    # a faint shift parts places that lie upon one another, which else make the tree slow
    faint = np.random.default_rng(1).uniform(-1e-7, 1e-7, (nodes, 2))
    _, found = KDTree(at[:-1] + faint).query(at[:-1] + faint, k=min(count + 2, nodes), p=norm)
    nearest: Ints = np.asarray(found, dtype=np.int64).reshape(nodes, -1)
    wrong = (nearest == np.arange(nodes)[:, None]) | (nearest == mate[:-1, None])
    rank = np.argsort(wrong, axis=1, kind="stable")
    kept = np.take_along_axis(nearest, rank, axis=1)[:, :count]
    last = np.argsort(far[:-2], kind="stable")[:count].astype(np.int64)
    last = np.resize(last, count)
    near = np.vstack([kept, last[None]]).astype(np.int64)
    if count == nodes - 1:  # too few nodes to leave out the mate
        return _without_mates(near, mate)
    return near


def _without_mates(near: Ints, mate: Ints) -> Ints:
    rows = [[k for k in row if k not in (mate[nth], nth)] for nth, row in enumerate(near.tolist())]
    width = max(min(len(row) for row in rows), 1)
    return np.array([(row or [0])[:width] for row in rows], dtype=np.int64)


def _curve(at: FloatArray, mate: Ints) -> Ints:
    """A first ring: along a space-filling curve (D. Hilbert 1891), mates side by side."""
    nodes = len(at) - 2
    firsts = np.flatnonzero((mate[:-2] < 0) | (mate[:-2] > np.arange(nodes)))
    middle = (at[firsts] + np.where(mate[firsts, None] >= 0, at[mate[firsts]], at[firsts])) / 2.0
    low, size = middle.min(axis=0), max(float(np.ptp(middle, axis=0).max()), 1e-9)
    grid = ((middle - low) / size * 65535.0).astype(np.int64)
    ring = [nodes]
    for node in firsts[np.argsort(_hilbert(grid), kind="stable")].tolist():
        ring.append(node)
        if mate[node] >= 0:
            ring.append(int(mate[node]))
    return np.array([*ring, nodes + 1], dtype=np.int64)


def _hilbert(grid: NDArray[np.int64]) -> NDArray[np.int64]:
    x, y = grid[:, 0].copy(), grid[:, 1].copy()
    along = np.zeros(len(grid), dtype=np.int64)
    side = 32768
    while side:
        right, up = ((x & side) > 0).astype(np.int64), ((y & side) > 0).astype(np.int64)
        along += side * side * ((3 * right) ^ up)
        turn, flip = up == 0, (up == 0) & (right == 1)
        x[flip], y[flip] = 65535 - x[flip], 65535 - y[flip]
        x[turn], y[turn] = y[turn], x[turn].copy()
        side //= 2
    return along


def _read(ring: Ints, strokes: int, ends: FloatArray) -> tuple[Ints, NDArray[np.bool_]]:
    """The order and turning of the strokes that the ring stands for, from the start on."""
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
