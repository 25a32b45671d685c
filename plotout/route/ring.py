"""The ring of places: costs of travel, neighbours, reversal of stretches, choice of spots.

Everything here is compiled in the first run on a computer, so it is kept small: integers that are
passed on have one width, memory comes from outside, and no literal number is passed on (every one
would be a separate type, compiled separately). Lists of nodes and places hold unsigned numbers: a
number that may be negative is looked at before every use as an index, which took a seventh of the
time.
"""

from __future__ import annotations

from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.strokes import FloatArray
from plotout.loops.compiled import compiled_inner

Ints: TypeAlias = NDArray[np.int64]
Numbers: TypeAlias = NDArray[np.uint32]
Random: TypeAlias = NDArray[np.uint64]


class Net(NamedTuple):
    """The places, which are fixed.

    at: (n, 2) mm, the nodes' places, the start and the end last. mate: (n,), -1 for none. near:
    (n, k) neighbouring nodes, the nearest first, and far: (n, k) the costs of travel to them.
    beyond: (n,) costs from the nodes to the end. model: see plotout.route.cost.

    spots: (m, 3) where contours may be begun, x and y, and the cost from there to the end; (0, 3)
    if all nodes are fixed, else far is the least cost from any spot. first: (n + 1,) where a node's
    spots begin. outer: (n,) the node that must come later, -1 for none; (0,) if no stroke has one.
    """

    at: FloatArray
    mate: Ints
    near: Numbers
    far: FloatArray
    beyond: FloatArray
    model: FloatArray
    spots: FloatArray
    first: Ints
    outer: Ints


class Ring(NamedTuple):
    """The nodes in order, and the moves that led to it.

    nodes: (n,) in order. place: (n,) the nodes' indices in it. log: (m, 4) the moves since it was
    last cleared, or a node and its former spot, as -1 less it. logged: (1,) their number. pick:
    (n,) the nodes' spots.
    """

    nodes: Numbers
    place: Numbers
    log: Ints
    logged: Ints
    pick: Ints


@compiled_inner
def signed(number: np.uint32) -> int:
    """Return a number of a node or place as one that others may be taken from."""
    return int(np.int64(number))


@compiled_inner
def put(node: int, spot: int, net: Net, ring: Ring) -> None:
    """Put a node at one of its spots."""
    net.at[node, 0], net.at[node, 1] = net.spots[spot, 0], net.spots[spot, 1]
    net.beyond[node] = net.spots[spot, 2]
    ring.pick[node] = spot


@compiled_inner
def gap(dx: float, dy: float, model: FloatArray) -> float:
    """Return the cost of travel by dx, dy mm. model: see plotout.route.cost."""
    far = np.sqrt(dx * dx + dy * dy)
    if model[0] == 0.0:
        return float(far)
    if model[0] == 2.0:
        far = max(abs(dx), abs(dy))
    if far < model[3]:
        return float(2.0 * np.sqrt(far / model[2]))
    return float(model[4] + (far - model[3]) / model[1])


@compiled_inner
def cost(i: int, j: int, net: Net) -> float:
    """Return the cost between two nodes; to the end it is the node's entry in `beyond`."""
    end = len(net.at) - 1
    if i == end:
        return float(net.beyond[j])
    if j == end:
        return float(net.beyond[i])
    return gap(net.at[i, 0] - net.at[j, 0], net.at[i, 1] - net.at[j, 1], net.model)


@compiled_inner
def beside(node: int, back: bool, ring: Ring) -> int:
    """Return the next node in the ring or, if back, the previous one."""
    p = ring.place[node] + (-1 if back else 1)
    return signed(ring.nodes[p if p < len(ring.nodes) else 0])


@compiled_inner
def move(a: int, b: int, c: int, ring: Ring) -> None:
    """Replace edges (a, b), (c, d) by (a, c), (b, d), and log it; d follows c as b follows a."""
    index = ring.logged[0]
    ring.log[index, 0], ring.log[index, 1], ring.log[index, 2] = a, b, c
    ring.logged[0] = index + 1
    count = len(ring.nodes)
    i, j = signed(ring.place[b]), signed(ring.place[c])
    ahead = ring.nodes[i - 1] == a  # from 0 on to the last; remainders would take much longer
    if ahead:
        ring.log[index, 3] = ring.nodes[j + 1 if j + 1 < count else 0]
    else:
        ring.log[index, 3] = ring.nodes[j - 1]
        i, j = j, i
    inner = j - i + 1 if j >= i else j - i + 1 + count
    if 2 * inner > count:
        i, j = j + 1 if j + 1 < count else 0, i - 1 if i > 0 else count - 1
        inner = count - inner
    for _ in range(inner // 2):
        one, other = ring.nodes[i], ring.nodes[j]
        ring.nodes[i], ring.nodes[j] = other, one
        ring.place[other], ring.place[one] = i, j
        i += 1
        if i == count:
            i = 0
        j -= 1
        if j < 0:
            j = count - 1


@compiled_inner
def put_anew(node: int, spot: int, net: Net, ring: Ring) -> None:
    """Put a node at one of its spots, and log it."""
    index = ring.logged[0]
    ring.log[index, 0], ring.log[index, 1] = node, -1 - ring.pick[node]
    ring.logged[0] = index + 1
    put(node, spot, net, ring)


@compiled_inner
def undo(kept: int, net: Net, ring: Ring) -> None:
    """Undo moves, the last first, until so many of the log are left."""
    while ring.logged[0] > kept:
        index = ring.logged[0] - 1
        ring.logged[0] = index
        if ring.log[index, 1] < 0:
            put(ring.log[index, 0], -1 - ring.log[index, 1], net, ring)
        else:
            move(ring.log[index, 0], ring.log[index, 2], ring.log[index, 1], ring)
            ring.logged[0] = index


@compiled_inner
def chance(state: Random) -> float:
    """Return a random number from 0 up to 1: xorshift64 (G. Marsaglia 2003). state: (1,)."""
    x = state[0]
    x ^= x << np.uint64(13)
    x ^= x >> np.uint64(7)
    x ^= x << np.uint64(17)
    state[0] = x
    return float(x >> np.uint64(11)) / 9007199254740992.0
