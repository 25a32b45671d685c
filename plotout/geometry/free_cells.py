"""Finds where a shape made of cells lies on free cells only, by bits, 64 places at once.

A shape is spans of cells along y. A span is free where two blocks, each as long as a power of two,
are free at its ends; so a field keeps, for every such length, at which cell a block of it that
begins there meets a taken cell (a sparse table).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from plotout.loops.compiled import compiled

Bits = NDArray[np.uint64]
Ints = NDArray[np.int64]

_WORD = 64


@compiled
def free_places(blocked: Bits, spans: Ints, counts: Ints, free: Bits, found: Ints) -> int:
    """Find places in `found`, (most, 2), by column, then by row; return how many.

    blocked: see `blocked_by`. spans: see `spans_of`; those that refuse most come to the front.
    counts: (2,) how many columns and rows may hold a shape's first cell. free: (words,) to work in.
    """
    columns, rows = counts[0], counts[1]
    words = (rows + 63) // 64
    many = 0
    one = np.uint64(1)
    for column in range(columns):
        for word in range(words):
            free[word] = ~np.uint64(0)
        if rows % 64:
            free[words - 1] = (one << np.uint64(rows % 64)) - one
        left = True
        for nth in range(len(spans)):
            level, at = spans[nth, 3], column + spans[nth, 0]
            here = np.uint64(0)
            first, second = spans[nth, 1] // 64, spans[nth, 2] // 64
            by_first, by_second = np.uint64(spans[nth, 1] % 64), np.uint64(spans[nth, 2] % 64)
            for word in range(words):
                taken = blocked[level, at, word + first] >> by_first
                # in two steps, since a shift by 64 bits is undefined
                taken |= blocked[level, at, word + first + 1] << one << (np.uint64(63) - by_first)
                taken |= blocked[level, at, word + second] >> by_second
                taken |= blocked[level, at, word + second + 1] << one << (np.uint64(63) - by_second)
                free[word] &= ~taken
                here |= free[word]
            if not here:
                left = False
                for part in range(4):  # it will refuse the next column, too
                    spans[nth, part], spans[nth // 2, part] = (
                        spans[nth // 2, part],
                        spans[nth, part],
                    )
                break
        if left:
            for word in range(words):
                bits = free[word]
                row = 64 * word
                while bits:
                    if bits & one:
                        found[many, 0], found[many, 1] = column, row
                        many += 1
                        if many == len(found):
                            return many
                    bits >>= one
                    row += 1
    return many


def loops() -> list[tuple[Callable[..., object], Any]]:
    """Return every loop that Python calls, and its type for numba, for compiling it ahead."""
    import numba

    types: Any = numba.types

    def of(kind: Any, axes: int) -> Any:
        return types.Array(kind, axes, "C")

    bits, ints = types.uint64, types.int64
    signature = ints(of(bits, 3), of(ints, 2), of(ints, 1), of(bits, 1), of(ints, 2))
    return [(free_places, signature)]


def blocked_by(taken: NDArray[np.bool_]) -> Bits:
    """Return (levels, columns, words): bits of the cells at which a block of 2^level is not free.

    The cells beyond the field are free; one column and two words of them are added.
    """
    columns, rows = taken.shape
    words = -(-rows // _WORD) + 2
    whole = np.zeros((columns + 2, words * _WORD), dtype=np.bool_)
    whole[:columns, :rows] = taken
    level = np.packbits(whole, axis=1, bitorder="little").view(np.uint64)
    levels = [level]
    while 2 ** len(levels) <= rows + 2:
        level = level | _shifted(level, 2 ** (len(levels) - 1))
        levels.append(level)
    return np.ascontiguousarray(levels)


def _shifted(bits: Bits, by: int) -> Bits:
    """Return rows of bits shifted to `by` places lower."""
    words, rest = divmod(by, _WORD)
    moved = np.zeros_like(bits)
    moved[:, : bits.shape[1] - words] = bits[:, words:]
    if rest:
        over = np.zeros_like(bits)
        over[:, :-1] = moved[:, 1:] << np.uint64(_WORD - rest)
        moved = (moved >> np.uint64(rest)) | over
    return moved


def spans_of(shape: NDArray[np.bool_]) -> Ints:
    """Return the spans of a shape's cells, (n, 4): column, first rows of two blocks, their level.

    The longest comes first, then such as lie far from one another.
    """
    edge = np.zeros((shape.shape[0], shape.shape[1] + 2), dtype=np.int8)
    edge[:, 1:-1] = shape
    step = np.diff(edge, axis=1)
    column, begin = np.nonzero(step == 1)
    end = np.nonzero(step == -1)[1]
    size = end - begin
    level = np.array([int(length).bit_length() - 1 for length in size.tolist()], dtype=np.int64)
    spans = np.column_stack([column, begin, end - 2**level, level]).astype(np.int64)
    spread = np.argsort(np.arange(len(spans)) * 0.618 % 1.0)
    if len(spans):
        longest = int(size.argmax())
        spread = np.concatenate([[longest], spread[spread != longest]])
    return np.ascontiguousarray(spans[spread])
