"""Shortens a path through many places: exchanges, then kicks that are kept if they help.

Places are nodes; a stroke that may be worked from either end is two nodes, called mates, which
always stay side by side; a contour is one node, which may be put at any of its spots. The path is a
ring of nodes, closed by two special ones: the start and, as its mate, the open end, whose distance
to a node is that node's entry in `beyond`.
Exchanges follow S. Lin and B. W. Kernighan (1973); a kick swaps three neighbouring stretches, and a
loss may be kept while the search is hot (O. Martin, S. W. Otto, E. W. Felten 1991).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from plotout.loops.compiled import compiled, compiled_inner
from plotout.route.exchange import exchanged
from plotout.route.put_off import put_off
from plotout.route.ring import (
    Ints,
    Net,
    Numbers,
    Random,
    Ring,
    beside,
    chance,
    cost,
    move,
    put,
    put_anew,
    signed,
    undo,
)

_MOST_MOVES = 500
"""From one kick on: a few dozen are usual. Contours within one another could all slide, one by one,
by a thousandth of what the kick costs."""
_WINDOW = 40
_WALK = 10


class Desk(NamedTuple):
    """Working memory.

    queue: (n,) ring buffer of nodes to improve from; turn: (2,) its start, and its length. waits:
    (n,) whether a node is in it. cuts: (4, 2) the edges of a kick.
    """

    queue: Numbers
    turn: Ints
    waits: NDArray[np.bool_]
    cuts: Ints


def laid_out(nodes: Ints, first: Ints) -> tuple[Ring, Desk]:
    """Return a ring of these nodes in order, and a desk with all nodes queued.

    first: where the nodes' spots begin, see `Net`; all are at their first.
    """
    count = len(nodes)
    order = nodes.astype(np.uint32)
    place = np.empty(count, np.uint32)
    place[order] = np.arange(count)
    log, logged = np.zeros((_MOST_MOVES, 4), np.int64), np.zeros(1, np.int64)
    ring = Ring(order, place, log, logged, first[:-1].copy())
    turn = np.array([0, count], np.int64)
    return ring, Desk(order.copy(), turn, np.ones(count, np.bool_), np.zeros((4, 2), np.int64))


@compiled_inner
def _enqueue(first: int, ring: Ring, desk: Desk) -> None:
    """Queue the nodes of all logged moves from the first on."""
    for index in range(first, ring.logged[0]):
        slid = ring.log[index, 1] < 0
        for part in range(3):
            node = ring.log[index, part]
            if slid:
                node = ring.log[index, 0]
                if part > 0:
                    node = beside(node, part == 1, ring)
            if not desk.waits[node]:
                desk.waits[node] = True
                last = desk.turn[0] + desk.turn[1]  # a remainder would take much longer
                desk.queue[last if last < len(desk.queue) else last - len(desk.queue)] = node
                desk.turn[1] += 1


@compiled_inner
def _slid(node: int, net: Net, ring: Ring) -> float:
    """Put a node at the spot that suits its neighbours best; return the gain."""
    begin, end = net.first[node], net.first[node + 1]
    if end - begin < 2:
        return 0.0
    a, b = beside(node, True, ring), beside(node, False, ring)
    before, now, best, best_spot = ring.pick[node], np.inf, np.inf, begin
    for spot in range(begin - 1, end):  # the present one first
        put(node, before if spot < begin else spot, net, ring)
        whole = cost(a, node, net)
        if whole < best:
            whole += cost(node, b, net)
            if spot < begin:
                now, best, best_spot = whole, whole, before
            elif whole < best - 1e-9:
                best, best_spot = whole, spot
    put(node, before, net, ring)
    if best_spot == before:
        return 0.0
    put_anew(node, best_spot, net, ring)
    return float(now - best)


@compiled_inner
def _settle(net: Net, ring: Ring, longest: int, forget: bool, desk: Desk) -> float:
    """Improve from all queued nodes until none helps; return the gain. forget: keep no log."""
    total = 0.0
    while desk.turn[1] > 0:
        node = signed(desk.queue[desk.turn[0]])
        desk.turn[0] = desk.turn[0] + 1 if desk.turn[0] + 1 < len(desk.queue) else 0
        desk.turn[1] -= 1
        won = 1.0
        while won > 0.0:
            won = 0.0
            if forget:
                ring.logged[0] = 0
            first = ring.logged[0]
            if first + 5 > len(ring.log):
                break
            if len(net.spots) > 0:
                won = _slid(node, net, ring)
            for side in range(2):
                if won == 0.0:
                    won = exchanged(node, side == 1, net, ring, longest)
            _enqueue(first, ring, desk)
            total += won
        desk.waits[node] = False
    return total


@compiled_inner
def _cuts_along(net: Net, ring: Ring, cuts: Ints, state: Random) -> None:
    """Choose four edges near one another along the ring."""
    count = len(ring.nodes)
    window = min(_WINDOW, (count - 2) // 4)
    where = int(chance(state) * count)
    for k in range(4):
        # a cut lies after the node at `where`, never between mates
        if net.mate[ring.nodes[where % count]] == ring.nodes[(where + 1) % count]:
            where += 1
        cuts[k, 0], cuts[k, 1] = ring.nodes[where % count], ring.nodes[(where + 1) % count]
        where += 1 + int(chance(state) * window)


@compiled_inner
def _cuts_about(net: Net, ring: Ring, longest: int, cuts: Ints, state: Random) -> bool:
    """Choose four edges near one another in the plane, by walks from neighbour to neighbour.

    Returns False when two of them are the same, or if more than `longest` nodes would be reversed.
    """
    count, near = len(ring.nodes), net.near
    node = int(chance(state) * count)
    for k in range(4):
        p = signed(ring.place[node])
        if net.mate[node] == beside(node, False, ring):
            p = p + 1 if p + 1 < count else 0
        n = k
        while n > 0 and cuts[n - 1, 0] > p:
            cuts[n, 0] = cuts[n - 1, 0]
            n -= 1
        cuts[n, 0] = p
        for _ in range(1 + int(chance(state) * _WALK)):
            node = signed(near[node, int(chance(state) * near.shape[1])])
    for k in range(4):
        if k > 0 and cuts[k - 1, 0] == cuts[k, 0]:
            return False
    inner = cuts[3, 0] - cuts[0, 0]
    if min(inner, count - inner) > longest:
        return False
    for k in range(4):
        cuts[k, 0] = ring.nodes[cuts[k, 0]]
        cuts[k, 1] = beside(cuts[k, 0], False, ring)
    return True


@compiled_inner
def _stirred(node: int, net: Net, ring: Ring, state: Random) -> float:
    """Put a node at any of its spots; return the added cost."""
    begin, end = net.first[node], net.first[node + 1]
    if end - begin < 2:
        return 0.0
    a, b = beside(node, True, ring), beside(node, False, ring)
    added = 0.0
    for after in range(2):
        if after == 1:
            put_anew(node, begin + int(chance(state) * (end - begin)), net, ring)
            added = -added
        added += cost(a, node, net) + cost(node, b, net)
    return float(added)


@compiled_inner
def _kick(net: Net, ring: Ring, longest: int, cuts: Ints, state: Random) -> float:
    """Swap three neighbouring stretches, in four moves; return the added cost.

    Contours at their ends are begun anywhere.
    """
    if chance(state) < 0.5 or not _cuts_about(net, ring, longest, cuts, state):
        _cuts_along(net, ring, cuts, state)
    # a b..c d..e f..g h  becomes  a f..g d..e b..c h
    change = 0.0
    for k in range(4):
        change += cost(cuts[k, 0], cuts[(k + 2) % 4, 1], net) - cost(cuts[k, 0], cuts[k, 1], net)
    a, b, c, d = cuts[0, 0], cuts[0, 1], cuts[1, 0], cuts[1, 1]
    e, f, g = cuts[2, 0], cuts[2, 1], cuts[3, 0]
    move(a, b, g, ring)  # a g..f e..d c..b h
    move(a, g, f, ring)  # a f..g e..d c..b h
    move(g, e, d, ring)  # a f..g d..e c..b h
    move(e, c, b, ring)
    change = -put_off(ring.logged[0] - 4, -change, -np.inf, net, ring)
    if len(net.spots) > 0:
        for k in range(8):
            change += _stirred(cuts[k % 4, k // 4], net, ring, state)
    return change


@compiled
def shortened(
    net: Net, ring: Ring, longest: int, kicks: int, heat: float, state: Random, desk: Desk
) -> float:
    """Improve the ring in place; return the gain.

    Without kicks: from all queued nodes until no exchange helps. With kicks: that many times, swap
    three neighbouring stretches at random, settle around them, and keep the result if it is no
    worse or, with a probability that falls with the loss relative to `heat`, if it is.

    longest: the most nodes that one move may reverse.
    """
    total = 0.0
    for _ in range(max(kicks, 1)):
        ring.logged[0] = 0
        first = ring.logged[0]
        change = 0.0
        if kicks > 0:
            change = _kick(net, ring, longest, desk.cuts, state)
            _enqueue(first, ring, desk)
        won = _settle(net, ring, longest, kicks == 0, desk) - change
        if won < heat * np.log(1.0 - chance(state)) - 1e-9:
            undo(first, net, ring)
        else:
            total += won
    return total
