"""Arcs recovered from flattened lines, for formats that have arcs.

Lines, and parts of long ones, are searched side by side: each round finds the next move along all.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from plotout.geometry.arc_fit import (
    FEWEST,
    SHARPEST,
    Arcs,
    Complex,
    Flags,
    Indices,
    Points,
    in_parts,
    longest,
)
from plotout.geometry.chord_fit import longest_chords
from plotout.geometry.strokes import FloatArray

PART = 500  # stretches of a line that are searched on their own
EVEN = 0.25  # degrees by which a knife may be off along a move that turns it evenly


@dataclass(frozen=True, slots=True, eq=False)
class Moves:
    """Straight moves and arcs along lines, in order.

    points: (m, 2), mm, the vertices of all lines, end to end. begin, end: (n,), which of them a
    move joins. centre: (n, 2), mm. sweep: (n,), radians, positive counter-clockwise; 0 for a
    straight move, which has no centre. by_line: the moves of every line.
    """

    points: FloatArray
    begin: Indices
    end: Indices
    centre: FloatArray
    sweep: FloatArray
    by_line: list[slice]


class _Found(NamedTuple):
    """Moves as in `Moves`, without their lines."""

    begin: Indices
    end: Indices
    centre: FloatArray
    sweep: FloatArray


def find_arcs(
    lines: Sequence[FloatArray],
    tolerances: Sequence[float],
    headings: Sequence[FloatArray] = (),
) -> Moves:
    """Return lines, each (n, 2), mm, as straight moves and arcs from vertex to vertex.

    headings: of a knife at every vertex, degrees, if it is turned along the lines. A move is only
    as long as it may turn evenly along it, at most EVEN off at every vertex.

    The Hausdorff distance between the two is at most the line's tolerance, mm. Each move reaches
    as far as it can from the end of the previous one: arcs up to arc_fit.WIDEST, and none past a
    sharp corner or the end of a part of PART stretches. Of a chord and an arc, the one that
    reaches further is taken.
    """
    sizes = np.array([len(line) for line in lines], dtype=np.int64)
    vertices = np.ascontiguousarray(np.concatenate([np.empty((0, 2)), *lines]))
    within = np.repeat(np.asarray(tolerances, dtype=float), sizes)
    points = Points(vertices.view(complex).ravel(), within)
    longer = _longer(points, *_parts(points, sizes))
    if headings:
        longer = _turned_evenly(longer, points, np.concatenate(headings))
    begin, end, centre, sweep = _with_single(longer, sizes)
    ends = np.searchsorted(begin, np.cumsum([0, *sizes])).tolist()
    return Moves(vertices, begin, end, centre, sweep, [slice(*part) for part in pairwise(ends)])


def _parts(points: Points, sizes: Indices) -> tuple[Indices, Indices]:
    """Divide lines of `sizes` vertices into parts, also at corners: first and last vertices.

    No move can pass a corner: an arc cannot, because it is sharp; and of three points near a
    chord, the middle one is within twice the tolerance of a line through the others.
    """
    ends = np.cumsum(sizes)
    sharp = np.zeros(len(points.places), dtype=bool)
    turn, chord = _turns(points.places), points.places[2:] - points.places[:-2]
    sharp[1:-1] = np.abs(turn.imag) > turn.real * math.tan(SHARPEST)
    sharp[1:-1] &= np.abs(turn.imag) > 2.0 * points.within[1:-1] * np.abs(chord)
    sharp[(ends - sizes)[sizes > 0]] = True
    lasts = ends[sizes > 0] - 1
    sharp[lasts] = True
    corners = np.flatnonzero(sharp)
    begin, end = corners[:-1], corners[1:]
    inside = ~np.isin(begin, lasts)
    begin, end = begin[inside], end[inside]
    return in_parts(begin, end, PART)


def _longer(points: Points, at: Indices, last: Indices) -> _Found:
    """Return the moves of more than one stretch from some vertices, none past its last vertex."""
    bends, goes_on, count = _bends(points), _goes_on(points), len(points.places)
    begins_one = np.append(np.where(bends | goes_on, np.arange(count), count), count)
    begins_one = np.minimum.accumulate(begins_one[::-1])[::-1]
    found = [_moves(at[:0], Arcs(at[:0], np.empty(0, dtype=complex), np.empty(0)))]
    while at.size:
        at = begins_one[at]
        at, last = at[at < last], last[at < last]
        arcs = longest(points, at, np.where(bends[at], last, at))
        some = np.flatnonzero(goes_on[at] & ~_round(points, at, arcs))
        chords = longest_chords(points, at[some], last[some])
        further = chords >= arcs.end[some]
        arcs.end[some[further]], arcs.sweep[some[further]] = chords[further], 0.0
        found.append(_moves(at, arcs))
        at = np.maximum(arcs.end, at + 1)
    return _together(found)


def _moves(begin: Indices, arcs: Arcs) -> _Found:
    """Return the arcs that are longer than one stretch."""
    longer = arcs.end > begin + 1
    centre = np.column_stack([arcs.centre.real, arcs.centre.imag])
    return _Found(begin[longer], arcs.end[longer], centre[longer], arcs.sweep[longer])


def _turned_evenly(found: _Found, points: Points, headings: FloatArray) -> _Found:
    """Return the moves along which headings change evenly; other arcs are halved until theirs do,
    other chords left out.
    """
    along = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(points.places)))])
    kept = [_some(found, np.zeros(0, dtype=np.int64))]
    while found.begin.size:
        even = _even(found, along, headings)
        kept.append(_some(found, even))
        found = _halves(_some(found, ~even & (found.sweep != 0.0)), points)
    return _together(kept)


def _even(found: _Found, along: FloatArray, headings: FloatArray) -> Flags:
    """Return along which moves headings change evenly. along: way to every vertex, mm."""
    begin, stretches = found.begin, found.end - found.begin
    move = np.repeat(np.arange(len(begin)), stretches)
    at = np.arange(len(move)) + np.repeat(begin - np.cumsum(stretches) + stretches, stretches)
    share = (along[at] - along[begin[move]]) / (along[found.end] - along[begin])[move]
    turn = (headings[found.end] - headings[begin])[move]
    uneven = np.abs(headings[at] - headings[begin[move]] - share * turn) > EVEN
    return np.asarray(np.bincount(move[uneven], minlength=len(begin)) == 0)


def _halves(found: _Found, points: Points) -> _Found:
    """Return both halves of arcs, those of more than one stretch."""
    middle = (found.begin + found.end) // 2
    begin = np.concatenate([found.begin, middle])
    end = np.concatenate([middle, found.end])
    centre, sense = np.tile(found.centre, (2, 1)), np.tile(np.sign(found.sweep), 2)
    about = centre @ [1.0, 1.0j]
    turned = np.angle((points.places[end] - about) / (points.places[begin] - about))
    sweep = sense * (sense * turned % (2.0 * np.pi))
    return _some(_Found(begin, end, centre, sweep), end > begin + 1)


def _together(found: Sequence[_Found]) -> _Found:
    return _Found(
        np.concatenate([part.begin for part in found]),
        np.concatenate([part.end for part in found]),
        np.vstack([part.centre for part in found]),
        np.concatenate([part.sweep for part in found]),
    )


def _some(found: _Found, which: Flags | Indices) -> _Found:
    return _Found(found.begin[which], found.end[which], found.centre[which], found.sweep[which])


def _with_single(longer: _Found, sizes: Indices) -> _Found:
    """Put the unchanged stretches between the longer moves. sizes: vertices per line."""
    depth = np.zeros(sizes.sum() + 1, dtype=np.int64)
    depth[longer.begin + 1] += 1
    depth[longer.end] -= 1
    begins = np.cumsum(depth[:-1]) == 0
    begins[np.cumsum(sizes)[sizes > 0] - 1] = False
    begin = np.flatnonzero(begins)
    end, centre, sweep = begin + 1, np.zeros((len(begin), 2)), np.zeros(len(begin))
    at = np.searchsorted(begin, longer.begin)
    end[at], centre[at], sweep[at] = longer.end, longer.centre, longer.sweep
    return _Found(begin, end, centre, sweep)


def _turns(places: Complex) -> Complex:
    """Return, for all inner vertices, the conjugate step to it times the step from it."""
    steps = np.diff(places)
    return np.asarray(np.conj(steps[:-1]) * steps[1:])


def _bends(points: Points) -> Flags:
    """Return at which vertices an arc can begin: the next few turn gently to the same side."""
    turn = _turns(points.places)
    gentle = np.abs(turn.imag) < turn.real * math.tan(SHARPEST)
    turns = np.where(gentle, np.sign(turn.imag), 0.0)
    can = np.zeros(len(points.places), dtype=bool)
    if len(turns) >= FEWEST - 1:
        windows = np.lib.stride_tricks.sliding_window_view(turns, FEWEST - 1)
        can[: len(windows)] = np.abs(windows.sum(axis=1)) == FEWEST - 1
    return can


def _goes_on(points: Points) -> Flags:
    """Return from which vertices a chord can reach past the next one."""
    places, within = points
    goes = np.zeros(len(places), dtype=bool)
    passed, reached = places[1:-1] - places[:-2], places[2:] - places[:-2]
    goes[:-2] = np.abs((np.conj(passed) * reached).imag) <= within[:-2] * np.abs(reached)
    return goes


def _round(points: Points, begin: Indices, arcs: Arcs) -> Flags:
    """Return which arcs are so round that no chord can reach as far.

    Such a chord would pass the arc's end within the tolerance, and so its middle within twice that.
    """
    places = points.places
    chord, half = places[arcs.end] - places[begin], places[(begin + arcs.end) // 2] - places[begin]
    rise = np.abs((np.conj(half) * chord).imag)
    return np.asarray(rise > 2.0 * points.within[begin] * np.abs(chord))
