"""All truings solved at once: every corner moves, and as little as possible.

One after another, each moving only its own edge, some truings undo each other for ever although a
piece exists in which all are true. Here the corners are the unknowns, with the bend at the end of a
curve that is to be square. Gauss-Newton steps of least norm (Ben-Israel 1966) lead to a solution
near the piece as drawn; the order of the truings doesn't matter.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from plotout.geometry.polyline import length
from plotout.geometry.strokes import FloatArray
from plotout.pattern.outline import Named
from plotout.pattern.part_spec import TrueSpec
from plotout.pattern.true_measure import (
    BEND,
    STRAIGHT,
    asymmetry,
    axis_of,
    bent,
    bow,
    corner,
    grainwise,
    line_of,
    off_square,
    pulled,
    slant,
)

_STEPS = 30
_RIGHT = 1e-8  # mm
_SMALL = 1e-3  # mm by which a corner is moved to either side to see what follows
_SAME = (1e-2, 1e-3, 1e-4, 1e-5, 1e-7)  # of the greatest singular value: see solved_together
_STRIDE = 10.0  # mm that a corner moves at most in a step


def solved_together(
    edges: Sequence[Named], asked: Sequence[TrueSpec], grain: FloatArray | None
) -> list[Named]:
    """Return the edges with their corners moved so that the truings hold, or nearly.

    Truings that follow from the others make the steps nearly singular, and what is left of such a
    direction would lead far away. How small is small depends on the piece, so the coarsest limit
    that leads to a solution is taken: it uses the fewest directions, and so moves the least.
    grain: (2, 2), or None if it is upright. Whether they do hold is for the caller to measure.
    """
    begun = _shaped(edges, asked)
    if len(edges) < 2 or not asked:
        return begun
    bends = _bends(begun, asked)

    def off(moves: FloatArray) -> FloatArray:
        return _off(_made(begun, bends, moves), asked, grain)

    found = []
    for same in _SAME:
        moves = _least_moves(off, 2 * len(edges) + len(bends), same)
        found.append((float(np.abs(off(moves)).max(initial=0.0)), moves))
        if found[-1][0] < _RIGHT:
            break
    return _made(begun, bends, min(found, key=lambda one: one[0])[1])


def _least_moves(off: Callable[[FloatArray], FloatArray], count: int, same: float) -> FloatArray:
    """Return the moves nearest to zero, of those tried, at which the least is off."""
    moves = best = np.zeros(count)
    least = np.inf
    for _ in range(_STEPS):
        now = off(moves)
        most = float(np.abs(now).max(initial=0.0))
        if most < least:
            best, least = moves, most
        if not np.isfinite(now).all() or most < _RIGHT:
            break
        slopes = np.column_stack(
            [
                (off(moves + small) - off(moves - small)) / (2.0 * _SMALL)
                for small in np.eye(count) * _SMALL
            ]
        )
        step = np.linalg.lstsq(slopes, slopes @ moves - now, rcond=same)[0] - moves
        moves = moves + step / max(float(np.abs(step).max()) / _STRIDE, 1.0)
    return best


def _shaped(edges: Sequence[Named], asked: Sequence[TrueSpec]) -> list[Named]:
    """Give edges their shapes between their corners: straight, or the mirror image of another."""
    now = dict(edges)
    for truing in asked:
        name = truing.edges[0].name
        line = now[name]
        if truing.kind == "straight":
            now[name] = line[[0, -1]].copy()
        elif truing.kind == "symmetric":
            image = asymmetry(line, now[truing.edges[1].name], axis_of([*now.items()], truing))[1]
            now[name] = _between(image, line[0], line[-1])
    return [(name, now[name]) for name, _ in edges]


def _bends(edges: Sequence[Named], asked: Sequence[TrueSpec]) -> list[tuple[str, bool]]:
    """Return the curves that are to be square, and whether at their last point."""
    found = []
    for truing in asked:
        lines = [line_of(edges, ref.name) for ref in truing.edges]
        if truing.kind == "square" and bow(lines[0]) > STRAIGHT:
            found.append((truing.edges[0].name, corner(lines[0], lines[1], truing)[0]))
    return found


def _made(
    begun: Sequence[Named], bends: Sequence[tuple[str, bool]], moves: FloatArray
) -> list[Named]:
    """Return the edges with their corners moved and their ends bent, by so many mm."""
    count = len(begun)
    lines = dict(begun)
    for (name, last), move in zip(bends, moves[2 * count :], strict=True):
        line = lines[name][::-1] if last else lines[name]
        line = bent(line, float(np.arctan(move / min(BEND, length(line)))))
        lines[name] = line[::-1] if last else line
    corners = np.array([line[0] for _, line in begun]) + moves[: 2 * count].reshape(count, 2)
    return [
        (name, _between(lines[name], corners[n], corners[(n + 1) % count]))
        for n, (name, _) in enumerate(begun)
    ]


def _between(line: FloatArray, start: FloatArray, end: FloatArray) -> FloatArray:
    return pulled(pulled(line, start)[::-1], end)[::-1]


def _off(edges: Sequence[Named], asked: Sequence[TrueSpec], grain: FloatArray | None) -> FloatArray:
    """Return how far all truings are off, mm, with their signs."""
    return np.concatenate([_signed(edges, truing, grain) for truing in asked])


def _signed(edges: Sequence[Named], asked: TrueSpec, grain: FloatArray | None) -> FloatArray:
    line, other = (line_of(edges, asked.edges[end].name) for end in (0, -1))
    match asked.kind:
        case "straight":
            return np.zeros(0)
        case "equal":
            return np.array([length(line) - length(other)])
        case "symmetric":
            image = asymmetry(line, other, axis_of(edges, asked))[1]
            return np.asarray((line[[0, -1]] - image[[0, -1]]).ravel())
        case "square":
            angle, reach = off_square(line, other, asked)
        case _:
            other = grainwise(line, grain) if asked.kind == "on-grain" else other
            angle, reach = slant(line, other), float(np.hypot(*(line[-1] - line[0])))
    return np.array([np.sin(np.radians(angle)) * reach])
