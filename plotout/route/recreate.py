"""Order, turning and touch points at once: part of the path is taken out and put back better.

A stroke has options: the two ways of an open one, or the places where a contour may be begun. Some
neighbouring stretches of the path are taken out, and each stroke of them is put back where, with
its best option, it adds least; a worse path is kept for a while with a chance that falls (ruin and
recreate: J. Christiaens and G. Vanden Berghe 2020; cooling: S. Kirkpatrick et al. 1983).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.strokes import FloatArray
from plotout.route.compiled import compiled, compiled_inner
from plotout.route.ring import Ints, gap, random

_LONGEST = 10
_STRETCHES = 3


@compiled_inner
def leg(a: int, b: int, ways: FloatArray, beyond: FloatArray, model: FloatArray) -> float:
    """Cost from option a to option b; a 0: from the start; b below 0: on from a.

    ways: (m, 4), where each option begins and ends; option 0 is the start.
    """
    if b < 0:
        return float(beyond[a])
    return gap(ways[a, 2] - ways[b, 0], ways[a, 3] - ways[b, 1], model)


@compiled_inner
def length_of(
    path: Ints, count: int, pick: Ints, ways: FloatArray, beyond: FloatArray, model: FloatArray
) -> float:
    """Cost of the first `count` strokes of the path, from the start, and on from the last."""
    whole, at = 0.0, 0
    for p in range(count):
        option = pick[path[p]]
        whole += leg(at, option, ways, beyond, model)
        at = option
    return float(whole + beyond[at])


@compiled_inner
def _put_back(
    k: int, count: int, path: Ints, place: Ints, pick: Ints, first: Ints, ways: FloatArray,
    beyond: FloatArray, near: Ints, after: Ints, inner: Ints, inner_first: Ints, model: FloatArray,
) -> None:  # fmt: skip
    """Put stroke k where it adds least among `count` strokes; it stays behind all within it."""
    low, high = 0, count
    for nth in range(inner_first[k], inner_first[k + 1]):
        low = max(low, place[inner[nth]] + 1)
    outer = after[k]
    while outer >= 0:
        if place[outer] >= 0:
            high = min(high, place[outer])
        outer = after[outer]
    best, best_p, best_option = np.inf, -1, -1
    beside = 2 * near.shape[1]
    for nth in range(beside + 2):
        if nth < beside:
            p = place[near[k, nth // 2]]
            if p < 0:
                continue
            p += nth % 2
        else:
            p = low if nth == beside else high
        if p < low or p > high:
            continue
        a = pick[path[p - 1]] if p > 0 else 0
        b = pick[path[p]] if p < count else -1
        saved = leg(a, b, ways, beyond, model)
        for option in range(first[k], first[k + 1]):
            added = leg(a, option, ways, beyond, model) - saved
            if added < best:
                added += leg(option, b, ways, beyond, model)
                if added < best:
                    best, best_p, best_option = added, p, option
    for p in range(count, best_p, -1):
        path[p] = path[p - 1]
        place[path[p]] = p
    path[best_p] = k
    place[k] = best_p
    pick[k] = best_option


@compiled_inner
def _repick(
    p: int, path: Ints, pick: Ints, first: Ints, ways: FloatArray, beyond: FloatArray,
    model: FloatArray,
) -> None:  # fmt: skip
    """Take the option of the stroke at place p that suits those beside it best."""
    if p < 0 or p >= len(path):
        return
    k = path[p]
    a = pick[path[p - 1]] if p > 0 else 0
    b = pick[path[p + 1]] if p + 1 < len(path) else -1
    best = np.inf
    for option in range(first[k], first[k + 1]):
        whole = leg(a, option, ways, beyond, model) + leg(option, b, ways, beyond, model)
        if whole < best:
            best, pick[k] = whole, option


@compiled_inner
def _take_out(
    path: Ints, place: Ints, near: Ints, out: Ints, state: NDArray[np.uint64]
) -> int:  # fmt: skip
    """Take some stretches near one another out of the path into `out`; return how many strokes."""
    n = len(path)
    middle = random(state, n)
    stretches = 1 + random(state, _STRETCHES)
    taken = 0
    for nth in range(-1, near.shape[1]):
        c = middle if nth < 0 else near[middle, nth]
        if place[c] < 0:
            continue
        size = 1 + random(state, min(_LONGEST, n))
        begin = max(place[c] - random(state, size), 0)
        for p in range(begin, min(begin + size, n)):
            if place[path[p]] >= 0:
                out[taken] = path[p]
                taken += 1
                place[path[p]] = -1
        stretches -= 1
        if stretches == 0:
            break
    kept = 0
    for p in range(n):
        k = path[p]
        if place[k] >= 0:
            path[kept] = k
            place[k] = kept
            kept += 1
    for nth in range(taken - 1, 0, -1):
        other = random(state, nth + 1)
        out[nth], out[other] = out[other], out[nth]
    return taken


@compiled
def recreated(
    path: Ints, pick: Ints, best_path: Ints, best_pick: Ints, first: Ints, ways: FloatArray,
    beyond: FloatArray, near: Ints, after: Ints, inner: Ints, inner_first: Ints,
    model: FloatArray, warm: float, cold: float, over: int, steps: int,
    state: NDArray[np.uint64],
) -> float:  # fmt: skip
    """Take so many steps from `path` and `pick`; return the cost of the best, kept in best_*.

    path: (n,) strokes in an order that is allowed. pick: (n,) the option of each. first: (n + 1,)
    where each stroke's options begin; ways and beyond: see `leg`. near: (n, k) neighbouring
    strokes. after: (n,) the stroke that each must come before, -1 for none; inner, inner_first:
    all that must come before each. warm, cold: how much worse a path may be, at first and
    after `over` steps.
    """
    n = len(path)
    place = np.empty(n, np.int32)
    out = np.empty(n, np.int32)
    old_path, old_pick = path.copy(), pick.copy()
    for p in range(n):
        place[path[p]] = p
    now = length_of(path, n, pick, ways, beyond, model)
    best = length_of(best_path, n, best_pick, ways, beyond, model)
    for step in range(steps):
        taken = _take_out(path, place, near, out, state)
        for nth in range(taken):
            _put_back(
                out[nth], n - taken + nth, path, place, pick, first, ways, beyond, near, after,
                inner, inner_first, model,
            )  # fmt: skip
        for _ in range(2):
            for nth in range(taken):
                for p in range(place[out[nth]] - 1, place[out[nth]] + 2):
                    _repick(p, path, pick, first, ways, beyond, model)
        whole = length_of(path, n, pick, ways, beyond, model)
        share = (random(state, 1 << 30) + 1.0) / (1 << 30)
        heat = warm * (cold / warm) ** (step / over)
        if whole < now - heat * np.log(share):
            now = whole
            old_path[:] = path
            old_pick[:] = pick
            if whole < best - 1e-9:
                best = whole
                best_path[:] = path
                best_pick[:] = pick
        else:
            path[:] = old_path
            pick[:] = old_pick
            for p in range(n):
                place[path[p]] = p
    return best
