"""Finds what a piece has twice, or in a way that contradicts itself: noted, never corrected."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import numpy as np
import shapely
from shapely import Polygon

from plotout.geometry.gathered import Gathered
from plotout.geometry.polyline import length, rotated
from plotout.geometry.region import lines_in
from plotout.pattern.model import Piece

SHORT = 10.0  # mm: a shorter grain line can't be laid by (common practice)
PART = 0.1  # and so can't one that is less than this part of the piece's length along it,
ACROSS = 0.5  # unless it takes more than this part of the way from edge to edge, as in a bias strip
SLIVER = 1.0  # mm: no side of a piece is meant to be shorter (common practice)
_DOUBLE, _APART = 5.0, 20.0  # mm: notches so near look like a double; nearer than that, like three
SAME = 0.05  # mm: notches, or holes, that near to each other are in one place


def contradictions(piece: Piece) -> Iterator[str]:
    """Yield what a piece has twice, or in a way that contradicts itself."""
    yield from (*_same_notches(piece), *_unlike_notches(piece), *_same_drills(piece))
    yield from (*_same_cuts(piece), *_slivers(piece))
    if piece.grain is not None:
        own = length(piece.grain)
        if own < SHORT or own < min(PART * _long(piece), ACROSS * _room(piece)):
            yield f"its grain line is only {own:.3g} mm long: too short to lay the piece by"


def _long(piece: Piece) -> float:
    """Return how long a piece is along its grain, mm."""
    assert piece.grain is not None
    ahead = piece.grain[-1] - piece.grain[0]
    return float(np.ptp(piece.outline @ ahead) / np.hypot(*ahead))


def _room(piece: Piece) -> float:
    """Return how long the grain line could be at its place: from edge to edge, mm."""
    assert piece.grain is not None
    middle = (piece.grain[0] + piece.grain[-1]) / 2.0
    ahead = (piece.grain[-1] - piece.grain[0]) / length(piece.grain)
    far = ahead * np.ptp(piece.outline, axis=0).sum()
    inside = shapely.intersection(
        shapely.LineString([middle - far, middle + far]), Polygon(piece.outline).buffer(0.0)
    )
    own = [part for part in lines_in(inside) if part.distance(shapely.Point(middle)) < SAME]
    return float(own[0].length) if own else 0.0


def _slivers(piece: Piece) -> Iterator[str]:
    """Yield the edges of a drawing that are too short to be sides: two corners of one."""
    for edge in piece.edges if piece.derive is None else ():
        if (size := length(edge.points)) < SLIVER:
            short = f"its edge '{edge.name}' is only {size:.2g} mm long"
            yield f"{short}: is that a slip of the drawing?"


def _same_notches(piece: Piece) -> Iterator[str]:
    along = sorted(piece.notches, key=lambda notch: (notch.edge, notch.along))
    for one, other in pairwise(along):
        if one.edge == other.edge and other.along - one.along < SAME:
            yield f"it has two notches at {other.along:.0f} mm of '{other.edge}': leave out one"


def _unlike_notches(piece: Piece) -> Iterator[str]:
    """Yield a single and a double notch that are read as one mark: one may be from the other end of
    its seam.
    """
    along = sorted(piece.notches, key=lambda notch: (notch.edge, notch.along))
    for one, other in pairwise(along):
        apart = other.along - one.along
        if one.edge == other.edge and one.count != other.count and _DOUBLE < apart < _APART:
            yield (
                f"its notches at {one.along:.0f} and {other.along:.0f} mm of '{one.edge}', of "
                f"{one.count} and {other.count}, are only {apart:.0f} mm apart: does one belong "
                "elsewhere?"
            )


def _same_drills(piece: Piece) -> Iterator[str]:
    gathered = Gathered(SAME)
    for drill in piece.drills:
        if gathered.first_near(drill.at) is not None:
            x, y = rotated(np.array(drill.at), -piece.turn)
            yield f"it has two drill holes at x {x:.1f}, y {y:.1f}: leave out one"
        else:
            gathered.add(drill.at)


def _same_cuts(piece: Piece) -> Iterator[str]:
    for cut, many in Counter(replace(cut, count=1) for cut in piece.cuts).items():
        if many > 1:
            counts = [own.count for own in piece.cuts if replace(own, count=1) == cut]
            every = " and ".join(str(count) for count in counts)
            yield (
                f"'cut' names {cut.cloth} {'twice' if many == 2 else f'{many} times'}, with counts "
                f"{every}: if {sum(counts)} are meant, write count = {sum(counts)} once"
            )
    for cut in piece.cuts:
        if cut.pair and cut.reversed:
            yield f"'{cut}': a pair is cut both ways, so reversed means nothing: leave out one"
