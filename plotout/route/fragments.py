"""Links places that are near one another to fragments of a path, the shortest travels first.

A good path holds most of the shortest travels (greedy edges: J. L. Bentley 1992). Letters, rows of
holes and dashes become fragments of many strokes, which can then be ordered like strokes.
"""

from __future__ import annotations

import numpy as np

from plotout.geometry.nearest import end_of
from plotout.loops.compiled import compiled
from plotout.route.ring import Ints, Net

_NEAREST = 5
"""Neighbours of a node to which it may be linked."""


def fragments(net: Net) -> tuple[Ints, Ints]:
    """Return all nodes but the start and the end, fragment by fragment, and where these begin.

    The second has one number more than there are fragments. A fragment holds both mates or neither.
    """
    count = len(net.at) - 2
    near = net.near[:count, :_NEAREST].astype(np.int64)
    one, other = np.repeat(np.arange(count), near.shape[1]), near.ravel()
    rank = np.argsort(net.far[:count, :_NEAREST], axis=None, kind="stable")
    rank = rank[other[rank] < count]
    links = np.column_stack([net.mate[:count], np.full(count, -1)])
    nodes, first = np.empty(count, np.int64), np.empty(count + 1, np.int64)
    found = linked(one[rank], other[rank], links, np.arange(count), nodes, first)
    return nodes, first[: found + 1].copy()


@compiled
def linked(one: Ints, other: Ints, links: Ints, top: Ints, nodes: Ints, first: Ints) -> int:
    """Link nodes, then write them to `nodes` fragment by fragment; return how many there are.

    one, other: (m,) the ends of possible links, in order. links: (n, 2) the nodes beside a node,
    -1 for none; at first its mate. top: (n,) 0 to n - 1. first: (n + 1,) where fragments begin.
    """
    count = len(links)
    for k in range(count):
        if links[k, 0] > k:
            top[links[k, 0]] = k
    for edge in range(len(one)):
        a, b = one[edge], other[edge]
        if links[a, 1] >= 0 or links[b, 1] >= 0:
            continue
        root_a, root_b = end_of(a, top), end_of(b, top)  # of the trees of linked nodes
        if root_a == root_b:
            continue
        top[root_b] = root_a
        links[a, 0 if links[a, 0] < 0 else 1] = b
        links[b, 0 if links[b, 0] < 0 else 1] = a
    found, written = 0, 0
    for tip in range(count):
        if top[tip] < 0 or links[tip, 1] >= 0:
            continue  # it is written, or within a fragment
        first[found] = written
        found += 1
        before, at = -1, tip
        while at >= 0:
            nodes[written] = at
            written += 1
            top[at] = -1
            ahead = links[at, 0] if links[at, 0] != before else links[at, 1]
            before, at = at, ahead
    first[found] = written
    return found
