"""Moves a short stretch of the ring to between two other places (I. Or 1976)."""

from __future__ import annotations

from plotout.route.compiled import compiled_inner
from plotout.route.ring import Net, Ring, beside, cost, move


@compiled_inner
def reinserted(  # noqa: PLR0912 one compiled loop
    t1: int, net: Net, ring: Ring, longest: int
) -> float:
    """Move a stretch of up to six nodes that begins with t1 to between two others, if that helps.

    The start and end never move.
    """
    count = len(ring.nodes)
    start = count - 2
    if count < 12 or t1 >= start:
        return 0.0
    for side in range(2):
        p = beside(t1, side == 0, ring)
        if net.mate[t1] == p:
            continue
        last = t1
        for size in range(1, 7):
            if size > 1:
                last = beside(last, side == 1, ring)
            if last >= start:
                break
            n = beside(last, side == 1, ring)
            if net.mate[last] == n:
                continue
            freed = cost(p, t1, net) + cost(last, n, net) - cost(p, n, net)
            if freed <= 1e-9:
                continue
            for k in range(net.near.shape[1]):
                c = net.near[t1, k]
                joined = cost(t1, c, net)
                if joined >= freed:
                    break
                off = ring.place[c] - ring.place[t1]
                far = off if side == 0 else -off
                if far < 0:
                    far += count
                if far < size:
                    continue
                if off < 0:
                    off += count
                if min(off, count - off) + 8 > longest:
                    continue
                for way in range(2):
                    d = beside(c, way == 1, ring)
                    if net.mate[c] == d or d == t1 or d == last:  # noqa: SIM109, PLR1714
                        continue
                    if (c == p and d == n) or (c == n and d == p):
                        continue
                    won = freed - joined - cost(last, d, net) + cost(c, d, net)
                    if won <= 1e-9:
                        continue
                    # walking from p over the stretch: first, whichever of c, d is met first
                    a = c if way == side else d
                    move(p, t1, a, ring)
                    move(p, a, n, ring)
                    if way == side:  # now a last .. t1 b
                        move(a, last, t1, ring)
                    return won
    return 0.0
