"""Finds pieces that seams join to a tube: a sleeve or a leg in two, a front and a back.

Common practice, from memory. Half a tube lies between folds, or between a fold and a seam of a left
to its right.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from plotout.geometry.polyline import unit
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import PatternSet, Piece, Seam
from plotout.pattern.sides import chains
from plotout.review.sewn_runs import Run, Runs, meet, opposite, runs_of
from plotout.review.tubes import cloth_between, of_body, width_of

Way = tuple[tuple[Run, Run], ...]
Key = tuple[str, str]

_MOST = 6  # pieces round a tube: of more, none is sought
_DEEP = 0.35  # of the width of a tube: one that is less deep is a band, as a yoke of the hip is


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """A piece of a tube.

    axis: (2,), along the tube, of length 1. long, wide: mm along it and round it. as_sewn: `wide`
    as it is gathered or pleated at top or bottom. of_body: whether the tube is a sleeve in one with
    a body, of which the rest of the piece is.
    """

    piece: Piece
    axis: FloatArray
    long: float
    wide: float
    as_sewn: float
    of_body: bool


@dataclass(frozen=True, slots=True, eq=False)
class JoinedTube:
    """Pieces joined to a tube by seams, in order.

    deep: it is no band, as a cuff is; deep_as_sewn: nor is it one as it is gathered or pleated,
    where a skirt is sewn to its waistband.
    """

    seams: tuple[str, ...]
    parts: tuple[Part, ...]
    deep: bool
    deep_as_sewn: bool

    @property
    def names(self) -> frozenset[str]:
        """The names of its pieces."""
        return frozenset(part.piece.name for part in self.parts)


def joined_tubes(seams: Sequence[Seam], pattern_set: PatternSet) -> list[JoinedTube]:
    """Return the tubes that seams join from different pieces, each once."""
    runs, drawn_in = runs_of(seams, pattern_set), _drawn_in(seams, pattern_set)
    found: dict[tuple[frozenset[str], ...], JoinedTube] = {}
    for started in (run for of_piece in runs.values() for run in of_piece):
        for way in _ways(started, started, runs, ()):
            names = [run.seam for pair in way for run in pair if run.seam]
            key = frozenset(names), frozenset(pair[0].piece.name for pair in way)
            found.setdefault(key, _tube(way, tuple(dict.fromkeys(names)), drawn_in))
    return list(found.values())


def _ways(first: Run, entered: Run, runs: Runs, passed: Way) -> Iterator[Way]:
    """Yield the pieces round a tube, each by its runs where one enters and leaves it.

    From the middle of one piece they lead to that of another: to its fold, to its seam of left to
    right, or to a whole piece, from which they would go back as they came, along the other half.
    """
    if len(passed) == _MOST or entered.piece.name in [pair[0].piece.name for pair in passed]:
        return
    for left in runs[entered.piece.name]:
        if meet(entered, left) or not opposite(entered, left):
            continue
        way = (*passed, (entered, left))
        if left.to is None or first.to is None:
            if first.to is None and (left.to is None or _goes_back(left, passed)):
                yield way
            elif left.to is not None:
                yield from _onward(first, left, runs, way)
        elif left.to == (first.piece.name, first.edges) and left.seam == first.seam:
            yield way
        else:
            yield from _onward(first, left, runs, way)


def _onward(first: Run, left: Run, runs: Runs, way: Way) -> Iterator[Way]:
    assert left.to is not None
    for run in runs[left.to[0]]:
        if run.seam == left.seam and run.edges == left.to[1]:
            yield from _ways(first, run, runs, way)


def _goes_back(left: Run, passed: Way) -> bool:
    """Return whether a piece is left to the edges of the piece before, from which it was entered:
    those of its other half, or of its other one of a pair.
    """
    return bool(passed) and left.to == (passed[-1][0].piece.name, passed[-1][1].edges)


def _tube(way: Way, seams: tuple[str, ...], drawn_in: Mapping[Key, float]) -> JoinedTube:
    parts = tuple(_part(*runs, drawn_in) for runs in way)
    long = float(np.mean([part.long for part in parts]))
    wide, sewn = (_round(all_wide, way) for all_wide in
                  ([part.wide for part in parts], [part.as_sewn for part in parts]))  # fmt: skip
    return JoinedTube(seams, parts, long > _DEEP * wide, long > _DEEP * sewn)


def _round(wides: Sequence[float], way: Way) -> float:
    """Return the width of a whole tube, mm, of which `way` may be a half.

    wides: of its parts, mm. Of a half, the last part may be a whole piece.
    """
    if way[0][0].to is not None:
        return sum(wides)
    return 2.0 * sum(wides) - (wides[-1] if way[-1][1].to is not None else 0.0)


def _share(entered: Run, left: Run, drawn_in: Mapping[Key, float]) -> float:
    """Return which share of its width is left of a part as gathered or pleated at top or bottom."""
    piece, sides = entered.piece, entered.edges | left.edges
    ends = [(piece.name, edge.name) for edge in piece.edges if edge.name not in sides]
    return min((drawn_in[key] for key in ends if key in drawn_in), default=1.0)


def _drawn_in(seams: Sequence[Seam], pattern_set: PatternSet) -> dict[Key, float]:
    """Return which share of its length is left of each edge that is sewn to shorter ones."""
    found: dict[Key, float] = {}
    for seam in seams:
        sides = chains(seam, pattern_set.piece)
        for own, other in (sides, sides[::-1]):
            for link in own.links if own.whole > other.whole else ():
                key = link.piece.name, link.edge.name
                found[key] = min(found.get(key, 1.0), other.whole / own.whole)
    return found


def _part(entered: Run, left: Run, drawn_in: Mapping[Key, float]) -> Part:
    between = cloth_between(entered.ends, left.ends)
    assert between is not None
    axis, wide = unit(between[0]), width_of(between)
    beside = of_body(entered.piece, [(run.ends, run.edges) for run in (entered, left)])
    long, share = float(np.ptp(entered.piece.outline @ axis)), _share(entered, left, drawn_in)
    return Part(entered.piece, axis, long, wide, wide * share, beside)
