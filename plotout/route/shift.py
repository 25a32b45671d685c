"""Moves a short stretch of the ring to between two other places (I. Or 1976)."""

from __future__ import annotations

from plotout.geometry.strokes import FloatArray
from plotout.route.compiled import compiled_inner
from plotout.route.ring import Ints, after, before, cost, move


@compiled_inner
def reinserted(  # noqa: PLR0912, PLR0915 one compiled loop
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
) -> tuple[float, int]:
    """Move a stretch of up to six nodes that begins with t1 to between two others, if that helps.

    The start and end never move.
    """
    count = len(ring)
    start = count - 2
    if count < 12 or logged + 3 > len(log) or t1 >= start:
        return 0.0, logged
    for side in range(2):
        p = before(t1, ring, place) if side == 0 else after(t1, ring, place)
        if mate[t1] == p:
            continue
        last = t1
        for size in range(1, 7):
            if size > 1:
                last = after(last, ring, place) if side == 0 else before(last, ring, place)
            if last >= start:
                break
            n = after(last, ring, place) if side == 0 else before(last, ring, place)
            if mate[last] == n:
                continue
            freed = (
                cost(p, t1, at, beyond, model)
                + cost(last, n, at, beyond, model)
                - cost(p, n, at, beyond, model)
            )
            if freed <= 1e-9:
                continue
            for k in range(near.shape[1]):
                c = near[t1, k]
                joined = cost(t1, c, at, beyond, model)
                if joined >= freed:
                    break
                off = place[c] - place[t1] if side == 0 else place[t1] - place[c]
                if off < 0:
                    off += count
                if off < size:
                    continue
                for way in range(2):
                    d = after(c, ring, place) if way == 0 else before(c, ring, place)
                    if mate[c] == d or d == t1 or d == last:  # noqa: SIM109, PLR1714
                        continue
                    if (c == p and d == n) or (c == n and d == p):
                        continue
                    won = (
                        freed
                        - joined
                        - cost(last, d, at, beyond, model)
                        + cost(c, d, at, beyond, model)
                    )
                    if won <= 1e-9:
                        continue
                    off = place[c] - place[t1]
                    if off < 0:
                        off += count
                    if min(off, count - off) + 8 > longest:
                        continue
                    # walking from p over the stretch: first, whichever of c, d is met first
                    walks_on = way == side
                    a = c if walks_on else d
                    move(p, t1, a, ring, place)
                    log[logged, 0], log[logged, 1], log[logged, 2] = p, t1, a
                    move(p, a, n, ring, place)
                    log[logged + 1, 0], log[logged + 1, 1], log[logged + 1, 2] = p, a, n
                    logged += 2
                    # now a last .. t1 b
                    if walks_on:
                        move(a, last, t1, ring, place)
                        log[logged, 0], log[logged, 1], log[logged, 2] = a, last, t1
                        logged += 1
                    return won, logged
    return 0.0, logged
