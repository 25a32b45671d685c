"""Reads HP-GL/2's encoded polylines (PE).

Source: HP-GL/2 and HP RTL Reference Guide, the instruction PE. Numbers are written in base 64 (or
32 after the flag 7), least digit first; the last digit is marked by another range of characters.
The lowest bit of a number is its sign.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

_PEN, _UP, _FRACTION, _ABSOLUTE, _SEVEN = 58, 60, 62, 61, 55  # : < > = 7
_BLANKS = (9, 10, 13, 32)
_MOST_FRACTION = 26  # bits, either way: HP-GL/2, the instruction PE; from memory


def read_polyline(
    body: bytes,
    at: tuple[float, float],
    *,
    move: Callable[[list[float], bool], None],
    select: Callable[[int], None],
    wrong: Callable[[str], None],
) -> None:
    """Read the body of one PE (between the letters and the semicolon).

    move: called with plotter units x, y, x, y ... and whether the pen is down. select: called with
    a pen. wrong: called with what can't be read, in words.
    """
    base_bits = 5 if b"7" in body else 6
    data = np.frombuffer(body, dtype=np.uint8).astype(np.int64)
    data = data[~np.isin(data, _BLANKS)]
    if (data <= 32).any():
        wrong("PE: invalid characters")
        data = data[data > 32]
    flags, values, before = _numbers(data, base_bits, wrong)
    scale, up, absolute, index = 1.0, False, False, 0
    here = np.array(at, dtype=np.float64)
    ends = [*before, len(values)][1:]
    first = before[0] if before else len(values)
    here = _segment(values[index:first], here, scale, up, absolute, move, wrong)
    index = first
    for flag, start, end in zip(flags, before, ends, strict=True):
        index = max(index, start)
        if flag in (_PEN, _FRACTION):
            if start >= end:
                wrong("PE: a flag without its number")
                continue
            number = int(values[index])
            index += 1
            if flag == _PEN:
                select(number)
            elif abs(number) <= _MOST_FRACTION:
                scale = 2.0**-number
            else:
                wrong(f"PE: a fraction of {number} bits")
        elif flag == _UP:
            up = True
        elif flag == _ABSOLUTE:
            absolute = True
        elif flag != _SEVEN:
            wrong(f"PE: the flag {chr(flag)!r}")
        if index < end:
            here = _segment(values[index:end], here, scale, up, absolute, move, wrong)
            up = absolute = False
            index = end


def _numbers(
    data: NDArray[np.int64], bits: int, wrong: Callable[[str], None]
) -> tuple[list[int], NDArray[np.float64], list[int]]:
    """Return the flags, all numbers, and the count of numbers before every flag."""
    low = 63
    more, last = (low, low + 63), (191, 254)
    if bits == 5:
        more, last = (63, 94), (95, 126)
    goes_on = (data >= more[0]) & (data <= more[1])
    ends = (data >= last[0]) & (data <= last[1])
    is_flag = data < 63
    stray = ~(goes_on | ends | is_flag)
    if stray.any():
        wrong("PE: invalid characters")
    finished = np.cumsum(ends)
    flags = data[is_flag].tolist()
    before = finished[is_flag].tolist()
    digits_at = np.flatnonzero(goes_on | ends)
    if not len(digits_at):
        return flags, np.empty(0), before
    digit = np.where(ends[digits_at], data[digits_at] - last[0], data[digits_at] - more[0])
    is_last = ends[digits_at]
    if not is_last[-1]:
        wrong("PE: it ends in the middle of a number")
        kept = np.flatnonzero(is_last)
        size = int(kept[-1]) + 1 if len(kept) else 0
        digit, is_last = digit[:size], is_last[:size]
        if not size:
            return flags, np.empty(0), before
    starts = np.concatenate([[0], np.flatnonzero(is_last)[:-1] + 1])
    place = np.arange(len(digit)) - np.repeat(starts, np.diff([*starts, len(digit)]))
    if place.max() > 9:
        wrong("PE: a number with too many digits")
        place = np.minimum(place, 9)
    raw = np.add.reduceat(digit << (bits * place), starts)
    return flags, np.where(raw & 1, -(raw >> 1), raw >> 1).astype(np.float64), before


def _segment(
    values: NDArray[np.float64],
    here: NDArray[np.float64],
    scale: float,
    up: bool,
    absolute: bool,
    move: Callable[[list[float], bool], None],
    wrong: Callable[[str], None],
) -> NDArray[np.float64]:
    """Move along the pairs between two flags; only the first is up or absolute."""
    if len(values) % 2:
        wrong("PE: half a pair of coordinates")
        values = values[:-1]
    if not len(values):
        return here
    steps = values.reshape(-1, 2) * scale
    first = steps[0] if absolute else here + steps[0]
    steps[0] = first
    points = np.cumsum(steps, axis=0)
    if up:
        move(points[0].tolist(), False)
        if len(points) > 1:
            move(points[1:].ravel().tolist(), True)
    else:
        move(points.ravel().tolist(), True)
    return np.asarray(points[-1])
