"""Truings put right one after another, each by moving the edge named first."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from plotout.geometry.polyline import length
from plotout.geometry.strokes import FloatArray
from plotout.pattern.outline import Named
from plotout.pattern.part_spec import TrueSpec
from plotout.pattern.true_measure import (
    STRAIGHT,
    asymmetry,
    axis_of,
    bent,
    bow,
    corner,
    grainwise,
    line_of,
    measure,
    off_square,
    pulled,
    slant,
    turned,
)

_FIRST = ("straight", "symmetric", "on-grain", "parallel", "square", "equal")
"""The kinds in the order in which they are put right: edges move the least so, on random pieces."""

RIGHT = 1e-6  # mm: nothing is truer than this
AGREED = 0.01  # mm: what stays further off after all rounds conflicts with the rest
_COLLAPSED = 0.1  # of an edge's length
_ROUNDS = 1000
_STALLED = 60  # rounds without getting nearer by a hundredth


def in_order(edges: Sequence[Named], asked: Sequence[TrueSpec]) -> list[TrueSpec]:
    """Return truings by kind, then round the piece: the set file's order doesn't matter."""
    names = [name for name, _ in edges]
    return sorted(
        asked,
        key=lambda truing: (
            _FIRST.index(truing.kind),
            *(names.index(ref.name) for ref in truing.edges),
        ),
    )


def all_put_right(
    edges: list[Named], asked: Sequence[TrueSpec], grain: FloatArray | None
) -> tuple[list[Named], bool]:
    """Correct one after another until none is off; else return the best round.

    Alternating projections (von Neumann 1950; Bregman 1965): every step moves an edge as little as
    its own truing needs. Returns the edges, and whether all became true.
    """
    now = best = edges
    least = float("inf")
    since = 0
    for _ in range(_ROUNDS):
        off = max((measure(now, truing, grain)[0] for truing in asked), default=0.0)
        since = 0 if off < 0.99 * least else since + 1
        if off < least:
            best, least = now, off
        if least < RIGHT or since > _STALLED:
            break
        for truing in asked:
            if measure(now, truing, grain)[0] > RIGHT / 2.0:
                now = _put_right(now, truing, grain)
                if collapsed(edges, now):
                    return best, False
    return best, least < AGREED


def collapsed(edges: Sequence[Named], now: Sequence[Named]) -> bool:
    """Return whether an edge shrank to almost nothing, so that whatever is asked of it holds."""
    return any(
        length(after) < _COLLAPSED * length(before)
        for (_, before), (_, after) in zip(edges, now, strict=True)
    )


def _put_right(edges: list[Named], asked: TrueSpec, grain: FloatArray | None) -> list[Named]:
    names = [name for name, _ in edges]
    index = names.index(asked.edges[0].name)
    line = edges[index][1]
    other = line_of(edges, asked.edges[-1].name)
    match asked.kind:
        case "straight":
            new = line[[0, -1]].copy()
        case "symmetric":
            _, new = asymmetry(line, other, axis_of(edges, asked))
        case "equal":
            new = line[0] + (line - line[0]) * (length(other) / length(line))
        case "parallel" | "on-grain":
            if asked.kind == "on-grain":
                other = grainwise(line, grain)
            new = turned(line, (line[0] + line[-1]) / 2.0, slant(line, other))
        case _:
            new = _squared(line, other, asked)
    return _replaced(edges, index, new)


def _squared(line: FloatArray, other: FloatArray, asked: TrueSpec) -> FloatArray:
    """Turn a straight edge about the corner; bend a curve's end to be square there."""
    last, _ = corner(line, other, asked)
    points = line[::-1] if last else line
    if bow(line) <= STRAIGHT:
        new = turned(points, points[0], off_square(line, other, asked)[0])
    else:
        new = points
        for _ in range(20):  # the bend changes the tangent's own measure a little
            now = new[::-1] if last else new
            off = off_square(now, other, asked)[0]
            if abs(off) < 1e-4:
                break
            new = bent(new, np.radians(off))
    return np.asarray(new[::-1] if last else new)


def _replaced(edges: list[Named], index: int, new: FloatArray) -> list[Named]:
    """Replace a moved edge; the neighbours' ends follow, the move fading along them."""
    now = list(edges)
    now[index] = (now[index][0], new)
    before, after = (index - 1) % len(now), (index + 1) % len(now)
    now[before] = (now[before][0], pulled(now[before][1][::-1], new[0])[::-1])
    now[after] = (now[after][0], pulled(now[after][1], new[-1]))
    return now
