"""The shortest path found when some strokes must come before others.

Each stroke may have one that it must come before (the contour that it lies within). Moves that
reverse or shift a stretch are tried only as far as no such pair changes places.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.strokes import FloatArray
from plotout.route.compiled import compiled
from plotout.route.ring import Ints, gap, random

_WINDOW = 300
_LONGEST_SHIFTED = 12


@compiled
def _step(
    i: int, j: int, path: Ints, turned: Ints, ends: FloatArray, start: FloatArray,
    beyond: FloatArray, model: FloatArray, i_back: int, j_back: int,
) -> float:  # fmt: skip
    """Cost from the stroke at place i to that at j; i_back, j_back: 1 when turned from now."""
    if j == len(path):
        return 0.0 if i < 0 else float(beyond[path[i], 1 - (turned[i] ^ i_back)])
    to = ends[path[j], turned[j] ^ j_back]
    at = start if i < 0 else ends[path[i], 1 - (turned[i] ^ i_back)]
    return gap(at[0] - to[0], at[1] - to[1], model)


@compiled
def _exchanged(
    i: int, j: int, k: int, path: Ints, turned: Ints, ends: FloatArray, start: FloatArray,
    beyond: FloatArray, model: FloatArray,
) -> float:  # fmt: skip
    """What exchanging the stretches i..j and j+1..k would gain."""
    won = 0.0
    for a, b, sign in (
        (i - 1, i, 1.0), (j, j + 1, 1.0), (k, k + 1, 1.0),
        (i - 1, j + 1, -1.0), (k, i, -1.0), (j, k + 1, -1.0),
    ):  # fmt: skip
        won += sign * _step(a, b, path, turned, ends, start, beyond, model, 0, 0)
    return won


@compiled
def _reverse(path: Ints, turned: Ints, i: int, j: int, turn: int) -> None:
    while i < j:
        path[i], path[j] = path[j], path[i]
        turned[i], turned[j] = turned[j] ^ turn, turned[i] ^ turn
        i += 1
        j -= 1
    if i == j:
        turned[i] ^= turn


@compiled
def _best_from(  # noqa: PLR0912 one compiled loop
    i: int, path: Ints, turned: Ints, place: Ints, after: Ints, ends: FloatArray,
    start: FloatArray, beyond: FloatArray, model: FloatArray,
) -> float:  # fmt: skip
    """Carry out the best move that begins at place i; return its gain, 0 when there is none."""
    n = len(path)
    best, kind, best_j, best_k = 1e-9, 0, 0, 0
    free = n
    for j in range(i, min(n, i + _WINDOW)):
        if free <= j:
            break
        if after[path[j]] >= 0:
            free = min(free, place[after[path[j]]])
        if free <= j:
            break
        won = (
            _step(i - 1, i, path, turned, ends, start, beyond, model, 0, 0)
            + _step(j, j + 1, path, turned, ends, start, beyond, model, 0, 0)
            - _step(i - 1, j, path, turned, ends, start, beyond, model, 0, 1)
            - _step(i, j + 1, path, turned, ends, start, beyond, model, 1, 0)
        )
        if won > best:
            best, kind, best_j = won, 1, j
    # a shift exchanges the stretches i..j and j+1..k
    block = n
    for j in range(i, min(n - 1, i + _WINDOW)):
        if after[path[j]] >= 0:
            block = min(block, place[after[path[j]]])
        for k in range(j + 1, min(n, j + _WINDOW)):
            if block <= k:
                break
            if j - i >= _LONGEST_SHIFTED and k - j > _LONGEST_SHIFTED:
                break
            won = _exchanged(i, j, k, path, turned, ends, start, beyond, model)
            if won > best:
                best, kind, best_j, best_k = won, 2, j, k
    if kind == 0:
        return 0.0
    last = best_j
    if kind == 1:
        _reverse(path, turned, i, best_j, 1)
    else:
        last = best_k
        _swap(path, turned, i, best_j, best_k)
    for p in range(i, last + 1):
        place[path[p]] = p
    return best


@compiled
def _swap(path: Ints, turned: Ints, i: int, j: int, k: int) -> None:
    """Exchange the stretches i..j and j+1..k."""
    _reverse(path, turned, i, j, 0)
    _reverse(path, turned, j + 1, k, 0)
    _reverse(path, turned, i, k, 0)


@compiled
def _descend(
    path: Ints, turned: Ints, place: Ints, after: Ints, ends: FloatArray, start: FloatArray,
    beyond: FloatArray, model: FloatArray, first: int, last: int,
) -> float:  # fmt: skip
    """Improve until nothing helps from any place in first..last; return the gain."""
    total, again = 0.0, True
    while again:
        again = False
        for i in range(max(first, 0), min(last + 1, len(path))):
            won = _best_from(i, path, turned, place, after, ends, start, beyond, model)
            if won > 0.0:
                total += won
                again = True
    return total


@compiled
def constrained(
    path: Ints, turned: Ints, after: Ints, ends: FloatArray, start: FloatArray,
    beyond: FloatArray, model: FloatArray, kicks: int, state: NDArray[np.uint64],
) -> float:  # fmt: skip
    """Improve the path in place; return the gain. First (kicks 0) until nothing helps.

    path: (n,) strokes in an order that is allowed. turned: (n,) 1 for a stroke worked from its
    end. after: (n,) for each stroke the one that must come after it, or -1. The rest as in
    plotout.route.path.
    """
    n = len(path)
    place = np.empty(n, np.int32)
    for p in range(n):
        place[path[p]] = p
    if kicks == 0:
        return _descend(path, turned, place, after, ends, start, beyond, model, 0, n - 1)
    total = 0.0
    for _ in range(kicks):
        old, old_turned = path.copy(), turned.copy()
        width = 1 + min(n // 3, 10)
        cut = np.empty(3, np.int64)
        for k in range(3):
            cut[k] = random(state, n if k == 0 else width)
        i = cut[0]
        j = i + cut[1]
        k = j + 1 + cut[2]
        if k >= n:
            continue
        free = True
        for p in range(i, j + 1):
            if after[path[p]] >= 0 and place[after[path[p]]] <= k:
                free = False
        if not free:
            continue
        change = -_exchanged(i, j, k, path, turned, ends, start, beyond, model)
        _swap(path, turned, i, j, k)
        for p in range(i, k + 1):
            place[path[p]] = p
        gain = _descend(path, turned, place, after, ends, start, beyond, model, i - 20, k + 20)
        if change - gain > 1e-9:
            path[:] = old
            turned[:] = old_turned
            for p in range(n):
                place[path[p]] = p
        else:
            total += gain - change
    return total
