"""Finds pieces that seams join to a tube: a sleeve or a leg in two, a front and a back.

Common practice, from memory. Half a tube lies between folds, or between a fold and a seam of a left
to its right.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from plotout.finish.tubes import cloth_between, ends_of, of_body
from plotout.geometry.polyline import unit
from plotout.geometry.strokes import FloatArray
from plotout.pattern.model import PatternSet, Piece, Seam
from plotout.pattern.sides import Chain, chains

_MOST = 6  # pieces round a tube: of more, none is sought
_DEEP = 0.35  # of the width of a tube: one that is less deep is a band, as a yoke of the hip is
_PARALLEL = np.cos(np.radians(35.0))  # of the angle between both sides of a part of a tube


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """A piece of a tube.

    axis: (2,), along the tube, of length 1. long, wide: mm along it and round it. of_body: whether
    the tube is a sleeve in one with a body, of which the rest of the piece is.
    """

    piece: Piece
    axis: FloatArray
    long: float
    wide: float
    of_body: bool


@dataclass(frozen=True, slots=True, eq=False)
class JoinedTube:
    """Pieces joined to a tube by seams, in order. deep: it is no band, as a cuff is."""

    seams: tuple[str, ...]
    parts: tuple[Part, ...]
    deep: bool

    @property
    def names(self) -> frozenset[str]:
        """The names of its pieces."""
        return frozenset(part.piece.name for part in self.parts)


@dataclass(frozen=True, slots=True, eq=False)
class _Run:
    """Edges of a piece that a seam sews to another, or along which its other half lies.

    ends: (2, 2), counter-clockwise. seam: its name, or "" for a fold. to: what it is sewn to, or
    None: its own other half.
    """

    piece: Piece
    edges: frozenset[str]
    ends: FloatArray
    seam: str
    to: tuple[str, frozenset[str]] | None


Runs = Mapping[str, Sequence[_Run]]


def joined_tubes(seams: Sequence[Seam], pattern_set: PatternSet) -> list[JoinedTube]:
    """Return the tubes that seams join from different pieces, each once."""
    runs = _runs(seams, pattern_set)
    found: dict[tuple[frozenset[str], ...], JoinedTube] = {}
    for started in (run for of_piece in runs.values() for run in of_piece):
        for way in _ways(started, started, runs, ()):
            names = [run.seam for pair in way for run in pair if run.seam]
            key = frozenset(names), frozenset(pair[0].piece.name for pair in way)
            found.setdefault(key, _tube(way, tuple(dict.fromkeys(names))))
    return list(found.values())


def _runs(seams: Sequence[Seam], pattern_set: PatternSet) -> Runs:
    found: dict[str, list[_Run]] = defaultdict(list)
    for seam in seams:
        sides = chains(seam, pattern_set.piece)
        own, its = (frozenset((link.piece.name, link.edge.name) for link in side.links)
                    for side in sides)  # fmt: skip
        pieces = [{name for name, _ in keys} for keys in (own, its)]
        if any(len(names) > 1 for names in pieces) or (pieces[0] == pieces[1] and own != its):
            continue
        for side, other in (sides, sides[::-1]) if own != its else (sides,):
            run = _run(side, other, seam.name, itself=own == its)
            found[run.piece.name].append(run)
    for piece in pattern_set.pieces:
        if piece.fold is not None:
            ends = piece.edge(piece.fold).points[[0, -1]]
            found[piece.name].append(_Run(piece, frozenset([piece.fold]), ends, "", None))
    return found


def _run(side: Chain, other: Chain, seam: str, *, itself: bool) -> _Run:
    edges, its = (frozenset(link.edge.name for link in chain.links) for chain in (side, other))
    to = None if itself else (other.links[0].piece.name, its)
    return _Run(side.links[0].piece, edges, ends_of(side), seam, to)


Way = tuple[tuple[_Run, _Run], ...]


def _ways(first: _Run, entered: _Run, runs: Runs, passed: Way) -> Iterator[Way]:
    """Yield the pieces round a tube, each by its runs where one enters and leaves it."""
    if len(passed) == _MOST or entered.piece.name in [pair[0].piece.name for pair in passed]:
        return
    for left in runs[entered.piece.name]:
        if not _opposite(entered, left):
            continue
        way = (*passed, (entered, left))
        if left.to is None or first.to is None:
            if left.to is None and first.to is None:
                yield way
            elif left.to is not None:
                yield from _onward(first, left, runs, way)
        elif left.to == (first.piece.name, first.edges) and left.seam == first.seam:
            yield way
        else:
            yield from _onward(first, left, runs, way)


def _onward(first: _Run, left: _Run, runs: Runs, way: Way) -> Iterator[Way]:
    assert left.to is not None
    for run in runs[left.to[0]]:
        if run.seam == left.seam and run.edges == left.to[1]:
            yield from _ways(first, run, runs, way)


def _opposite(one: _Run, other: _Run) -> bool:
    """Return whether two runs of a piece lie on both sides of it, about parallel."""
    if one is other or one.edges & other.edges:
        return False
    if any((a == b).all() for a in one.ends for b in other.ends):
        return False
    along, back = (run.ends[1] - run.ends[0] for run in (one, other))
    size = float(np.hypot(*along) * np.hypot(*back))
    parallel = -float(along @ back) >= _PARALLEL * size
    return size > 0.0 and parallel and cloth_between(one.ends, other.ends) is not None


def _tube(way: Way, seams: tuple[str, ...]) -> JoinedTube:
    parts = tuple(_part(*runs) for runs in way)
    halves = 2.0 if way[0][0].to is None else 1.0
    deep = np.mean([part.long for part in parts]) > _DEEP * halves * sum(
        part.wide for part in parts
    )
    return JoinedTube(seams, parts, bool(deep))


def _part(entered: _Run, left: _Run) -> Part:
    between = cloth_between(entered.ends, left.ends)
    assert between is not None
    axis = unit(between[0])
    wide = abs(float(axis[0] * between[1][1] - axis[1] * between[1][0]))
    beside = of_body(entered.piece, [(run.ends, run.edges) for run in (entered, left)])
    return Part(entered.piece, axis, float(np.ptp(entered.piece.outline @ axis)), wide, beside)
