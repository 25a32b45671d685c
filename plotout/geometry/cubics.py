"""Cubic curves, each instead of several arcs in a row, for formats that have both.

Rows, and parts of long ones, are searched side by side, as in `arcs`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from plotout.geometry.arc_fit import Complex, Flags, Indices, in_parts
from plotout.geometry.arcs import Moves
from plotout.geometry.cubic_fit import fitted
from plotout.geometry.strokes import FloatArray

PART = 24  # moves of a row that are searched on their own
_AT_ONCE = 1000  # rows, to save memory
_FEWEST = 2  # moves that a cubic replaces
_SMOOTH = math.radians(5.0)  # moves that turn more from one to the next end a row


class Cubic(NamedTuple):
    """A cubic Bezier curve instead of the moves from `first` to before `last`.

    handles: its inner control points, mm; the outer ones are where these moves begin and end.
    """

    first: int
    last: int
    handles: tuple[complex, complex]


@dataclass(frozen=True, slots=True, eq=False)
class _Search:
    """Where the search is in every row, as numbers of moves; (n,) each, handles (n, 2).

    begin: of the next cubic. last: the row's end. fits: how many moves fit, with these handles.
    size: how many are tried next. too_long: how many don't fit, or more than are left.
    """

    begin: Indices
    last: Indices
    fits: Indices
    size: Indices
    too_long: Indices
    handles: Complex

    def start(self, rows: Indices) -> None:
        """Start looking for the next cubic of some rows."""
        self.fits[rows], self.size[rows] = 0, _FEWEST
        self.too_long[rows] = self.last[rows] - self.begin[rows] + 1

    def note(self, rows: Indices, good: Flags, handles: Complex) -> Indices:
        """Note which tries fit, and choose the next: twice as many, or narrowed down.

        Returns the rows in which the longest cubic is found, or none.
        """
        fit, bad = rows[good], rows[~good]
        self.fits[fit], self.handles[fit] = self.size[fit], handles[good]
        self.too_long[bad] = self.size[bad]
        fits, too_long = self.fits[rows], self.too_long[rows]
        left = self.last[rows] - self.begin[rows]
        doubled = np.minimum(2 * fits, left)
        self.size[rows] = np.where(too_long > left, doubled, (fits + too_long) // 2)
        return np.asarray(rows[(self.size[rows] <= fits) | (fits == 0)])


def find_cubics(moves: Moves, tolerances: Sequence[float]) -> list[Cubic]:
    """Return the cubics that replace most moves, in order, none past a corner or a line's end.

    The Hausdorff distance between each and its part of the line is at most the line's tolerance,
    mm. Each replaces as many moves as it can, at most PART; there is none instead of one.
    """
    places = np.ascontiguousarray(moves.points).view(complex).ravel()
    line = np.repeat(np.arange(len(tolerances)), [part.stop - part.start for part in moves.by_line])
    begin, last = _rows(moves, places, line)
    within = np.asarray(tolerances, dtype=float)[line[begin]]
    found: list[Cubic] = []
    for at in range(0, len(begin), _AT_ONCE):
        some = slice(at, at + _AT_ONCE)
        found += _along(moves, places, begin[some], last[some], within[some])
    return sorted(found)


def _along(
    moves: Moves, places: Complex, begin: Indices, last: Indices, within: FloatArray
) -> Iterator[Cubic]:
    """Give the cubics along some rows of moves."""
    count = len(begin)
    fits, size, too_long = (np.zeros(count, np.int64) for _ in range(3))
    handles = np.zeros((count, 2), complex)
    search = _Search(begin.copy(), last, fits, size, too_long, handles)
    rows = np.arange(count)
    search.start(rows)
    while len(rows):
        ends = moves.begin[search.begin[rows]], moves.end[(search.begin + search.size)[rows] - 1]
        done = search.note(rows, *fitted(places, *ends, within[rows]))
        for row in done[search.fits[done] > 0].tolist():
            first, (one, two) = int(search.begin[row]), search.handles[row].tolist()
            yield Cubic(first, first + int(search.fits[row]), (one, two))
        search.begin[done] += np.maximum(search.fits[done], 1)
        search.start(done)
        rows = rows[search.begin[rows] + _FEWEST <= search.last[rows]]


def _rows(moves: Moves, places: Complex, line: Indices) -> tuple[Indices, Indices]:
    """Return where rows of smoothly joined moves begin and end that hold an arc. line: by move."""
    if not len(line):
        return line, line
    chord, half = places[moves.end] - places[moves.begin], np.exp(0.5j * moves.sweep)
    turn = np.angle(np.conj(chord[:-1] * half[:-1]) * chord[1:] / half[1:])
    breaks = np.flatnonzero((np.abs(turn) > _SMOOTH) | (line[1:] != line[:-1])) + 1
    begin, end = np.append(0, breaks), np.append(breaks, len(line))
    begin, end = in_parts(begin, end, PART)
    arcs = np.append(0, np.cumsum(moves.sweep != 0.0))
    kept = (end - begin >= _FEWEST) & (arcs[end] > arcs[begin])
    return begin[kept], end[kept]
