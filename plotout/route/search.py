"""Shortens a path through many places: Lin-Kernighan moves, then kicks that are kept if they help.

Places are nodes; a stroke that may be worked from either end is two nodes, each the other's mate,
which always stay side by side. The path is a ring of nodes in `ring`, closed by two special ones:
the start and, its mate, the open end, whose distance to a node is that node's entry in `beyond`.
After S. Lin and B. W. Kernighan (1973), carried out as reversals of the ring; the kick swaps three
neighbouring stretches (O. Martin, S. W. Otto, E. W. Felten 1991).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.strokes import FloatArray
from plotout.route.compiled import compiled, compiled_inner
from plotout.route.ring import Ints, after, before, cost, move, random, span
from plotout.route.shift import reinserted

LEVELS = 3
_MOST_MOVES = 2000
_WINDOW = 30


@compiled_inner
def _improve(  # noqa: PLR0912, PLR0915 one compiled loop
    t1: int,
    at: FloatArray,
    mate: Ints,
    near: Ints,
    beyond: FloatArray,
    model: FloatArray,
    ring: Ints,
    place: Ints,
    longest: int,
    log: Ints,
    logged: int,
    trial: Ints,
    value: FloatArray,
) -> tuple[float, int]:
    """Find one improving chain of moves from t1; return its gain (0: none) and the log's length.

    trial: (LEVELS, 5, 2) and value: (LEVELS, 5) are scratch.
    """
    end = len(at) - 1
    first = logged
    count = np.zeros(LEVELS, np.int32)
    taken = np.zeros(LEVELS, np.int32)
    twos = np.zeros(LEVELS + 1, np.int32)
    opened = np.zeros(LEVELS + 1)
    for side in range(2):
        t2 = after(t1, ring, place) if side == 0 else before(t1, ring, place)
        if mate[t1] == t2:
            continue
        level = 0
        twos[0] = t2
        opened[0] = cost(t1, t2, at, beyond, model)
        fresh = True
        while level >= 0:
            t2 = twos[level]
            if fresh:
                width = 5 if level == 0 else (3 if level == 1 else 1)
                count[level] = 0
                taken[level] = 0
                forward = after(t1, ring, place) == t2
                for k in range(-1, near.shape[1]):
                    t4 = end if k < 0 else near[t2, k]
                    if k < 0 and t2 == end:
                        continue
                    left = opened[level] - cost(t2, t4, at, beyond, model)
                    if left <= 1e-10:
                        if k < 0:
                            continue
                        break
                    t3 = before(t4, ring, place) if forward else after(t4, ring, place)
                    if t4 == t1 or t3 == t2 or t4 == t2 or mate[t3] == t4:  # noqa: SIM109, PLR1714
                        continue
                    worth = left + cost(t3, t4, at, beyond, model)
                    if k < 0 and worth <= cost(t3, t1, at, beyond, model):
                        continue  # going to the end is cheap from anywhere: only if it helps now
                    if span(t1, t2, t3, ring, place) > longest:
                        continue
                    n = count[level]
                    if n == width:
                        if worth <= value[level, n - 1]:
                            continue
                        n -= 1
                    while n > 0 and value[level, n - 1] < worth:
                        value[level, n] = value[level, n - 1]
                        trial[level, n, 0] = trial[level, n - 1, 0]
                        trial[level, n, 1] = trial[level, n - 1, 1]
                        n -= 1
                    value[level, n] = worth
                    trial[level, n, 0] = t3
                    trial[level, n, 1] = t4
                    count[level] = min(count[level] + 1, width)
                fresh = False
            if taken[level] < count[level]:
                n = taken[level]
                taken[level] += 1
                t3 = trial[level, n, 0]
                won = value[level, n] - cost(t3, t1, at, beyond, model)
                if level + 1 == LEVELS and won <= 1e-9:
                    continue
                if logged >= len(log):
                    while logged > first:
                        logged -= 1
                        move(log[logged, 0], log[logged, 2], log[logged, 1], ring, place)
                    return 0.0, logged
                move(t1, t2, t3, ring, place)
                log[logged, 0], log[logged, 1], log[logged, 2] = t1, t2, t3
                logged += 1
                if won > 1e-9:
                    return won, logged
                level += 1
                twos[level] = t3
                opened[level] = value[level - 1, n]
                fresh = True
            else:
                level -= 1
                if level >= 0:
                    logged -= 1
                    move(log[logged, 0], log[logged, 2], log[logged, 1], ring, place)
    return 0.0, logged


@compiled_inner
def _settle(
    queue: Ints,
    queued: NDArray[np.bool_],
    waiting: int,
    at: FloatArray,
    mate: Ints,
    near: Ints,
    beyond: FloatArray,
    model: FloatArray,
    ring: Ints,
    place: Ints,
    longest: int,
    log: Ints,
    logged: int,
    keep_log: bool,
    trial: Ints,
    value: FloatArray,
) -> tuple[float, int]:
    """Improve from every queued node until none helps; return the gain and the log's length."""
    total = 0.0
    head = 0
    size = len(queue)
    while waiting > 0:
        node = queue[head]
        head = head + 1 if head + 1 < size else 0
        waiting -= 1
        queued[node] = False
        while True:
            if not keep_log:
                logged = 0
            first = logged
            won, logged = _improve(
                node, at, mate, near, beyond, model, ring, place, longest, log, logged, trial, value
            )
            if won <= 0.0:
                won, logged = reinserted(
                    node, at, mate, near, beyond, model, ring, place, longest, log, logged
                )
            if won <= 0.0:
                break
            total += won
            for entry in range(first, logged):
                for part in range(3):
                    touched = log[entry, part]
                    if not queued[touched] and touched != node:
                        queued[touched] = True
                        queue[(head + waiting) % size] = touched
                        waiting += 1
    return total, logged


