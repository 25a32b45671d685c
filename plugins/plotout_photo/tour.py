"""Closed paths through places: the shortest, and where it is two, round two pieces of one sheet."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from plotout import FloatArray

FEWEST = 6  # places of a piece
BRIDGE = 2.0  # least length of a step from piece to piece, in usual steps
DRAWN = 0.6  # length that a step along a drawn line counts for
CLOSING = 2.0  # greatest length of the step that closes a piece instead, in usual steps of it
APART, WHOLE = 2.2, 2.6  # usual steps from piece to piece, at least, and within one, at most
REVERSED = 2  # stretches reversed at a time, at most, by the places of a path
SO_MANY, ROUND = 10, 0.03  # places of a piece that lies apart, and its least roundness: 1 is a disc


def separate(places: Sequence[FloatArray], which: list[int]) -> tuple[list[list[int]], list[int]]:
    """Divide places into pieces that lie apart and close by themselves, and the rest, in one.

    which: indices of the places. Pieces that come near each other are left to `rings`. Returns also
    what is of no piece: rows of pricks, such as a grain line.
    """
    if len(which) < 2 * SO_MANY:
        return [which], []
    at = np.array([places[index] for index in which])
    near = cKDTree(at).query(at, k=3)[0][:, 1:]
    usual = float(np.median(near))
    pairs = cKDTree(at).query_pairs(APART * usual, output_type="ndarray")
    joined = coo_array((np.ones(len(pairs)), pairs.T), (len(at), len(at)))
    count, label = connected_components(joined, directed=False)
    parts = [np.flatnonzero(label == part).tolist() for part in range(count)]
    shapes = [_ring(at, own) if len(own) >= SO_MANY else (np.inf, 0.0) for own in parts]
    whole = [step < WHOLE * usual and part > ROUND for step, part in shapes]
    alone = [own for own, closes in zip(parts, whole, strict=True) if closes]
    if not alone:
        return [which], []
    rows, rest = list[int](), list[int]()
    trees = [cKDTree(at[own]) for own in alone]
    for own, (_, part), closes in zip(parts, shapes, whole, strict=True):
        if len(own) < SO_MANY:  # strays, or a corner with pricks covered: of the nearest piece
            nearest = min(range(len(trees)), key=lambda k: float(trees[k].query(at[own])[0].min()))
            alone[nearest] += own
        elif not closes:
            (rest if part > ROUND else rows).extend(own)
    if rest:
        alone.append(rest)
    return [[which[index] for index in sorted(own)] for own in alone], [which[k] for k in rows]


def _ring(at: FloatArray, own: list[int]) -> tuple[float, float]:
    """Return the longest step of the ring through places, and how round it is: 1 is a disc."""
    ring = at[shortest([at[index] for index in own], own)]
    after = np.roll(ring, -1, axis=0)
    steps = np.hypot(*(after - ring).T)
    area = abs(float(np.sum(ring[:, 0] * after[:, 1] - after[:, 0] * ring[:, 1]))) / 2.0
    return float(steps.max()), float(4.0 * np.pi * area / steps.sum() ** 2)


def rings(places: Sequence[FloatArray], tour: list[int]) -> list[list[int]]:
    """Divide a tour through places (its indices) that goes from piece to piece.

    It does so by two long steps, where two short ones would close each piece.
    """
    at = np.array([places[index] for index in tour])
    count = len(tour)
    if count < 2 * FEWEST:
        return [tour]
    after = np.roll(at, -1, axis=0)
    steps = np.hypot(*(after - at).T)
    usual = float(np.median(steps))
    best, cut = 0.0, None
    far = np.flatnonzero(steps > BRIDGE * usual)
    for one in far:
        for other in far[far > one]:
            if not FEWEST <= other - one <= count - FEWEST:
                continue
            inner, outer = (np.hypot(*(after[a] - at[b])) for a, b in ((one, other), (other, one)))
            gain = steps[one] + steps[other] - inner - outer
            own, rest = steps[one + 1 : other], np.delete(steps, slice(one, other + 1))
            closed = inner < CLOSING * np.median(own) and outer < CLOSING * np.median(rest)
            if closed and gain > best:
                best, cut = gain, (int(one) + 1, int(other) + 1)
    if cut is None:
        return [tour]
    first, last = cut
    return [*rings(places, tour[first:last]), *rings(places, tour[last:] + tour[:first])]


def shortest(
    places: Sequence[FloatArray], tour: list[int], lined: NDArray[np.intp] | None = None
) -> list[int]:
    """Return the order of a short closed path through places: greedy, then by 2-opt and or-opt.

    lined: pairs of places between which a line is drawn, (m, 2): a step there counts as shorter.
    """
    at = np.array(places)
    gaps = np.hypot(*(at[:, None] - at[None]).transpose(2, 0, 1))
    if lined is not None and len(lined):
        gaps[lined[:, 0], lined[:, 1]] *= DRAWN
        gaps[lined[:, 1], lined[:, 0]] = gaps[lined[:, 0], lined[:, 1]]
    order = _greedy(gaps)
    for _ in range(60):
        changed = _two_opt(gaps, order)
        order, moved = _or_opt(gaps, order)
        if not (changed or moved):
            break
    return [tour[index] for index in order]


def _greedy(gaps: FloatArray) -> list[int]:
    """Join the nearest ends first."""
    count = len(gaps)
    ends = list(range(count))  # the other end of a chain, by its end
    joined: list[list[int]] = [[] for _ in range(count)]
    upper = np.triu_indices(count, 1)
    links = 0
    for index in np.argsort(gaps[upper], kind="stable"):
        one, other = int(upper[0][index]), int(upper[1][index])
        if len(joined[one]) == 2 or len(joined[other]) == 2 or ends[one] == other:
            continue
        joined[one].append(other)
        joined[other].append(one)
        first, last = ends[one], ends[other]
        ends[first], ends[last] = last, first
        links += 1
        if links == count - 1:
            break
    at = next(index for index in range(count) if len(joined[index]) == 1)
    order, before = [at], -1
    while len(order) < count:
        at, before = next(index for index in joined[at] if index != before), at
        order.append(at)
    return order


def _two_opt(gaps: FloatArray, order: list[int]) -> bool:
    """Reverse stretches where that shortens the path, in place."""
    changed = False
    for _ in range(REVERSED * len(order)):
        path = np.array(order)
        after = np.roll(path, -1)
        now = gaps[path, after]
        gain = now[:, None] + now[None, :] - gaps[np.ix_(path, path)] - gaps[np.ix_(after, after)]
        gain[np.tril_indices(len(path))] = 0.0
        a, b = np.unravel_index(int(gain.argmax()), gain.shape)
        if gain[a, b] < 1e-6:
            return changed
        order[a + 1 : b + 1] = order[a + 1 : b + 1][::-1]
        changed = True
    return changed


def _or_opt(gaps: FloatArray, order: list[int]) -> tuple[list[int], bool]:
    """Move one to three adjacent places to where they shorten the path most."""
    count, moved = len(order), False
    for length in (1, 2, 3):
        for start in range(count):
            if count < length + 3:
                break
            ring = order[start:] + order[:start]
            part, rest = ring[:length], ring[length:]
            saved = gaps[rest[-1], part[0]] + gaps[part[-1], rest[0]] - gaps[rest[-1], rest[0]]
            here, there = np.array(rest[:-1]), np.array(rest[1:])
            ahead = gaps[here, part[0]] + gaps[part[-1], there] - gaps[here, there]
            back = gaps[here, part[-1]] + gaps[part[0], there] - gaps[here, there]
            cost = np.minimum(ahead, back)
            k = int(cost.argmin())
            if cost[k] < saved - 1e-6:
                piece = part if ahead[k] <= back[k] else part[::-1]
                order, moved = rest[: k + 1] + piece + rest[k + 1 :], True
    return order, moved
