"""Moves that replace two or three travels of the ring by shorter ones.

All sequential exchanges of three (S. Lin 1965), found by the gain criterion of S. Lin and B. W.
Kernighan (1973) along lists of neighbours; they include moving a stretch elsewhere, reversed or
not. They are evaluated by places alone: nothing is reversed before its gain is known, but for what
must then be put off.
"""

from __future__ import annotations

from plotout.loops.compiled import compiled_inner
from plotout.route.put_off import put_off
from plotout.route.ring import Net, Ring, beside, cost, move, signed

_LEAST = 1e-9


@compiled_inner
def _off(node: int, zero: int, back: bool, count: int, ring: Ring) -> int:
    """Return how many places a node is after place `zero`, or before it if back."""
    off = signed(ring.place[node]) - zero
    if back:
        off = -off
    return int(off + count if off < 0 else off)


@compiled_inner
def _turned(
    t1: int, t2: int, t3: int, left: float, longest: int, back: bool, net: Net, ring: Ring
) -> float:
    """Reverse the stretch from t2 to before t3, and perhaps one more, if that gains.

    t1 lies before t2; left: the gain with t1 and t2 parted and t2 joined to t3.
    """
    count, zero = len(ring.nodes), signed(ring.place[t2])
    i = _off(t3, zero, back, count, ring)
    t4 = beside(t3, not back, ring)
    if net.mate[t3] == t4 or min(i, count - i) > longest:
        return 0.0
    won = left + cost(t3, t4, net)
    gain = won - cost(t4, t1, net)
    if gain > _LEAST:
        move(t1, t2, t4, ring)
        return float(gain)
    for m in range(net.near.shape[1]):
        rest = won - net.far[t4, m]
        if rest <= _LEAST:
            break
        t5 = signed(net.near[t4, m])
        if len(net.spots) > 0:
            rest = won - cost(t4, t5, net)
            if rest <= _LEAST:
                continue
        j = _off(t5, zero, back, count, ring)
        if j in (i - 1, i) or min(j, count - j) > longest:
            continue
        t6 = beside(t5, (j > i) != back, ring)
        if net.mate[t5] == t6 or t6 == t4:
            continue
        gain = rest + cost(t5, t6, net) - cost(t6, t1, net)
        if gain > _LEAST:
            move(t1, t2, t4, ring)
            move(t1, t4, t6, ring)
            return float(gain)
    return 0.0


@compiled_inner
def _parted(
    t1: int, t2: int, t3: int, left: float, longest: int, back: bool, net: Net, ring: Ring
) -> float:
    """Part the stretch from t2 to t3 in two, and swap or reverse these, if that gains.

    Joined to t2, t3 closes the stretch to a separate ring, which is opened at t5 and put before t4.
    """
    count, zero = len(ring.nodes), signed(ring.place[t2])
    i = _off(t3, zero, back, count, ring)
    t4 = beside(t3, back, ring)
    if net.mate[t3] == t4 or min(i, count - i) > longest:
        return 0.0
    won = left + cost(t3, t4, net)
    for m in range(net.near.shape[1]):
        rest = won - net.far[t4, m]
        if rest <= _LEAST:
            break
        t5 = signed(net.near[t4, m])
        if len(net.spots) > 0:
            rest = won - cost(t4, t5, net)
            if rest <= _LEAST:
                continue
        j = _off(t5, zero, back, count, ring)
        if j >= i:
            continue
        for side in range(2):
            t6 = beside(t5, (side == 0) != back, ring)
            if (side == 0 and j == 0) or net.mate[t5] == t6:
                continue
            gain = rest + cost(t5, t6, net) - cost(t6, t1, net)
            if gain <= _LEAST:
                continue
            if side == 0:
                move(t1, t2, t6, ring)
                move(t2, t5, t3, ring)
            else:
                move(t1, t2, t3, ring)
                move(t1, t3, t6, ring)
                move(t3, t5, t2, ring)
            return float(gain)
    return 0.0


@compiled_inner
def exchanged(t1: int, back: bool, net: Net, ring: Ring, longest: int) -> float:
    """Make the first exchange that gains and parts t1 from the node beside it; return its gain.

    longest: the most nodes that one move may reverse.
    """
    count, end = len(ring.nodes), len(net.at) - 1
    t2 = beside(t1, back, ring)
    if net.mate[t1] == t2:
        return 0.0
    zero = signed(ring.place[t2])
    opened = cost(t1, t2, net)
    for k in range(-1, net.near.shape[1]):
        t3 = end if k < 0 else signed(net.near[t2, k])
        left = opened - (cost(t2, end, net) if k < 0 else net.far[t2, k])
        if left <= _LEAST and k >= 0:
            break
        if len(net.spots) > 0:
            left = opened - cost(t2, t3, net)
        i = _off(t3, zero, back, count, ring)
        if left <= _LEAST or i < 2 or i == count - 1:
            continue
        kept = ring.logged[0]
        for kind in range(2):
            if kind == 0:
                gain = _turned(t1, t2, t3, left, longest, back, net, ring)
            else:
                gain = _parted(t1, t2, t3, left, longest, back, net, ring)
            if gain > 0.0:
                gain = put_off(kept, gain, _LEAST, net, ring)
            if gain > 0.0:
                return float(gain)
    return 0.0
