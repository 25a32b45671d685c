"""Lays shapes made of cells on sheets, one after another, in many orders and turns.

Each goes to its first free place, on the first sheet that has one. Of cells see `free_cells`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.free_cells import Bits, Ints, block_column, free_in_column
from plotout.geometry.strokes import FloatArray
from plotout.loops.compiled import compiled, compiled_inner

Random = NDArray[np.uint64]
"""(1,): the state of a series of random numbers, not 0."""

_SPREAD = 0.6  # share by which a card's rank is changed at random


@compiled_inner
def _uniform(state: Random) -> float:
    """Return a number from 0 up to 1 (xorshift64*: S. Vigna 2016)."""
    bits = state[0]
    bits ^= bits >> np.uint64(12)
    bits ^= bits << np.uint64(25)
    bits ^= bits >> np.uint64(27)
    state[0] = bits
    return float((bits * np.uint64(2685821657736338717)) >> np.uint64(11)) / 9007199254740992.0


@compiled_inner
def _take(field: Bits, at: int, row: int, spans: Ints) -> None:
    """Mark the cells of a shape as taken, its first cell in a column and a row."""
    every = ~np.uint64(0)
    last = at
    for index in range(len(spans)):
        column = at + spans[index, 0]
        last = max(last, column)
        begin, end = row + spans[index, 1], row + spans[index, 2] + 2 ** spans[index, 3] - 1
        for word in range(begin // 64, end // 64 + 1):
            bits = every
            if word == begin // 64:
                bits &= every << np.uint64(begin % 64)
            if word == end // 64:
                bits &= every >> np.uint64(63 - end % 64)
            field[0, column, word] |= bits
    for column in range(at, last + 1):
        block_column(field, column)


@compiled_inner
def _copy(bits: Bits, to: Bits) -> None:
    for level in range(bits.shape[0]):
        for column in range(bits.shape[1]):
            for word in range(bits.shape[2]):
                to[level, column, word] = bits[level, column, word]


@compiled_inner
def _first_row(free: Bits) -> int:
    """Return the number of the first bit that is set, one of which is."""
    one = np.uint64(1)
    word = 0
    while free[word] == np.uint64(0):
        word += 1
    bits, row = free[word], 64 * word
    while not bits & one:
        bits >>= one
        row += 1
    return row


@compiled_inner
def _placed(
    field: Bits,
    some: Ints,
    spans: Ints,
    first: Ints,
    counts: Ints,
    size: FloatArray,
    free: Bits,
    found: Ints,
) -> bool:
    """Find in `found` the one of some shapes that reaches least far, and its column and row."""
    far, high, none = np.inf, np.inf, True
    for index in range(len(some)):
        shape = some[index]
        if shape < 0 or counts[shape, 0] < 1 or counts[shape, 1] < 1:
            continue
        own = spans[first[shape] : first[shape + 1]]
        for column in range(counts[shape, 0]):
            reach = column + size[shape, 0]
            if reach > far:
                break
            if free_in_column(field, column, own, counts[shape, 1], free):
                row = _first_row(free)
                if reach < far or row + size[shape, 1] < high:
                    far, high, none = reach, row + size[shape, 1], False
                    found[0], found[1], found[2] = shape, column, row
                break
    return not none


@compiled_inner
def _mix(cards: Ints, sizes: FloatArray, order: Ints, rank: FloatArray, state: Random) -> None:
    """Put cards in a random order, the large ones still early."""
    by = 0 if _uniform(state) < 0.5 else 1
    for index in range(len(cards)):
        key = sizes[cards[index], by] * (1.0 - _SPREAD + 2.0 * _SPREAD * _uniform(state))
        at = index
        while at > 0 and rank[at - 1] < key:
            rank[at], order[at] = rank[at - 1], order[at - 1]
            at -= 1
        rank[at], order[at] = key, cards[index]


@compiled_inner
def _turned_less(turns: Ints, half: int, some: Ints, state: Random) -> None:
    """Choose one of a card's shapes, or those of every other turn if `half` is 0 or 1."""
    left = 0
    pick = int(_uniform(state) * len(turns))
    for turn in range(len(turns)):
        keep = turn == pick if half < 0 else turn % 2 == half
        some[turn] = turns[turn] if keep else -1
        left += some[turn] >= 0
    if left == 0:
        for turn in range(len(turns)):
            some[turn] = turns[turn]


@compiled
def trial_lays(
    cards: Ints,
    sizes: FloatArray,
    areas: FloatArray,
    turns: Ints,
    spans: Ints,
    first: Ints,
    counts: Ints,
    size: FloatArray,
    start: Bits,
    fields: Bits,
    tries: int,
    state: Random,
    order: Ints,
    rank: FloatArray,
    some: Ints,
    left: FloatArray,
    free: Bits,
    found: Ints,
    laid: Ints,
) -> int:
    """Lay cards on so many fields at most; return at which try all lay there, or 0.

    cards: numbers. sizes: (all, 2) by which they are ranked. areas: (all,) shares of a field.
    turns: (all, turns) a card's shapes, -1 for none. Of shapes: spans, those of shape k from
    first[k] on; counts: (n, 2) see `free_places`; size: (n, 2) in cells. start: a field's bits.
    laid: (cards, 5) in the order of laying: card, field, shape, column, row. The rest is to work
    in.
    """
    for attempt in range(1, tries + 1):
        _mix(cards, sizes, order, rank, state)
        held = int(_uniform(state) * 4.0) / 3.0
        half = int(_uniform(state) * 4.0)  # 2 and 3: each card by itself
        used, whole = 0, True
        for place in range(len(cards)):
            card = order[place]
            if _uniform(state) < held:
                _turned_less(turns[card], half if half < 2 else -1, some, state)
            else:
                for turn in range(len(some)):
                    some[turn] = turns[card, turn]
            whole = False
            for field in range(min(used + 1, len(fields))):
                if field == used:
                    used += 1
                    _copy(start, fields[field])
                    left[field] = 1.0
                if left[field] >= areas[card] and _placed(
                    fields[field], some, spans, first, counts, size, free, found
                ):
                    own = spans[first[found[0]] : first[found[0] + 1]]
                    _take(fields[field], found[1], found[2], own)
                    left[field] -= areas[card]
                    laid[place, 0], laid[place, 1], laid[place, 2] = card, field, found[0]
                    laid[place, 3], laid[place, 4] = found[1], found[2]
                    whole = True
                    break
            if not whole:
                break
        if whole:
            return attempt
    return 0


def loops() -> list[tuple[Callable[..., object], Any]]:
    """Return every loop that Python calls, and its type for numba, for compiling it ahead."""
    import numba

    types: Any = numba.types

    def of(kind: Any, axes: int) -> Any:
        return types.Array(kind, axes, "C")

    bits, ints, floats = types.uint64, types.int64, types.float64
    row, pairs, sides = of(ints, 1), of(ints, 2), of(floats, 2)
    kind = ints(
        row, sides, of(floats, 1), pairs, pairs, row, pairs, sides, of(bits, 3), of(bits, 4), ints,
        of(bits, 1), row, of(floats, 1), row, of(floats, 1), of(bits, 1), row, pairs,
    )  # fmt: skip
    return [(trial_lays, kind)]
