"""Paths of a page's work: straight lines, and curves, also instead of single arcs.

Source: ISO 32000-1, 8.5.2 (m, l, c) and 8.5.3 (S). A curve whose handles are 4/3 tan(a/4) radii
long follows an arc of the angle a to within 2/27 sin(a/4)^6 / cos(a/4)^2 radii (M. Goldapp,
Approximation of circular arcs by cubic polynomials, CAGD 8, 1991; from memory, and tested).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from plotout import Run
from plotout.kit import arc_tolerance, find_arcs, find_cubics

TRUE = 0.0005  # mm by which a curve may be off its arc


def curved(runs: Sequence[Run], step: float) -> Iterator[str]:
    """Give the operators that draw every run, in mm; a single point makes a dot.

    step: the machine's, mm.
    """
    lines = [run.points for run in runs]
    tolerances = [arc_tolerance(run.tool, step) for run in runs]
    moves = find_arcs(lines, tolerances)
    points = moves.points.view(complex)[:, 0]
    starts, ends = points[moves.begin], points[moves.end]
    centres = np.ascontiguousarray(moves.centre).view(complex)[:, 0]
    drawn = [
        _arc(start, end, centre, sweep) if sweep else f"{end.real:.4f} {end.imag:.4f} l"
        for start, end, centre, sweep in zip(
            starts.tolist(), ends.tolist(), centres.tolist(), moves.sweep.tolist(), strict=True
        )
    ]
    for first, last, handles in find_cubics(moves, tolerances):
        instead = _curve(*handles, complex(ends[last - 1]))
        drawn[first:last] = [instead, *[""] * (last - first - 1)]
    for line, part in zip(lines, moves.by_line, strict=True):
        x, y = line[0].tolist()
        body = [*filter(None, drawn[part])] if len(line) > 1 else [f"{x:.4f} {y:.4f} l"]
        yield "\n".join([f"{x:.4f} {y:.4f} m", *body, "S"])


def _arc(start: complex, end: complex, centre: complex, sweep: float) -> str:
    """Return the curves along an arc. sweep: radians, counter-clockwise."""
    spoke = start - centre
    count = _curves(abs(spoke), abs(sweep))
    turn = sweep / count
    handle = 4.0 / 3.0 * math.tan(turn / 4.0) * 1j
    said = []
    for number in range(1, count + 1):
        further = spoke * complex(math.cos(turn), math.sin(turn))
        here = centre + further if number < count else end
        one, two = centre + spoke * (1.0 + handle), centre + further * (1.0 - handle)
        said.append(_curve(one, two, here))
        spoke = further
    return "\n".join(said)


def _curve(*points: complex) -> str:
    """Return a curve. points: its two handles and its end."""
    return " ".join(f"{point.real:.4f} {point.imag:.4f}" for point in points) + " c"


def _curves(radius: float, sweep: float) -> int:
    """Return how many curves follow an arc within TRUE."""
    count = max(1, math.ceil(sweep / (math.pi / 2.0)))
    while True:
        quarter = sweep / count / 4.0
        if 2.0 / 27.0 * math.sin(quarter) ** 6 / math.cos(quarter) ** 2 * radius <= TRUE:
            return count
        count += 1
