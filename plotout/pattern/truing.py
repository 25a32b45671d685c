"""Truing: what a patternmaker checks with a square, a straightedge and a tape.

Everything is measured in mm on the stitching line, and corrected only where asked: the first edge
named is moved, its neighbours' ends follow, and nothing moves further than the tolerance. Where
that can't make all true, the others named move too.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from shapely.geometry import LineString

from plotout.errors import shown
from plotout.geometry.strokes import FloatArray
from plotout.pattern.accuracy import Measured, known_in_words, unless
from plotout.pattern.findings import Trued
from plotout.pattern.outline import Named
from plotout.pattern.part_spec import TrueSpec
from plotout.pattern.true_in_turn import AGREED, RIGHT, all_put_right, collapsed, in_order
from plotout.pattern.true_measure import line_of, measure
from plotout.pattern.true_together import solved_together

PRICK_MORE = "prick its edges more densely, measure them, or raise the truing's 'tolerance'"
_MOST = 12  # truings that are left out one by one, to find those that contradict the rest
_DETOUR = 3.0  # times as far as need be: further the edges named first don't move to spare others


def true(
    edges: Sequence[Named],
    asked: Sequence[TrueSpec],
    tolerance: float,
    grain: FloatArray | None = None,
    known: Sequence[Measured] = (),
) -> tuple[list[Named], tuple[Trued, ...]]:
    """Measure the truings and correct those to be put right. Returns edges and results.

    Corrections are made one after another, round after round, until none is off. Where that fails
    or leads too far, all are solved at once, and the edges named second move too. Then everything
    is measured again, as `after`. Truings that conflict are left as near as possible, or as drawn
    if that moves an edge further than the tolerance; their details say so.
    grain: the grain line, (2, 2); upright by default.
    Where a correction would move a point further than the tolerance, it isn't made, and the result
    is `refused`; or it has a `doubt`, if the edges may lie nearer to true by so much that it would
    not, or if a prick strayed unseen. If the others can do without it, they are put right; if not,
    none is. known: how surely what is off is known, by truing; exactly by default.
    """
    limits = [tolerance if truing.tolerance is None else truing.tolerance for truing in asked]
    every = [
        _Asked(truing, limit, sure)
        for truing, limit, sure in zip(
            asked, limits, known or [Measured()] * len(asked), strict=True
        )
    ]
    solve = cache(lambda *some: _solved(edges, some, grain))
    solved = solve(*every)
    aside = [] if solved.holds else _aside(every, solve)
    if not aside:
        return _judged(edges, every, grain, solved)
    rest = [one for one in every if one not in aside]
    now, found = _judged(edges, rest, grain, solve(*rest))
    _, refused = _judged(edges, aside, grain, solve(*aside))
    left = [
        replace(result, after=measure(now, one.truing, grain)[0])
        for one, result in zip(aside, refused, strict=True)
    ]
    results = {
        id(one): result for one, result in zip([*rest, *aside], [*found, *left], strict=True)
    }
    return now, tuple(results[id(one)] for one in every)


@dataclass(frozen=True, slots=True, eq=False)
class _Asked:
    """A truing. limit: how far it may move its edges, mm. known: see `true`."""

    truing: TrueSpec
    limit: float
    known: Measured


def _aside(asked: Sequence[_Asked], solve: Callable[..., _Solved]) -> list[_Asked]:
    """Return those of the truings without which the others can be put right; none if all conflict.

    That is each that can't be put right by itself; if the others still can't, though all can be
    true, each of them without which they can: of more than `_MOST` that would take too long.
    solve: `_solved`, of some of them.
    """
    put = [one for one in asked if one.truing.put_right]
    aside = [one for one in put if not solve(one).holds]
    rest = [one for one in put if one not in aside]
    if solve(*asked).agreed and len(rest) <= _MOST and not solve(*rest).holds:
        aside += [one for one in rest if solve(*(o for o in rest if o is not one)).holds]
        rest = [one for one in rest if one not in aside]
    apart = bool(aside) and bool(rest) and solve(*rest).holds and not solve(*aside).holds
    return [one for one in put if one in aside] if apart else []


def _judged(
    edges: Sequence[Named], asked: Sequence[_Asked], grain: FloatArray | None, solved: _Solved
) -> tuple[list[Named], tuple[Trued, ...]]:
    """Return the edges as `solved`, if nothing moves too far, and what each truing comes to."""
    now, most = solved.edges, solved.most
    near = now
    if not solved.agreed and solved.excess > RIGHT:
        now = list(edges)
    moves = {name: _moved(line_of(edges, name), line_of(now, name)) for name in most}
    found = []
    for one in asked:
        truing, known = one.truing, one.known
        before, detail = measure(edges, truing, grain)
        after, _ = measure(now, truing, grain)
        conflicts = truing.put_right and measure(near, truing, grain)[0] > AGREED
        names = tuple(ref.name for ref in truing.edges)
        moved, refused, doubt = 0.0, "", ""
        if truing.put_right and before > RIGHT:
            moved = moves[names[0]]
            far = [name for name in names if moves[name] > most[name] + RIGHT]
            if solved.agreed and far:
                refused = (
                    f"putting '{names[0]}' right ({truing.kind}) would move "
                    f"{'it' if far[0] == names[0] else shown(far[0])} {moves[far[0]]:.2f} mm, "
                    f"more than the tolerance of {most[far[0]]:g} mm"
                )
                may_be = before * min((most[name] + RIGHT) / moves[name] for name in far)
                doubt = _doubt(refused, before, known, may_be)
                refused = "" if doubt else refused
            also = [name for name in names[1:] if solved.together and moves[name] > AGREED]
            moved_too = [f"'{name}' was moved {moves[name]:.2f} mm too" for name in also]
            detail = "; ".join(filter(None, [detail, *moved_too]))
            explained = _explained(before, known, one.limit)
            if explained and not (refused or doubt):
                detail = unless(detail, explained)
        if conflicts:
            detail = f"{detail}, " if detail else ""
            detail += "which conflicts with the other truings"
        trued = Trued(truing.kind, names, before, after, one.limit, detail, moved, refused)
        as_pricked = refused or doubt or not truing.put_right or (now is not near)
        sure = known if as_pricked else Measured()
        found.append(replace(trued, known_to=sure.to, otherwise=sure.otherwise, doubt=doubt))
    if any(result.refused or result.doubt for result in found):
        kept = [
            replace(
                result,
                after=result.before,
                moved=0.0,
                known_to=one.known.to,
                otherwise=one.known.otherwise,
            )
            for one, result in zip(asked, found, strict=True)
        ]
        return list(edges), tuple(kept)
    return now, tuple(found)


def _doubt(refused: str, before: float, known: Measured, may_be: float) -> str:
    """Return why what is refused may need less of a move, in words, or "".

    before: mm by which it is off; may_be: by which it could be to be put right.
    """
    if before - known.to <= may_be:
        return (
            f"{refused}: the {before:.2f} mm by which it is off is {known_in_words(known.to)}, so "
            f"it was not moved; {PRICK_MORE}"
        )
    explained = _explained(before, known, may_be)
    return unless(refused, explained) if explained else ""


def _explained(before: float, known: Measured, may_be: float) -> list[str]:
    """Return by what, in words, it would be off by no more than it may be."""
    if before - known.to <= may_be:
        return []
    return [one.why for one in known.otherwise if before + one.longer - one.by(known.to) <= may_be]


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

    @property
    def holds(self) -> bool:
        """Whether all truings hold, and nothing moves too far."""
        return self.agreed and self.excess <= RIGHT


def _solved(drawn: Sequence[Named], asked: Sequence[_Asked], grain: FloatArray | None) -> _Solved:
    """Put right one after another; if that fails or moves too much, all at once."""
    edges = list(drawn)
    put = in_order(edges, [one.truing for one in asked if one.truing.put_right])
    most: dict[str, float] = {}
    for one in asked:
        for ref in one.truing.edges if one.truing.put_right else ():
            most[ref.name] = max(one.limit, most.get(ref.name, 0.0))

    def excess(now: list[Named]) -> float:
        return max(
            (
                _moved(line_of(edges, name), line_of(now, name)) - limit
                for name, limit in most.items()
            ),
            default=0.0,
        )

    now, agreed = all_put_right(edges, put, grain)
    agreed = agreed and not collapsed(edges, now)
    apart = agreed and excess(now) <= RIGHT
    if apart and len(put) < 2:
        return _Solved(now, True, False, most, 0.0)
    together, solved = all_put_right(solved_together(edges, put, grain), put, grain)
    solved = solved and not collapsed(edges, together)
    if apart and (not solved or _far(edges, now) <= _DETOUR * _far(edges, together)):
        return _Solved(now, True, False, most, 0.0)
    if solved and (apart or not agreed or excess(together) < excess(now)):
        return _Solved(together, True, True, most, excess(together))
    return _Solved(now, agreed, False, most, excess(now))


def _far(edges: Sequence[Named], now: Sequence[Named]) -> float:
    return max(_moved(before, after) for (_, before), (_, after) in zip(edges, now, strict=True))


def _moved(before: FloatArray, after: FloatArray) -> float:
    """Return how far any point of an edge was moved, mm."""
    if len(before) == len(after):
        return float(np.hypot(*(after - before).T).max())
    return float(LineString(before).hausdorff_distance(LineString(after)))
