"""The ring of places: what a travel costs, who is beside whom, and how a stretch is reversed."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.strokes import FloatArray
from plotout.route.compiled import compiled_inner

Ints: TypeAlias = NDArray[np.int32]


@compiled_inner
def gap(dx: float, dy: float, model: FloatArray) -> float:
    """Cost of a travel by dx, dy mm. model: kind, speed, acceleration (see plotout.route.cost)."""
    if model[0] == 0.0:
        return float(np.sqrt(dx * dx + dy * dy))
    far = max(abs(dx), abs(dy)) if model[0] == 2.0 else np.sqrt(dx * dx + dy * dy)
    ramp = model[1] * model[1] / model[2]
    if far < ramp:
        return float(2.0 * np.sqrt(far / model[2]))
    return float(2.0 * model[1] / model[2] + (far - ramp) / model[1])


@compiled_inner
def cost(i: int, j: int, at: FloatArray, beyond: FloatArray, model: FloatArray) -> float:
    """Cost between two nodes; to the end it is the node's entry in `beyond`."""
    end = len(at) - 1
    if i == end:
        return float(beyond[j])
    if j == end:
        return float(beyond[i])
    return gap(at[i, 0] - at[j, 0], at[i, 1] - at[j, 1], model)


@compiled_inner
def after(node: int, ring: Ints, place: Ints) -> int:
    """The next node in the ring. place: (n,), where each node is."""
    p = place[node] + 1
    return int(ring[p if p < len(ring) else 0])


@compiled_inner
def before(node: int, ring: Ints, place: Ints) -> int:
    """The node before this one in the ring."""
    return int(ring[place[node] - 1])


@compiled_inner
def span(a: int, b: int, c: int, ring: Ints, place: Ints) -> int:
    """How many nodes a move of edges (a, b), (c, d) reverses."""
    count = len(ring)
    inner = place[c] - place[b] if after(a, ring, place) == b else place[b] - place[c]
    if inner < 0:
        inner += count
    inner += 1
    return int(min(inner, count - inner))


@compiled_inner
def move(a: int, b: int, c: int, ring: Ints, place: Ints) -> None:
    """Put edges (a, c), (b, d) for (a, b), (c, d); d follows c as b follows a."""
    count = len(ring)
    if after(a, ring, place) == b:
        i, j = place[b], place[c]
    else:
        i, j = place[c], place[b]
    inner = j - i
    if inner < 0:
        inner += count
    inner += 1
    if 2 * inner > count:
        i, j = j + 1, i - 1
        if i == count:
            i = 0
        if j < 0:
            j = count - 1
        inner = count - inner
    for _ in range(inner // 2):
        one, other = ring[i], ring[j]
        ring[i], ring[j] = other, one
        place[other], place[one] = i, j
        i += 1
        if i == count:
            i = 0
        j -= 1
        if j < 0:
            j = count - 1


@compiled_inner
def random(state: NDArray[np.uint64], below: int) -> int:
    """xorshift64 (G. Marsaglia 2003)."""
    x = state[0]
    x ^= x << np.uint64(13)
    x ^= x >> np.uint64(7)
    x ^= x << np.uint64(17)
    state[0] = x
    return np.int64((x >> np.uint64(11)) % np.uint64(below))  # type: ignore[return-value]
