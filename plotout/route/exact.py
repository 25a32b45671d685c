"""The best of all orders, for a handful of strokes (R. Bellman; M. Held and R. Karp 1962)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.strokes import FloatArray
from plotout.machine import Motion
from plotout.route.cost import costs

MOST = 8


def cheapest(
    ends: FloatArray,
    start: FloatArray,
    beyond: FloatArray,
    after: NDArray[np.int64],
    motion: Motion | None,
) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Return the best order of at most MOST strokes and which of them are worked from their end.

    The rest as in plotout.route.path; after: for each stroke the one that must come after it, -1
    for none.
    """
    n = len(ends)
    entry = ends.reshape(-1, 2)  # state 2k + t: stroke k, turned when t is 1
    leave = ends[:, ::-1].reshape(-1, 2)
    step = costs(leave[:, None], entry[None, :], motion)
    first = costs(start, entry, motion)
    needs = [sum(1 << k for k in range(n) if after[k] == j) for j in range(n)]
    best = np.full((1 << n, 2 * n), np.inf)
    came = np.full((1 << n, 2 * n), -1, dtype=np.int64)
    for state in range(2 * n):
        if not needs[state // 2]:
            best[1 << state // 2, state] = first[state]
    for done in range(1, 1 << n):
        for k in range(n):
            if done >> k & 1 or needs[k] & ~done:
                continue
            through = best[done][:, None] + step[:, 2 * k : 2 * k + 2]
            last = through.argmin(axis=0)
            for t in range(2):
                best[done | 1 << k, 2 * k + t] = through[last[t], t]
                came[done | 1 << k, 2 * k + t] = last[t]
    done = (1 << n) - 1
    state = int((best[done] + beyond[:, ::-1].reshape(-1)).argmin())
    order, turned = [], []
    while state >= 0:
        order.append(state // 2)
        turned.append(bool(state % 2))
        done, state = done & ~(1 << state // 2), int(came[done, state])
    return np.array(order[::-1], dtype=np.int64), np.array(turned[::-1], dtype=np.bool_)
