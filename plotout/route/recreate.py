"""Improves order, turning and touch points at once: parts of the path are removed and reinserted.

A stroke has options: the two directions of an open one, or the places where a contour may be begun.
Some neighbouring stretches of the path are removed, and their strokes are put back where, with
their best options, they add least; a worse path is kept with a falling probability (ruin and
recreate: J. Christiaens and G. Vanden Berghe 2020; cooling: S. Kirkpatrick et al. 1983).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from plotout.geometry.strokes import FloatArray
from plotout.loops.compiled import compiled, compiled_inner
from plotout.route.ring import Ints, Random, chance, gap

_LONGEST = 10
_STRETCHES = 3


class Choices(NamedTuple):
    """What is fixed.

    first: (n + 1,) where the strokes' options begin. ends: (m, 4) the options' starts and ends;
    option 0 is the start. box: (n, 4) least and greatest x and y of a stroke's options. beyond:
    (m,) cost of going on from the options after all is done. near: (n, k) neighbouring strokes.
    after: (n,) the stroke that must come later, -1 for none; inner, inner_first: all that must come
    before a stroke, and where they begin, (n + 1,). seeds: strokes around which the path is taken
    apart.
    """

    first: Ints
    ends: FloatArray
    box: FloatArray
    beyond: FloatArray
    near: Ints
    after: Ints
    inner: Ints
    inner_first: Ints
    seeds: Ints
    model: FloatArray


class Walk(NamedTuple):
    """An order of strokes as a linked list, so that changes cost the same anywhere.

    behind, ahead: (n + 1,) the strokes before and after; n is both start and end. rank: (n,) rises
    along the walk, -1 for strokes not in it. pick: (n + 1,) options; n has the start.
    """

    behind: Ints
    ahead: Ints
    rank: FloatArray
    pick: Ints


class Bench(NamedTuple):
    """Working memory.

    out: (n,) the strokes taken out; whence: (n,) their predecessors, in the order of `before`.
    before: (m, 2) strokes with their former options. counts: (2,) the lengths of out and before.
    """

    out: Ints
    whence: Ints
    before: Ints
    counts: Ints


def walk_of(path: Ints, pick: Ints) -> tuple[Walk, Bench]:
    """Return the walk through the strokes in this order, by their picked options."""
    n = len(path)
    whole = np.concatenate([[n], path, [n]])
    behind, ahead = np.empty(n + 1, np.int64), np.empty(n + 1, np.int64)
    ahead[whole[:-1]], behind[whole[1:]] = whole[1:], whole[:-1]
    rank = np.empty(n)
    rank[path] = np.arange(1, n + 1)
    most = min(n, _LONGEST * _STRETCHES)
    out, whence = np.empty(most, np.int64), np.empty(most, np.int64)
    bench = Bench(out, whence, np.empty((4 * most, 2), np.int64), np.zeros(2, np.int64))
    return Walk(behind, ahead, rank, np.append(pick, 0)), bench


def path_of(walk: Walk) -> Ints:
    """Return the strokes in order, (n,)."""
    return np.argsort(walk.rank, kind="stable").astype(np.int64)


@compiled_inner
def _leg(a: int, b: int, choices: Choices) -> float:
    """Return the cost from option a to b; with b 0, of going on from a after all is done."""
    if b == 0:
        return float(choices.beyond[a])
    ends = choices.ends
    return gap(ends[a, 2] - ends[b, 0], ends[a, 3] - ends[b, 1], choices.model)


@compiled_inner
def _about(k: int, walk: Walk, choices: Choices) -> float:
    """Return the cost of travel to and from stroke k, less that of skipping it."""
    a, b = walk.pick[walk.behind[k]], walk.pick[walk.ahead[k]]
    c = walk.pick[k]
    return _leg(a, c, choices) + _leg(c, b, choices) - _leg(a, b, choices)


@compiled_inner
def _link(k: int, a: int, walk: Walk) -> None:
    """Insert stroke k after stroke a."""
    n = len(walk.rank)
    b = walk.ahead[a]
    walk.behind[k], walk.ahead[k] = a, b
    walk.ahead[a], walk.behind[b] = k, k
    low = walk.rank[a] if a < n else 0.0
    high = walk.rank[b] if b < n else low + 2.0
    middle = (low + high) / 2.0
    walk.rank[k] = middle
    if middle <= low or middle >= high:  # no rank is left between them: rank all anew
        at, index = walk.ahead[n], 1.0
        while at < n:
            walk.rank[at] = index
            index += 1.0
            at = walk.ahead[at]


@compiled_inner
def _least(k: int, option: int, choices: Choices) -> float:
    """Return a lower bound of the cost between an option and stroke k, by k's box."""
    box, x, y = choices.box, choices.ends[option, 2], choices.ends[option, 3]
    dx = max(box[k, 0] - x, x - box[k, 1], 0.0)
    dy = max(box[k, 2] - y, y - box[k, 3], 0.0)
    return gap(dx, dy, choices.model)


@compiled_inner
def _bounds(k: int, walk: Walk, choices: Choices) -> tuple[int, int]:
    """Return the last stroke that must precede stroke k, and the first that must follow; else n.

    Only strokes in the walk count.
    """
    last, first = len(walk.rank), len(walk.rank)
    low, high = 0.0, np.inf
    for index in range(choices.inner_first[k], choices.inner_first[k + 1]):
        inner = choices.inner[index]
        if walk.rank[inner] > low:
            low, last = walk.rank[inner], inner
    outer = choices.after[k]
    while outer >= 0:
        if 0.0 <= walk.rank[outer] < high:
            high, first = walk.rank[outer], outer
        outer = choices.after[outer]
    return last, first


