"""Truing: what a patternmaker checks with a square, a straightedge and a tape.

Everything is measured in mm on the stitching line, and corrected only where asked: the first edge
named is moved, its neighbours' ends follow, and nothing moves further than the tolerance. Where
that can't make all true, the others named move too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import LineString

from plotout.errors import shown
from plotout.geometry.polyline import length
from plotout.geometry.strokes import FloatArray
from plotout.pattern.accuracy import known_in_words
from plotout.pattern.findings import Trued
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
from plotout.pattern.true_together import solved_together

_RIGHT = 1e-6  # mm: nothing is truer than this
_AGREED = 0.01  # mm: what stays further off after all rounds conflicts with the rest
_DETOUR = 3.0  # times as far as need be: further the edges named first don't move to spare others
_COLLAPSED = 0.1  # of an edge's length
_ROUNDS = 1000
_STALLED = 60  # rounds without getting nearer by a hundredth


def true(
    edges: Sequence[Named],
    asked: Sequence[TrueSpec],
    tolerance: float,
    grain: FloatArray | None = None,
    known: Sequence[float] = (),
) -> tuple[list[Named], tuple[Trued, ...]]:
    """Measure the truings and correct those to be put right. Returns edges and results.

    Corrections are made one after another, round after round, until none is off. Where that fails
    or leads too far, all are solved at once, and the edges named second move too. Then everything
    is measured again, as `after`. Truings that conflict are left as near as possible, or as drawn
    if that moves an edge further than the tolerance; their details say so.
    grain: the grain line, (2, 2); upright by default.
    Where a correction would move a point further than the tolerance, nothing is corrected, and the
    result is `refused`; or it has a `doubt`, if the edges may lie nearer to true by so much that it
    would not. known: mm to which what is off is known, by truing; 0 by default.
    """
    limits = [tolerance if truing.tolerance is None else truing.tolerance for truing in asked]
    solved = _solved(list(edges), asked, limits, grain)
    now, most = solved.edges, solved.most
    near = now
    if not solved.agreed and solved.excess > _RIGHT:
        now = list(edges)
    moves = {name: _moved(line_of(edges, name), line_of(now, name)) for name in most}
    found = []
    known = known or [0.0] * len(asked)
    for truing, limit, known_to in zip(asked, limits, known, strict=True):
        before, detail = measure(edges, truing, grain)
        after, _ = measure(now, truing, grain)
        conflicts = truing.put_right and measure(near, truing, grain)[0] > _AGREED
        names = tuple(ref.name for ref in truing.edges)
        moved, refused, doubt = 0.0, "", ""
        if truing.put_right and before > _RIGHT:
            moved = moves[names[0]]
            far = [name for name in names if moves[name] > most[name] + _RIGHT]
            if solved.agreed and far:
                refused = (
                    f"putting '{names[0]}' right ({truing.kind}) would move "
                    f"{'it' if far[0] == names[0] else shown(far[0])} {moves[far[0]]:.2f} mm, "
                    f"more than the tolerance of {most[far[0]]:g} mm"
                )
                least = max(1.0 - known_to / before, 0.0)
                if all(moves[name] * least <= most[name] + _RIGHT for name in far):
                    doubt, refused = f"{refused}: {_not_shown(before, known_to)}", ""
            also = [name for name in names[1:] if solved.together and moves[name] > _AGREED]
            moved_too = [f"'{name}' was moved {moves[name]:.2f} mm too" for name in also]
            detail = "; ".join(filter(None, [detail, *moved_too]))
        if conflicts:
            detail = f"{detail}, " if detail else ""
            detail += "which conflicts with the other truings"
        trued = Trued(truing.kind, names, before, after, limit, detail, moved, refused)
        as_pricked = refused or doubt or not truing.put_right or (now is not near)
        found.append(replace(trued, known_to=known_to if as_pricked else 0.0, doubt=doubt))
    if any(result.refused or result.doubt for result in found):
        kept = [
            replace(result, after=result.before, moved=0.0, known_to=known_to)
            for result, known_to in zip(found, known, strict=True)
        ]
        return list(edges), tuple(kept)
    return now, tuple(found)


def _not_shown(before: float, known_to: float) -> str:
    return (
        f"the {before:.2f} mm by which it is off is {known_in_words(known_to)} (two sigma), so "
        "nothing was moved; prick its edges more densely, measure them, or raise the truing's "
        "'tolerance'"
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Solved:
    """agreed: whether all truings hold. together: whether the edges named second moved too.

    most: how far the edges named in truings to be put right may move, mm. excess: how much further
    one of them does.
    """

    edges: list[Named]
    agreed: bool
    together: bool
    most: dict[str, float]
    excess: float


def _solved(
    edges: list[Named],
    asked: Sequence[TrueSpec],
    limits: Sequence[float],
    grain: FloatArray | None,
) -> _Solved:
    """Put right one after another; if that fails or moves too much, all at once."""
    put = [truing for truing in asked if truing.put_right]
    most: dict[str, float] = {}
    for truing, limit in zip(asked, limits, strict=True):
        for ref in truing.edges if truing.put_right else ():
            most[ref.name] = max(limit, most.get(ref.name, 0.0))

    def excess(now: list[Named]) -> float:
        return max(
            (
                _moved(line_of(edges, name), line_of(now, name)) - limit
                for name, limit in most.items()
            ),
            default=0.0,
        )

    now, agreed = _all_put_right(edges, put, grain)
    agreed = agreed and not _collapsed(edges, now)
    apart = agreed and excess(now) <= _RIGHT
    if apart and len(put) < 2:
        return _Solved(now, True, False, most, 0.0)
    together, solved = _all_put_right(solved_together(edges, put, grain), put, grain)
    solved = solved and not _collapsed(edges, together)
    if apart and (not solved or _far(edges, now) <= _DETOUR * _far(edges, together)):
        return _Solved(now, True, False, most, 0.0)
    if solved and (apart or not agreed or excess(together) < excess(now)):
        return _Solved(together, True, True, most, excess(together))
    return _Solved(now, agreed, False, most, excess(now))


def _far(edges: Sequence[Named], now: Sequence[Named]) -> float:
    return max(_moved(before, after) for (_, before), (_, after) in zip(edges, now, strict=True))


def _collapsed(edges: Sequence[Named], now: Sequence[Named]) -> bool:
    """Return whether an edge shrank to almost nothing, so that whatever is asked of it holds."""
    return any(
        length(after) < _COLLAPSED * length(before)
        for (_, before), (_, after) in zip(edges, now, strict=True)
    )


def _all_put_right(
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
        if least < _RIGHT or since > _STALLED:
            break
        for truing in asked:
            if measure(now, truing, grain)[0] > _RIGHT / 2.0:
                now = _put_right(now, truing, grain)
                if _collapsed(edges, now):
                    return best, False
    return best, least < _AGREED


def _moved(before: FloatArray, after: FloatArray) -> float:
    """Return how far any point of an edge was moved, mm."""
    if len(before) == len(after):
        return float(np.hypot(*(after - before).T).max())
    return float(LineString(before).hausdorff_distance(LineString(after)))


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
