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

from plotout.loops.compiled import compiled, compiled_inner

Cells = NDArray[np.bool_]
Bits = NDArray[np.uint64]
Ints = NDArray[np.int64]

_WORD = 64


@compiled_inner
def free_in_column(
    blocked: Bits, at: int, spans: Ints, rows: int, free: Bits
) -> bool:  # fmt: skip
    """Find in `free` in which rows of a column a shape may begin; return whether in any.

    The span that refused the last of them comes nearer to the front: it will refuse the next
    column's, too.
    """
    words = (rows + 63) // 64
    one = np.uint64(1)
    for word in range(words):
        free[word] = ~np.uint64(0)
    if rows % 64:
        free[words - 1] = (one << np.uint64(rows % 64)) - one
    for index in range(len(spans)):
        level, column = spans[index, 3], at + spans[index, 0]
        left = np.uint64(0)
        first, second = spans[index, 1] // 64, spans[index, 2] // 64
        by_first, by_second = np.uint64(spans[index, 1] % 64), np.uint64(spans[index, 2] % 64)
        for word in range(words):
            taken = blocked[level, column, word + first] >> by_first
            # in two steps, since a shift by 64 bits is undefined
            taken |= blocked[level, column, word + first + 1] << one << (np.uint64(63) - by_first)
            taken |= blocked[level, column, word + second] >> by_second
            taken |= blocked[level, column, word + second + 1] << one << (np.uint64(63) - by_second)
            free[word] &= ~taken
            left |= free[word]
        if not left:
            for part in range(4):
                near = spans[index // 2, part]
                spans[index // 2, part] = spans[index, part]
                spans[index, part] = near
            return False
    return True


@compiled
def free_places(blocked: Bits, spans: Ints, counts: Ints, free: Bits, found: Ints) -> int:
    """Find places of a shape in `found`, (most, 2), by column, then by row; return how many.

    blocked: see `blocked_by`. spans: see `spans_of`; their order changes. counts: (2,) how many
    columns and rows may hold a shape's first cell. free: (words,) to work in.
    """
    many = 0
    one = np.uint64(1)
    for column in range(counts[0]):
        if not free_in_column(blocked, column, spans, counts[1], free):
            continue
        for word in range((counts[1] + 63) // 64):
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


@compiled
def first_with_a_place(blocked: Bits, some: Ints, spans: Ints, counts: Ints, free: Bits) -> int:
    """Return the index in `some` of the first field on which a shape has a place; or their number.

    blocked: of many fields. some: numbers of fields. Else as in `free_places`.
    """
    for index in range(len(some)):
        field = blocked[some[index]]
        for column in range(counts[0]):
            if free_in_column(field, column, spans, counts[1], free):
                return index
    return len(some)


@compiled
def tallest_free(taken: Cells, heights: Ints, rising: Ints, found: Ints) -> None:
    """Find in `found`, (columns + 1,), the most rows of any free block that is so many wide.

    taken: (columns, rows). heights: (columns,) of zeros; rising: (columns + 1, 2); to work in.
    """
    columns, rows = taken.shape
    for row in range(rows):
        depth = 0
        for column in range(columns + 1):
            height = 0
            if column < columns:
                height = 0 if taken[column, row] else heights[column] + 1
                heights[column] = height
            begin = column
            while depth and rising[depth - 1, 1] >= height:  # as in a histogram, by a stack
                depth -= 1
                begin = rising[depth, 0]
                wide = column - begin
                found[wide] = max(found[wide], rising[depth, 1])
            rising[depth, 0], rising[depth, 1] = begin, height
            depth += 1
    for wide in range(columns - 1, -1, -1):
        found[wide] = max(found[wide], found[wide + 1])


@compiled_inner
def block_column(blocked: Bits, column: int) -> None:
    """Set the bits of a column for all lengths of a block but 1, whose bits are set already."""
    levels, words = blocked.shape[0], blocked.shape[2]
    one = np.uint64(1)
    for level in range(1, levels):
        ahead, rest = 2 ** (level - 1) // 64, np.uint64(2 ** (level - 1) % 64)
        for word in range(words):
            bits = blocked[level - 1, column, word]
            if word + ahead < words:
                bits |= blocked[level - 1, column, word + ahead] >> rest
            if word + ahead + 1 < words:
                over = blocked[level - 1, column, word + ahead + 1]
                bits |= over << one << (np.uint64(63) - rest)
            blocked[level, column, word] = bits


@compiled
def block(taken: Cells, blocked: Bits) -> None:
    """Set the bits in `blocked`, all 0 at first; see `blocked_by`."""
    columns, rows = taken.shape
    one = np.uint64(1)
    for column in range(columns):
        for row in range(rows):
            if taken[column, row]:
                blocked[0, column, row // 64] |= one << np.uint64(row % 64)
        block_column(blocked, column)


def loops() -> list[tuple[Callable[..., object], Any]]:
    """Return every loop that Python calls, and its type for numba, for compiling it ahead."""
    import numba

    types: Any = numba.types

    def of(kind: Any, axes: int) -> Any:
        return types.Array(kind, axes, "C")

    bits, ints = types.uint64, types.int64
    row, pairs = of(ints, 1), of(ints, 2)
    return [
        (free_places, ints(of(bits, 3), pairs, row, of(bits, 1), pairs)),
        (first_with_a_place, ints(of(bits, 4), row, pairs, row, of(bits, 1))),
        (block, types.void(of(types.boolean, 2), of(bits, 3))),
        (tallest_free, types.void(of(types.boolean, 2), row, pairs, row)),
    ]


def blocked_by(taken: Cells) -> Bits:
    """Return (levels, columns, words): bits of the cells at which a block of 2^level is not free.

    The cells beyond the field are free; one column and two words of them are added.
    """
    columns, rows = taken.shape
    words = -(-rows // _WORD) + 2
    levels = (rows + 2).bit_length()
    blocked = np.zeros((levels, columns + 2, words), dtype=np.uint64)
    block(np.ascontiguousarray(taken), blocked)
    return blocked


def blocks_of(cells: Cells) -> Ints:
    """Return, (columns + 1,), the most rows of any block of true cells that is so many wide."""
    columns = len(cells)
    found, heights = np.zeros(columns + 1, dtype=np.int64), np.zeros(columns, dtype=np.int64)
    rising = np.zeros((columns + 1, 2), dtype=np.int64)
    tallest_free(np.ascontiguousarray(~cells), heights, rising, found)
    return found


def spans_of(shape: Cells) -> Ints:
    """Return the spans of a shape's cells, (n, 4): column, first rows of two blocks, their level.

    The longest comes first, then such as lie far from one another.
    """
    rows = shape.shape[1] + 1
    edge = np.zeros((shape.shape[0], rows + 1), dtype=bool)
    edge[:, 1:-1] = shape
    steps = np.flatnonzero(edge[:, 1:] != edge[:, :-1])  # each span's begin, then its end
    column, begin = np.divmod(steps[::2], rows)
    end = steps[1::2] % rows
    size = end - begin
    level = np.frexp(size)[1].astype(np.int64) - 1
    spans = np.column_stack([column, begin, end - 2**level, level]).astype(np.int64)
    spread = np.argsort(np.arange(len(spans)) * 0.618 % 1.0)
    if len(spans):
        longest = int(size.argmax())
        spread = np.concatenate([[longest], spread[spread != longest]])
    return np.ascontiguousarray(spans[spread])
