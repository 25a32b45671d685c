"""Finds pieces whose grain line lies otherwise than that of a piece they go on into at a hem.

Noted, never corrected. That a hem lies across the grain on both sides of a seam, or along it on
both, and that all pieces hang the same way up, is common practice, from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import permutations

import numpy as np

from plotout.geometry.end_heading import end_heading
from plotout.geometry.polyline import direction_at, length, unit
from plotout.geometry.strokes import FloatArray
from plotout.pattern.chain import Chain
from plotout.pattern.model import PatternSet, Piece, Seam
from plotout.pattern.number_cut import Sides
from plotout.pattern.sides import chains
from plotout.pattern.true_measure import slant
from plotout.review.between_doubts import between_doubts
from plotout.review.hems_met import Beside, called_hem, folded_over, hems_met, joined_twice
from plotout.review.hood_doubts import hood_doubts
from plotout.review.side_doubts import side_doubts
from plotout.review.tube_doubts import tube_doubts
from plotout.review.tubes import rings

_ALONG = np.cos(np.radians(25.0))  # of the angle between grain and hem
_ACROSS = np.cos(np.radians(65.0))
_ASTRAY = 45.0  # degrees by which two edges that go on as one may turn where they meet
_UNLIKE = 25.0  # degrees by which the grain of a turned piece lies otherwise to the seam, at least
_BENT = 60.0  # degrees that one side of a seam turns more than the other


def grain_doubts(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the seams at whose end hems meet of which the grain of one side only runs along.

    Of pieces that lie in one direction in the cloth, also those of which only one does.
    """
    asked: set[frozenset[str]] = set()
    for seam, one, other in hems_met(seams, pattern_set):
        pair = frozenset((one.piece.name, other.piece.name))
        if not goes_on(one, other):
            continue
        if pair not in asked and (
            words := _unlike(one, other, bent=bent(chains(seam, pattern_set.piece)))
        ):
            asked.add(pair)
            yield f"seam '{seam.name}': {words}"
    yield from _folds_unlike(seams, pattern_set, asked)
    yield from tube_doubts(seams, pattern_set, asked)
    yield from between_doubts(seams, pattern_set, asked)
    known = {name for names in asked for name in names}
    known |= {ring.piece.name for ring in rings(seams, pattern_set)}
    yield from side_doubts(seams, pattern_set, known)
    yield from hood_doubts(seams, pattern_set, known)


def _folds_unlike(
    seams: Sequence[Seam], pattern_set: PatternSet, asked: set[frozenset[str]]
) -> Iterator[str]:
    """Yield two pieces on the fold, as a front and a back, of which the grain of one lies along its
    fold, and that of the other across its own. A strip that goes round the other may be cut so.
    """
    turned = {
        frozenset(piece for side in (seam.first, seam.second) for piece, *_ in side.edges)
        for seam in seams
        if bent(chains(seam, pattern_set.piece))
    }
    for pair in sorted(joined_twice(seams) - asked - turned, key=sorted):
        if len(pair) < 2:
            continue
        pieces = [pattern_set.piece(name) for name in sorted(pair)]
        if not _of_one_cloth(*pieces):
            continue
        lies = [(off, piece) for piece in pieces if (off := _to_fold(piece)) is not None]
        for (along, one), (across, other) in permutations(lies, 2):
            if along >= _ALONG and across <= _ACROSS:
                asked.add(pair)
                yield (
                    f"the grain of '{one.name}' lies along its fold '{one.fold}', but that of "
                    f"'{other.name}' across its fold '{other.fold}', though they are sewn together "
                    "at two edges: is one turned?"
                )


def _to_fold(piece: Piece) -> float | None:
    """Return the cosine of the angle between a piece's grain and its fold; None without these."""
    if piece.fold is None or piece.grain is None or piece.bias or piece.derive is not None:
        return None
    fold = piece.edge(piece.fold).points
    way, grain = fold[-1] - fold[0], piece.grain[-1] - piece.grain[0]
    return abs(float(way @ grain)) / float(np.hypot(*way) * np.hypot(*grain))


def goes_on(one: Beside, other: Beside) -> bool:
    """Return whether two edges are hems by what they are, or go on as one where they meet.

    A V-neck runs along the grain in front, and across it at the back, with a corner between.
    """
    both = (one, other)
    if all(folded_over(side.edge) for side in both) or all(called_hem(side.edge) for side in both):
        return True
    return abs(sum(side.corner for side in both) - 180.0) <= _ASTRAY