@compiled_inner
def _put_back(k: int, walk: Walk, choices: Choices) -> float:
    """Put stroke k where it adds least, after all inside it. Return what it adds."""
    n = len(walk.rank)
    last, first = _bounds(k, walk, choices)
    low = walk.rank[last] if last < n else 0.0
    high = walk.rank[first] if first < n else np.inf
    best, best_a, best_option = np.inf, -1, -1
    beside = 2 * choices.near.shape[1]
    for index in range(beside + 2):
        if index < beside:
            a = choices.near[k, index // 2]
            if walk.rank[a] < 0.0:
                continue
            if index % 2 == 0:
                a = walk.behind[a]
        else:
            a = last if index == beside else walk.behind[first]
        b = walk.ahead[a]
        if (a < n and walk.rank[a] < low) or (a == n and low > 0.0):
            continue
        if (b < n and walk.rank[b] > high) or (b == n and high < np.inf):
            continue
        start, goal = walk.pick[a], walk.pick[b]
        saved = _leg(start, goal, choices)
        bound = _least(k, start, choices) - saved
        if b < n:
            bound += _least(k, goal, choices)
        if bound >= best:
            continue
        for option in range(choices.first[k], choices.first[k + 1]):
            added = _leg(start, option, choices) - saved
            if added < best:
                added += _leg(option, goal, choices)
                if added < best:
                    best, best_a, best_option = added, a, option
    _link(k, best_a, walk)
    walk.pick[k] = best_option
    return float(best)


@compiled_inner
def _repick(k: int, walk: Walk, choices: Choices, bench: Bench) -> float:
    """Pick the option of stroke k that suits its neighbours best; return what that adds."""
    if k == len(walk.rank) or choices.first[k + 1] - choices.first[k] < 2:
        return 0.0
    start, goal = walk.pick[walk.behind[k]], walk.pick[walk.ahead[k]]
    before = walk.pick[k]
    now = _leg(start, before, choices) + _leg(before, goal, choices)
    best, best_option = now, before
    for option in range(choices.first[k], choices.first[k + 1]):
        whole = _leg(start, option, choices)
        if whole < best:
            whole += _leg(option, goal, choices)
            if whole < best:
                best, best_option = whole, option
    if best_option != before:
        index = bench.counts[1]
        bench.before[index, 0], bench.before[index, 1] = k, before
        bench.counts[1] = index + 1
        walk.pick[k] = best_option
    return float(best - now)


@compiled_inner
def _take_out(walk: Walk, choices: Choices, bench: Bench, state: Random) -> float:
    """Take some neighbouring stretches out of the walk; return what that adds, below zero."""
    n, near, seeds = len(walk.rank), choices.near, choices.seeds
    middle = seeds[int(chance(state) * len(seeds))]
    if len(seeds) < n and chance(state) < 0.5:
        middle = near[middle, int(chance(state) * near.shape[1])]
    stretches = 1 + int(chance(state) * _STRETCHES)
    taken, added = 0, 0.0
    for index in range(-1, near.shape[1]):
        c = middle if index < 0 else near[middle, index]
        if walk.rank[c] < 0.0:
            continue
        size = 1 + int(chance(state) * min(_LONGEST, n))
        for _ in range(int(chance(state) * size)):
            if walk.behind[c] < n:
                c = walk.behind[c]
        while size > 0 and c < n:
            a, b = walk.behind[c], walk.ahead[c]
            added -= _about(c, walk, choices)
            bench.out[taken], bench.whence[taken] = c, a
            bench.before[taken, 0], bench.before[taken, 1] = c, walk.pick[c]
            taken += 1
            walk.ahead[a], walk.behind[b], walk.rank[c] = b, a, -1.0
            c = b
            size -= 1
        stretches -= 1
        if stretches == 0:
            break
    bench.counts[0] = bench.counts[1] = taken
    return added


@compiled_inner
def _undo(walk: Walk, bench: Bench) -> None:
    """Restore the state before the step."""
    for index in range(bench.counts[0]):
        k = bench.out[index]
        walk.ahead[walk.behind[k]], walk.behind[walk.ahead[k]] = walk.ahead[k], walk.behind[k]
    for index in range(bench.counts[0] - 1, -1, -1):
        _link(bench.before[index, 0], bench.whence[index], walk)
    for index in range(bench.counts[1] - 1, -1, -1):
        walk.pick[bench.before[index, 0]] = bench.before[index, 1]


@compiled
def recreated(
    walk: Walk, bench: Bench, choices: Choices, warm: float, cold: float, steps: int,
    state: Random,
) -> float:  # fmt: skip
    """Do so many steps; return what they add to the cost.

    warm, cold: how much worse a step may make it, at first and at last.
    """
    whole, out = 0.0, bench.out
    for step in range(steps):
        added = _take_out(walk, choices, bench, state)
        taken = bench.counts[0]
        for index in range(taken - 1, 0, -1):
            other = int(chance(state) * (index + 1))
            out[index], out[other] = out[other], out[index]
        for index in range(taken):
            added += _put_back(out[index], walk, choices)
        for index in range(taken):
            added += _repick(walk.behind[out[index]], walk, choices, bench)
            added += _repick(walk.ahead[out[index]], walk, choices, bench)
            added += _repick(out[index], walk, choices, bench)
        heat = warm * (cold / warm) ** (step / steps)
        if added < -heat * np.log(1.0 - chance(state)):
            whole += added
        else:
            _undo(walk, bench)
    return whole
