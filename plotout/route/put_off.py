"""Puts nodes off until all that must come before them are done.

Any exchange may so be tried where strokes have precedence: a stretch of nested contours that is
reversed becomes these nests in reverse order, each from the inside to the outside as before.
"""

from __future__ import annotations

from plotout.loops.compiled import compiled_inner
from plotout.route.ring import Net, Ring, cost, move, signed, undo

_MOVES = 9
"""The log's places that must be free for what an exchange still logs."""


@compiled_inner
def _sense(ring: Ring) -> tuple[int, int]:
    """Return the start's place in the ring, and 1 if the path leads up from it, else -1."""
    count = len(ring.nodes)
    zero = signed(ring.place[count - 2])
    return zero, -1 if ring.nodes[zero + 1 if zero + 1 < count else 0] == count - 1 else 1


@compiled_inner
def _ahead(node: int, zero: int, turn: int, ring: Ring) -> int:
    """Return how many places a node is after the start, along the path.

    zero, turn: see `_sense`.
    """
    off = (signed(ring.place[node]) - zero) * turn
    return int(off + len(ring.nodes) if off < 0 else off)


@compiled_inner
def _at(ahead: int, zero: int, turn: int, ring: Ring) -> int:
    """Return the node so many places after the start, along the path."""
    p, count = zero + turn * ahead, len(ring.nodes)
    if p < 0:
        p += count
    elif p >= count:
        p -= count
    return signed(ring.nodes[p])


@compiled_inner
def put_off(kept: int, gain: float, least: float, net: Net, ring: Ring) -> float:
    """Put nodes off that the moves since `kept` brought before their inner ones; return the gain.

    gain: of these moves alone. If less than `least` is left of it, undo them and return 0.
    """
    if len(net.outer) == 0:
        return gain
    zero, turn = _sense(ring)
    low, high = len(ring.nodes), 0
    for index in range(kept, ring.logged[0]):
        for part in range(4):
            p = _ahead(ring.log[index, part], zero, turn, ring)
            low, high = min(low, p), max(high, p)
    p = low
    while p <= high:
        x = _at(p, zero, turn, ring)
        p += 1
        o = net.outer[x]
        if o < 0:
            continue
        r, e = _ahead(o, zero, turn, ring), o
        if r >= p or (net.mate[x] >= 0 and _ahead(net.mate[x], zero, turn, ring) == p):
            continue
        if net.mate[o] >= 0:
            e = net.mate[o]
            if _ahead(e, zero, turn, ring) < r:
                o, e, r = e, o, r - 1
        size = 1 if e == o else 2
        # a o..e b..x y becomes a b..x e..o y
        a, b = _at(r - 1, zero, turn, ring), _at(r + size, zero, turn, ring)
        y = _at(p, zero, turn, ring)
        for sign in range(1, -2, -2):  # not written twice, since every cost is compiled apart
            one, two, three, four = (o, e, b, x) if sign > 0 else (b, x, e, o)
            gain += sign * (cost(a, one, net) + cost(two, three, net) + cost(four, y, net))
        if gain < least or ring.logged[0] + _MOVES > len(ring.log):
            undo(kept, net, ring)
            return 0.0
        move(a, o, x, ring)
        move(a, x, b, ring)
        zero, turn = _sense(ring)
        p -= size
    return gain