@dataclass(frozen=True, slots=True)
class Lie:
    """How a piece's grain lies to its hem. along, across: it nearly does. up: away from the hem."""

    along: bool
    across: bool
    up: bool


def lie(side: Beside, *, whole: bool = False) -> Lie | None:
    """Return how the grain lies to the hem at the seam; None without one, or on the bias.

    whole: as the hem lies from end to end instead.
    """
    piece: Piece = side.piece
    if piece.grain is None or piece.bias:
        return None
    grain, line = piece.grain[-1] - piece.grain[0], side.edge.points
    chord = line[-1] - line[0]
    at_seam = direction_at(line, 0.0 if side.forward else length(line))
    x, y = unit(chord) if whole and chord.any() else at_seam
    along = abs(float(grain @ [x, y])) / float(np.hypot(*grain))
    return Lie(along >= _ALONG, along <= _ACROSS, float(grain @ [-y, x]) > 0.0)


def bent(sides: Sides) -> bool:
    """Return whether one side of a seam turns away from the other, as a hood's does from its strip.

    Then the grain of one lies along that of the other at one end of the seam, and across it at the
    other end: the strip may be cut either way. Not so where both turn alike, over a shoulder.
    """
    one, other = map(_turn, sides)
    return abs(one + other) > _BENT and abs(one - other) > _BENT


def _turn(side: Chain) -> float:
    """Return by how many degrees a side bends outwards in all, with the corners within a piece."""
    total = 0.0
    lines = [link.edge.points for link in side.links]
    for joined in _joined(lines[::-1] if side.links[0].turned else lines):
        steps = np.diff(joined, axis=0)
        steps = steps[np.hypot(*steps.T) > 0.0]
        headings = np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))
        total += float(np.degrees(headings[-1] - headings[0]))
    return total


def _joined(lines: Sequence[FloatArray]) -> list[FloatArray]:
    """Return lines as far as they follow each other: the edges of a front hem and a back hem may be
    of one piece, and far apart.
    """
    found = [lines[0]]
    for line in lines[1:]:
        if (found[-1][-1] == line[0]).all():
            found[-1] = np.vstack([found[-1], line])
        else:
            found.append(line)
    return found


def _unlike(one: Beside, other: Beside, *, bent: bool) -> str:
    """Return how the grain of two pieces lies unlike to their hems, in words; "" if it doesn't."""
    if lie(one) is None or lie(other) is None or one.piece.name == other.piece.name:
        return ""
    turned = [] if bent else [pair for pair in permutations((one, other)) if _turned(*pair)]
    if turned:
        along, across = turned[0]
        return (
            f"the grain of '{along.piece.name}' runs along its '{along.edge.name}', but that of "
            f"'{across.piece.name}' across its '{across.edge.name}': is one turned?"
        )
    if one.piece.one_way != other.piece.one_way and _of_one_cloth(one.piece, other.piece):
        way, any_way = (one, other) if one.piece.one_way else (other, one)
        return (
            f"'{way.piece.name}' lies one way in the cloth, but '{any_way.piece.name}' either way: "
            "cloth with a nap or a print needs one-way on both"
        )
    return ""


def _of_one_cloth(one: Piece, other: Piece) -> bool:
    return bool({cut.cloth for cut in one.cuts} & {cut.cloth for cut in other.cuts})


def _to_seam(side: Beside) -> float:
    """Return how many degrees the grain lies off the seam where it meets the hem, 0 to 90."""
    edges = side.piece.edges
    at = edges.index(side.edge) + (-1 if side.forward else 1)
    heading = end_heading(edges[at % len(edges)].points, last=side.forward).direction
    assert side.piece.grain is not None
    return abs(slant(np.array([[0.0, 0.0], heading]), side.piece.grain))


def _turned(one: Beside, other: Beside) -> bool:
    """Return whether the grain of one piece runs along its hem, and that of another across its own:
    at the seam or as a whole. It lies alike if it does so at the other, and turned only if it lies
    unlike to the seam as well.

    The hem of a wide godet turns up to the seam; so does that of a wrap at its other end. A V-neck
    may go straight down from the shoulder, and the neck of the back may bend there.
    """
    if abs(_to_seam(one) - _to_seam(other)) < _UNLIKE:
        return False
    lies = [(lie(one, whole=whole), lie(other, whole=whole)) for whole in (False, True)]
    both = [(own, its) for own, its in lies if own is not None and its is not None]
    alike = any((own.along and its.along) or (own.across and its.across) for own, its in both)
    return not alike and any(own.along and its.across for own, its in both)