@compiled_inner
def _kick(
    at: FloatArray,
    mate: Ints,
    beyond: FloatArray,
    model: FloatArray,
    ring: Ints,
    place: Ints,
    log: Ints,
    state: NDArray[np.uint64],
) -> float:
    """Swap three neighbouring stretches; log the four moves and return the cost that it adds."""
    count = len(ring)
    window = min(_WINDOW, (count - 2) // 4)
    node = np.empty(8, np.int32)
    where = random(state, count)
    for k in range(4):
        # a cut lies after the node at `where`, never between mates
        if mate[ring[where % count]] == ring[(where + 1) % count]:
            where += 1
        node[2 * k], node[2 * k + 1] = ring[where % count], ring[(where + 1) % count]
        where += 1 + random(state, window)
    a, b, c, d = node[0], node[1], node[2], node[3]
    e, f, g, h = node[4], node[5], node[6], node[7]
    # a b..c d..e f..g h  becomes  a f..g d..e b..c h
    change = 0.0
    for one, other in ((a, f), (g, d), (e, b), (c, h)):
        change += cost(one, other, at, beyond, model)
    for k in range(4):
        change -= cost(node[2 * k], node[2 * k + 1], at, beyond, model)
    # a g..f e..d c..b h, a f..g e..d c..b h, a f..g d..e c..b h, a f..g d..e b..c h
    moves = ((a, b, g), (a, g, f), (g, e, d), (e, c, b))
    for k in range(4):
        one, other, third = moves[k]
        move(one, other, third, ring, place)
        log[k, 0], log[k, 1], log[k, 2] = one, other, third
    return change


@compiled
def lin_kernighan(
    at: FloatArray,
    mate: Ints,
    near: Ints,
    beyond: FloatArray,
    model: FloatArray,
    ring: Ints,
    longest: int,
    kicks: int,
    state: NDArray[np.uint64],
) -> float:
    """Improve the ring in place; return the gain.

    Without kicks, until no chain of moves helps. With kicks: that many times, swap three
    neighbouring stretches at random, settle about them, and keep what is no worse.

    at: (n, 2), mm, the start and the end last. mate: (n,), -1 for none. near: (n, k) nearest
    nodes, the nearest first. beyond: (n,) cost from each node to the end. longest: most nodes that
    one move may reverse. state: (1,) the random numbers' state, moved on.
    """
    count = len(ring)
    place = np.empty(count, np.int32)
    queue = np.empty(count, np.int32)
    for k in range(count):
        place[ring[k]] = k
        queue[k] = ring[k]
    queued = np.zeros(count, np.bool_)
    log = np.empty((_MOST_MOVES, 3), np.int32)
    trial = np.empty((LEVELS, 5, 2), np.int32)
    value = np.empty((LEVELS, 5))
    total = 0.0
    if count < 10 and kicks > 0:
        return 0.0
    waiting = count
    if kicks == 0:
        queued[:] = True
    logged = 0
    for _ in range(max(kicks, 1)):
        change = 0.0
        if kicks > 0:
            change = _kick(at, mate, beyond, model, ring, place, log, state)
            logged = 4
            waiting = 0
            for k in range(4):
                for part in range(3):
                    node = log[k, part]
                    if not queued[node]:
                        queued[node] = True
                        queue[waiting] = node
                        waiting += 1
        gain, logged = _settle(
            queue, queued, waiting, at, mate, near, beyond, model,
            ring, place, longest, log, logged, kicks > 0, trial, value,
        )  # fmt: skip
        if change - gain > 1e-9:
            for k in range(logged - 1, -1, -1):
                move(log[k, 0], log[k, 2], log[k, 1], ring, place)
        else:
            total += gain - change
    return total
