"""Path data of a program's runs: lines, arcs and curves, relative, without needless digits.

Source: W3C Scalable Vector Graphics 1.1 (second edition), 8.3.2 (moveto), 8.3.4 (lineto), 8.3.6
(cubic curves), 8.3.8 (elliptical arc: sweep-flag 1 turns from x to y, which is clockwise with y
down).
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from plotout import FloatArray, Program
from plotout.kit import arc_tolerance, find_arcs, find_cubics

FINER = 2  # more digits for a radius, at most: near half a turn it decides where the arc lies


def path_data(program: Program) -> Iterator[str]:
    """Give the path data of every run, in mm, y down from the sheet's upper edge.

    Places are rounded to a tenth of the machine's step or finer; the roundings don't add up.
    """
    lines, step = [run.points for run in program.runs], program.machine.step
    digits = max(1 - math.floor(math.log10(step)), 0)
    sizes = [len(line) for line in lines]
    tolerances = [arc_tolerance(run.tool, step) for run in program.runs]
    moves = find_arcs(lines, tolerances)
    places = np.round(moves.points * (1.0, -1.0) + (0.0, program.height), digits)
    along = places[moves.end] - places[moves.begin]
    drawn = [
        _arc(x, y, sweep, digits) if sweep and (x or y) else f"l{_pair(x, y, digits)}"
        for (x, y), sweep in zip(along.tolist(), moves.sweep.tolist(), strict=True)
    ]
    for first, last, handles in find_cubics(moves, tolerances):
        begin, end = places[moves.begin[first]], places[moves.end[last - 1]]
        inner = [(one.real, program.height - one.imag) for one in handles]
        instead = _curve(np.array([*inner, end]) - begin, digits)
        drawn[first:last] = [instead, *[""] * (last - first - 1)]
    starts = np.cumsum([0, *sizes]).tolist()
    for start, size, part in zip(starts, sizes, moves.by_line, strict=False):
        x, y = places[start].tolist()
        closed = size > 3 and [x, y] == places[start + size - 1].tolist()
        body = [*filter(None, drawn[part])] if size > 1 else ["l0 0"]  # with round ends it is a dot
        if closed and body[-1][0] == "l":
            body = body[:-1]  # z draws it
        yield f"M{_pair(x, y, digits)}{''.join(body)}{'z' * closed}"


def _arc(x: float, y: float, sweep: float, digits: int) -> str:
    """Return an arc over a rounded chord. sweep: radians, counter-clockwise, under half a turn.

    The arc's middle moves by 1 / cos(sweep / 2) - 1 of what its radius is rounded by, if that is
    little of it: so the radius has at least two figures.
    """
    half = abs(sweep) / 2.0
    wide = math.hypot(x, y) / (2.0 * math.sin(half))
    moves = 2.0 * math.sin(half / 2.0) ** 2 / math.cos(half)  # the same, true if it is tiny
    for_middle = digits + math.ceil(math.log10(moves))
    needed = max(for_middle, 1 - math.floor(math.log10(wide)), 0)
    radius = _number(wide, min(needed, digits + FINER))
    return f"a{radius} {radius} 0 0 {int(sweep < 0.0)} {_pair(x, y, digits)}"


def _curve(points: FloatArray, digits: int) -> str:
    """Return a cubic curve. points: (3, 2), its handles and its end."""
    pairs = [_pair(x, y, digits) for x, y in points.tolist()]
    return "c" + " ".join(pairs).replace(" -", "-")


def _pair(x: float, y: float, digits: int) -> str:
    second = _number(y, digits)
    return f"{_number(x, digits)}{'' if second[0] == '-' else ' '}{second}"


def _number(value: float, digits: int) -> str:
    """Return a decimal without trailing zeros."""
    text = f"{value:.{digits}f}"
    if digits:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
