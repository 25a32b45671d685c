"""Order, turning and touch points at once: part of the path is taken out and put back better.

A stroke has options: the two ways of an open one, or the places where a contour may be begun. Some
neighbouring stretches of the path are taken out, and each stroke of them is put back where, with
its best option, it adds least; a worse path is kept for a while with a chance that falls (ruin and
recreate: J. Christiaens and G. Vanden Berghe 2020; cooling: S. Kirkpatrick et al. 1983).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from plotout.geometry.strokes import FloatArray
from plotout.route.compiled import compiled, compiled_inner
from plotout.route.ring import Ints, Random, chance, gap

_LONGEST = 10
_STRETCHES = 3


class Choices(NamedTuple):
    """What stands fast.

    first: (n + 1,) where each stroke's options begin. ways: (m, 4) where each option begins and
    ends; option 0 is the start. beyond: (m,) cost of going on from each after all is done. near:
    (n, k) neighbouring strokes. after: (n,) the stroke that each must come before, -1 for none;
    inner, inner_first: all that must come before each, and where each's begin, (n + 1,).
    """

    first: Ints
    ways: FloatArray
    beyond: FloatArray
    near: Ints
    after: Ints
    inner: Ints
    inner_first: Ints
    model: FloatArray


class Walk(NamedTuple):
    """path: (n,) strokes in turn. place: (n,) where each is, -1 for none. pick: (n,) options."""

    path: Ints
    place: Ints
    pick: Ints


def walk_of(path: Ints, pick: Ints) -> Walk:
    """Return the walk that takes the strokes in this order, each by its picked option."""
    place = np.empty(len(path), np.int64)
    place[path] = np.arange(len(path))
    return Walk(path.copy(), place, pick.copy())


@compiled_inner
def leg(a: int, b: int, choices: Choices) -> float:
    """Cost from option a to option b; a 0: from the start; b below 0: on from a."""
    if b < 0:
        return float(choices.beyond[a])
    ways = choices.ways
    return gap(ways[a, 2] - ways[b, 0], ways[a, 3] - ways[b, 1], choices.model)


@compiled_inner
def option_at(p: int, count: int, walk: Walk) -> int:
    """The option at place p; 0, the start, ahead of the first, and -1 behind `count` strokes."""
    if p < 0:
        return 0
    return int(walk.pick[walk.path[p]]) if p < count else -1


@compiled_inner
def length_of(walk: Walk, choices: Choices) -> float:
    """Cost of the whole walk, from the start, and on from the last."""
    whole = 0.0
    count = len(walk.path)
    for p in range(-1, count):
        whole += leg(option_at(p, count, walk), option_at(p + 1, count, walk), choices)
    return whole


@compiled_inner
def _put_back(k: int, count: int, walk: Walk, choices: Choices) -> None:
    """Put stroke k where it adds least among `count` strokes; it stays behind all within it."""
    path, place = walk.path, walk.place
    low, high = 0, count
    for nth in range(choices.inner_first[k], choices.inner_first[k + 1]):
        low = max(low, place[choices.inner[nth]] + 1)
    outer = choices.after[k]
    while outer >= 0:
        if place[outer] >= 0:
            high = min(high, place[outer])
        outer = choices.after[outer]
    best, best_p, best_option = np.inf, -1, -1
    beside = 2 * choices.near.shape[1]
    for nth in range(beside + 2):
        if nth < beside:
            p = place[choices.near[k, nth // 2]]
            if p < 0:
                continue
            p += nth % 2
        else:
            p = low if nth == beside else high
        if p < low or p > high:
            continue
        a, b = option_at(p - 1, count, walk), option_at(p, count, walk)
        saved = leg(a, b, choices)
        for option in range(choices.first[k], choices.first[k + 1]):
            added = leg(a, option, choices) - saved
            if added < best:
                added += leg(option, b, choices)
                if added < best:
                    best, best_p, best_option = added, p, option
    for p in range(count, best_p, -1):
        path[p] = path[p - 1]
        place[path[p]] = p
    path[best_p] = k
    place[k] = best_p
    walk.pick[k] = best_option


@compiled_inner
def _repick(p: int, walk: Walk, choices: Choices) -> None:
    """Take the option of the stroke at place p that suits those beside it best."""
    count = len(walk.path)
    if p < 0 or p >= count:
        return
    k = walk.path[p]
    a, b = option_at(p - 1, count, walk), option_at(p + 1, count, walk)
    best = np.inf
    for option in range(choices.first[k], choices.first[k + 1]):
        whole = leg(a, option, choices) + leg(option, b, choices)
        if whole < best:
            best, walk.pick[k] = whole, option


@compiled_inner
def _take_out(walk: Walk, near: Ints, out: Ints, state: Random) -> int:
    """Take some stretches near one another out of the walk into `out`; return how many strokes."""
    path, place = walk.path, walk.place
    n = len(path)
    middle = int(chance(state) * n)
    stretches = 1 + int(chance(state) * _STRETCHES)
    taken = 0
    for nth in range(-1, near.shape[1]):
        c = middle if nth < 0 else near[middle, nth]
        if place[c] < 0:
            continue
        size = 1 + int(chance(state) * min(_LONGEST, n))
        begin = max(place[c] - int(chance(state) * size), 0)
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
        other = int(chance(state) * (nth + 1))
        out[nth], out[other] = out[other], out[nth]
    return taken


@compiled_inner
def _copy(walk: Walk, to: Walk) -> None:
    for k in range(len(walk.path)):
        to.path[k], to.place[k], to.pick[k] = walk.path[k], walk.place[k], walk.pick[k]


@compiled
def recreated(
    walk: Walk, before: Walk, best: Walk, choices: Choices, warm: float, cold: float, over: int,
    steps: int, out: Ints, state: Random,
) -> None:  # fmt: skip
    """Take so many steps from `walk`, and keep the cheapest in `best`.

    before: holds the walk as it was. warm, cold: how much worse a walk may be, at first and after
    `over` steps. out: (n,) room to work in.
    """
    n = len(walk.path)
    now, least = length_of(walk, choices), length_of(best, choices)
    _copy(walk, before)
    for step in range(steps):
        taken = _take_out(walk, choices.near, out, state)
        for nth in range(taken):
            _put_back(out[nth], n - taken + nth, walk, choices)
        for _ in range(2):
            for nth in range(taken):
                for p in range(walk.place[out[nth]] - 1, walk.place[out[nth]] + 2):
                    _repick(p, walk, choices)
        whole = length_of(walk, choices)
        heat = warm * (cold / warm) ** (step / over)
        if whole < now - heat * np.log(1.0 - chance(state)):
            now = whole
            _copy(walk, before)
            if whole < least - 1e-9:
                least = whole
                _copy(walk, best)
        else:
            _copy(before, walk)
