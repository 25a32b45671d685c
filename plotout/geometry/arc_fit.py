"""The longest arcs that fit the points along a line, for many vertices at once.

Positions are complex numbers here: conj(a) * b holds the scalar product of a and b as its real
part and their cross product as its imaginary part.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from plotout.geometry.strokes import FloatArray

FEWEST = 3  # stretches that an arc must replace
GREATEST = 5000.0  # mm: a longer radius is a straight line for any machine
SHARPEST = math.radians(45.0)  # a turn between two chords of one arc is smaller
WIDEST = math.radians(170.0)  # an arc's sweep stays clear of half a turn, where I, J grow uncertain

Complex = NDArray[np.complex128]
Indices = NDArray[np.int64]
Flags = NDArray[np.bool_]


class Points(NamedTuple):
    """The vertices of all lines, end to end. places, within (how far an arc may be off): mm."""

    places: Complex
    within: FloatArray


class Arcs(NamedTuple):
    """Arcs to `end`; straight where sweep is 0. sweep: radians, positive counter-clockwise."""

    end: Indices
    centre: Complex
    sweep: FloatArray


def longest(points: Points, begin: Indices, last: Indices) -> Arcs:
    """Return the longest arcs from some vertices, none past its last vertex.

    An arc is doubled while it fits, then narrowed down. If none fits, it ends where it begins.
    """
    best = Arcs(begin.copy(), np.zeros(len(begin), complex), np.zeros(len(begin)))
    too_long = last - begin + 1
    most = too_long - 1
    size = np.full(len(begin), FEWEST)
    left = np.flatnonzero(size < too_long)
    while left.size:
        tried = begin[left] + size[left]
        good, centre, sweep = _fitted(points, begin[left], tried)
        for mine, new in zip(best, (tried, centre, sweep), strict=True):
            mine[left[good]] = new[good]
        too_long[left[~good]] = size[left[~good]]
        fits = best.end[left] - begin[left]
        double = good & (too_long[left] > most[left])
        halved = np.maximum((fits + too_long[left]) // 2, fits + 1)
        size[left] = np.where(double, np.minimum(2 * fits, most[left]), halved)
        left = left[(fits > 0) & (fits + 1 < too_long[left])]
    return best


def _fitted(points: Points, begin: Indices, end: Indices) -> tuple[Flags, Complex, FloatArray]:
    """Return the arcs through the first, middle and last of some points, and which fit them all.

    Every point must lie near the arc, no chord cut too far inside it, and all turn one way.
    """
    places, middle = points.places, (begin + end) // 2
    centre, sense = _centres(places[begin], places[middle], places[end])
    spoke, radius = places[begin] - centre, np.abs(places[begin] - centre)
    sweep = np.angle(np.conj(spoke) * (places[end] - centre)) * sense % (2.0 * np.pi)
    good = (sense != 0.0) & (radius <= GREATEST) & (sweep <= WIDEST)
    for probe in ((begin + middle) // 2, (middle + end) // 2):
        good &= np.abs(np.abs(places[probe] - centre) - radius) <= points.within[begin]
    some = np.flatnonzero(good)
    good[some] = _serve(points, begin[some], end[some], centre[some], sense[some])
    return good, centre, sweep * sense


def _serve(
    points: Points, begin: Indices, end: Indices, centre: Complex, sense: FloatArray
) -> Flags:
    """Return which arcs fit all the points along them."""
    good = np.ones(len(begin), dtype=bool)
    which, index = vertices_of(begin, end)
    within, radius = points.within[begin], np.abs(points.places[begin] - centre)
    spokes = points.places[index] - centre[which]
    good[which[np.abs(np.abs(spokes) - radius[which]) > within[which]]] = False
    same, arc = which[1:] == which[:-1], which[1:]
    turn = np.conj(spokes[:-1]) * spokes[1:]
    onward = sense[arc] * turn.imag
    wrong = (onward <= 0.0) | (onward > turn.real * math.tan(SHARPEST))
    wrong |= (radius - within)[arc] * np.abs(np.diff(spokes)) > np.abs(turn.imag)
    past = np.conj(points.places[begin] - centre)[arc] * spokes[1:]  # half a turn
    wrong |= sense[arc] * past.imag < 0.0
    good[arc[same & wrong]] = False
    return good


def vertices_of(begin: Indices, end: Indices) -> tuple[Indices, Indices]:
    """Return all vertices from some to others, those included, and of which stretch each is."""
    counts = end - begin + 1
    which = np.repeat(np.arange(len(begin)), counts)
    return which, np.arange(len(which)) + np.repeat(begin - np.cumsum(counts) + counts, counts)


def in_parts(begin: Indices, end: Indices, most: int) -> tuple[Indices, Indices]:
    """Divide stretches into parts of at most so many steps: where these begin and end."""
    counts = -(-(end - begin) // most)
    index = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    begin = np.repeat(begin, counts) + index * most
    return begin, np.minimum(begin + most, np.repeat(end, counts))


def _centres(one: Complex, two: Complex, three: Complex) -> tuple[Complex, FloatArray]:
    """Return the centres of circles through three points, and which way they turn.

    1: counter-clockwise, -1: clockwise, 0: straight, and the centre means nothing.
    """
    first, second = two - one, three - one
    double = 2.0 * (np.conj(first) * second).imag
    straight = np.abs(double) < 1e-12
    double[straight] = 1.0
    squares = np.abs(first) ** 2, np.abs(second) ** 2
    centre = one + 1j * (first * squares[1] - second * squares[0]) / double
    return centre, np.where(straight, 0.0, np.sign(double))
