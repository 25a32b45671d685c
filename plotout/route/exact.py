"""The optimal order of a few strokes (R. Bellman; M. Held and R. Karp 1962)."""

from __future__ import annotations

import numpy as np

from plotout.geometry.strokes import FloatArray
from plotout.machine import Motion
from plotout.route.cost import costs
from plotout.route.options import Ints, Options

MOST = 8


def cheapest(
    options: Options, beyond: FloatArray, after: Ints, motion: Motion | None
) -> tuple[Ints, Ints]:
    """Return the best order of at most MOST strokes, and their options in that order.

    beyond: (m,) cost of going on from every option once all is done. after: (n,) for every stroke
    the one that must come after it, -1 for none.
    """
    n = len(after)
    entry, leave = options.ends[1:, :2], options.ends[1:, 2:]
    step = costs(leave[:, None], entry[None, :], motion)
    first = costs(options.ends[0, 2:], entry, motion)
    mine = [slice(options.first[k] - 1, options.first[k + 1] - 1) for k in range(n)]
    needs = [sum(1 << k for k in range(n) if after[k] == j) for j in range(n)]
    best = np.full((1 << n, len(entry)), np.inf)
    came = np.full((1 << n, len(entry)), -1, dtype=np.int64)
    for k in range(n):
        if not needs[k]:
            best[1 << k, mine[k]] = first[mine[k]]
    for done in range(1, 1 << n):
        reached = np.flatnonzero(np.isfinite(best[done]))
        for k in range(n) if len(reached) else ():
            if done >> k & 1 or needs[k] & ~done:
                continue
            through = best[done, reached, None] + step[reached, mine[k]]
            best[done | 1 << k, mine[k]] = through.min(axis=0)
            came[done | 1 << k, mine[k]] = reached[through.argmin(axis=0)]
    done = (1 << n) - 1
    state = int((best[done] + beyond[1:]).argmin())
    picked: list[int] = []
    while state >= 0:
        picked.append(state + 1)
        done, state = done & ~(1 << int(options.owner[state])), int(came[done, state])
    pick = np.array(picked[::-1], dtype=np.int64)
    return options.owner[pick - 1], pick
