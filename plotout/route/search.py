"""Shortens a path through many places: Lin-Kernighan moves, then kicks that are kept if they help.

Places are nodes; a stroke that may be worked from either end is two nodes, each the other's mate,
which always stay side by side. The path is a ring of nodes, closed by two special ones: the start
and, its mate, the open end, whose distance to a node is that node's entry in `beyond`.
After S. Lin and B. W. Kernighan (1973), carried out as reversals of the ring; the kick swaps three
neighbouring stretches (O. Martin, S. W. Otto, E. W. Felten 1991).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.strokes import FloatArray
from plotout.route.compiled import compiled, compiled_inner
from plotout.route.ring import Ints, Net, Random, Ring, beside, chance, cost, move, undo
from plotout.route.shift import reinserted

_MOST_MOVES = 2000
_WINDOW = 30
_WIDTH = 5


class Desk(NamedTuple):
    """Room to work in.

    trial, worth: (w,) moves that are tried first; trial_2, worth_2: those tried after one of them.
    queue: (n,) nodes to improve from, round and round; turn: (2,) where it begins, and how many
    wait. waits: (n,) whether a node is among them. cuts: (4, 2) the edges that a kick takes.
    """

    trial: Ints
    worth: FloatArray
    trial_2: Ints
    worth_2: FloatArray
    queue: Ints
    turn: Ints
    waits: NDArray[np.bool_]
    cuts: Ints


def laid_out(nodes: Ints) -> tuple[Ring, Desk]:
    """Return a ring of these nodes in turn, and a desk on which every node waits."""
    count = len(nodes)
    place = np.empty(count, np.int64)
    place[nodes] = np.arange(count)
    ring = Ring(nodes, place, np.zeros((_MOST_MOVES, 3), np.int64), np.zeros(1, np.int64))
    desk = Desk(
        np.zeros(_WIDTH, np.int64), np.zeros(_WIDTH), np.zeros(_WIDTH, np.int64), np.zeros(_WIDTH),
        nodes.copy(), np.array([0, count], np.int64), np.ones(count, np.bool_),
        np.zeros((4, 2), np.int64),
    )  # fmt: skip
    return ring, desk


@compiled_inner
def _promising(
    t1: int, t2: int, opened: float, longest: int, net: Net, ring: Ring, trial: Ints,
    worth: FloatArray,
) -> int:  # fmt: skip
    """Lay out the most promising moves that open edge (t1, t2); return how many they are.

    opened: what has been won so far with (t1, t2) open. trial: (w,) the nodes that these moves lead
    to, and worth: (w,) what is won by then.
    """
    end = len(net.at) - 1
    count = 0
    back = ring.place[t2] == (ring.place[t1] + 1) % len(ring.nodes)
    for k in range(-1, net.near.shape[1]):
        t4 = end if k < 0 else net.near[t2, k]
        left = opened - cost(t2, t4, net)
        if left <= 1e-10 and k >= 0:
            break
        t3 = beside(t4, back, ring)
        if t4 == t1 or t3 == t2 or t4 == t2 or net.mate[t3] == t4:  # noqa: SIM109, PLR1714
            continue
        won = left + cost(t3, t4, net)
        if k < 0 and (left <= 1e-10 or won <= cost(t3, t1, net)):
            continue  # going to the end is cheap from anywhere: only if it helps now
        inner = abs(ring.place[t3] - ring.place[t2])
        if min(inner, len(ring.nodes) - inner) > longest:
            continue
        n = count
        if count < len(trial):
            count += 1
        elif won <= worth[n - 1]:
            continue
        else:
            n -= 1
        while n > 0 and worth[n - 1] < won:
            worth[n], trial[n] = worth[n - 1], trial[n - 1]
            n -= 1
        worth[n], trial[n] = won, t3
    return count


@compiled_inner
def _chain(t1: int, t2: int, net: Net, ring: Ring, longest: int, desk: Desk) -> float:
    """Make the first chain of one or two moves from edge (t1, t2) that gains; return its gain."""
    kept = ring.logged[0]
    opened = cost(t1, t2, net)
    for n in range(_promising(t1, t2, opened, longest, net, ring, desk.trial, desk.worth)):
        t3 = desk.trial[n]
        move(t1, t2, t3, ring)
        won = desk.worth[n] - cost(t3, t1, net)
        if won > 1e-9:
            return float(won)
        count = _promising(t1, t3, desk.worth[n], longest, net, ring, desk.trial_2, desk.worth_2)
        for m in range(count):
            t5 = desk.trial_2[m]
            won = desk.worth_2[m] - cost(t5, t1, net)
            if won > 1e-9:
                move(t1, t3, t5, ring)
                return float(won)
        undo(kept, ring)
    return 0.0


@compiled_inner
def _enqueue(first: int, ring: Ring, desk: Desk) -> None:
    """Let the nodes of all logged moves from the first on wait for their turn."""
    for nth in range(first, ring.logged[0]):
        for part in range(3):
            node = ring.log[nth, part]
            if not desk.waits[node]:
                desk.waits[node] = True
                desk.queue[(desk.turn[0] + desk.turn[1]) % len(desk.queue)] = node
                desk.turn[1] += 1


@compiled_inner
def _settle(net: Net, ring: Ring, longest: int, forget: bool, desk: Desk) -> float:
    """Improve from every node that waits until none helps; return the gain. forget: keep no log."""
    total = 0.0
    while desk.turn[1] > 0:
        node = desk.queue[desk.turn[0]]
        desk.turn[0] = (desk.turn[0] + 1) % len(desk.queue)
        desk.turn[1] -= 1
        won = 1.0
        while won > 0.0:
            won = 0.0
            if forget:
                ring.logged[0] = 0
            first = ring.logged[0]
            if first + 5 > len(ring.log):
                break
            for side in range(2):
                t2 = beside(node, side == 1, ring)
                if won == 0.0 and net.mate[node] != t2:
                    won = _chain(node, t2, net, ring, longest, desk)
            if won == 0.0:
                won = reinserted(node, net, ring, longest)
            _enqueue(first, ring, desk)
            total += won
        desk.waits[node] = False
    return total


@compiled_inner
def _kick(net: Net, ring: Ring, cuts: Ints, state: Random) -> float:
    """Swap three neighbouring stretches, in four moves; return the cost that it adds."""
    count = len(ring.nodes)
    window = min(_WINDOW, (count - 2) // 4)
    where = int(chance(state) * count)
    for k in range(4):
        # a cut lies after the node at `where`, never between mates
        if net.mate[ring.nodes[where % count]] == ring.nodes[(where + 1) % count]:
            where += 1
        cuts[k, 0], cuts[k, 1] = ring.nodes[where % count], ring.nodes[(where + 1) % count]
        where += 1 + int(chance(state) * window)
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
    return change


@compiled
def lin_kernighan(
    net: Net, ring: Ring, longest: int, kicks: int, state: Random, desk: Desk
) -> float:
    """Improve the ring in place; return the gain.

    Without kicks, from each node that waits until no chain of moves helps. With kicks: that many
    times, swap three neighbouring stretches at random, settle about them, and keep what is
    no worse.

    longest: most nodes that one move may reverse.
    """
    total = 0.0
    for _ in range(max(kicks, 1)):
        ring.logged[0] = 0
        first = ring.logged[0]
        change = 0.0
        if kicks > 0:
            change = _kick(net, ring, desk.cuts, state)
            _enqueue(first, ring, desk)
        won = _settle(net, ring, longest, kicks == 0, desk) - change
        if won < -1e-9:
            undo(first, ring)
        else:
            total += won
    return total
