"""Finds pieces whose grain line lies otherwise than that of a piece they go on into at a hem.

Noted, never corrected. That a hem lies across the grain on both sides of a seam, or along it on
both, and that all pieces hang the same way up, is common practice, from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from plotout.finish.hems_met import Beside, hems_met
from plotout.finish.tubes import tubes
from plotout.geometry.polyline import direction_at, length
from plotout.pattern.model import PatternSet, Piece, Seam

_ALONG = np.cos(np.radians(25.0))  # of the angle between grain and hem
_ACROSS = np.cos(np.radians(65.0))


def grain_doubts(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the seams at whose end hems meet of which the grain of one side only runs along.

    Of pieces that lie in one direction in the cloth, also those of which one is upside down, and
    those of which only one does.
    """
    asked: set[frozenset[str]] = set()
    for seam, one, other in hems_met(seams, pattern_set):
        pair = frozenset((one.piece.name, other.piece.name))
        if pair not in asked and (words := _unlike(one, other)):
            asked.add(pair)
            yield f"seam '{seam.name}': {words}"
    yield from _across_tubes(seams, pattern_set)


def _across_tubes(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the pieces whose grain runs round the tube that a seam makes of them."""
    for tube in tubes(seams, pattern_set):
        piece, along = tube.piece, tube.axis / np.hypot(*tube.axis)
        if piece.grain is None or piece.bias:
            continue
        grain = piece.grain[-1] - piece.grain[0]
        if abs(float(grain @ along)) <= _ACROSS * float(np.hypot(*grain)):
            yield (
                f"seam '{tube.seam}': it closes '{piece.name}' to a tube, but the grain runs round "
                "that, not along it: is it turned?"
            )


@dataclass(frozen=True, slots=True)
class _Lie:
    """How a piece's grain lies to its hem. along, across: it nearly does. up: away from the hem."""

    along: bool
    across: bool
    up: bool


def _lie(side: Beside) -> _Lie | None:
    """Return how the grain lies to the hem at the seam; None without one, or on the bias."""
    piece: Piece = side.piece
    if piece.grain is None or piece.bias:
        return None
    grain = piece.grain[-1] - piece.grain[0]
    x, y = direction_at(side.edge.points, 0.0 if side.forward else length(side.edge.points))
    along = abs(float(grain @ [x, y])) / float(np.hypot(*grain))
    return _Lie(along >= _ALONG, along <= _ACROSS, float(grain @ [-y, x]) > 0.0)


def _unlike(one: Beside, other: Beside) -> str:
    """Return how the grain of two pieces lies unlike to their hems, in words; "" if it doesn't."""
    own, its = _lie(one), _lie(other)
    if own is None or its is None or one.piece.name == other.piece.name:
        return ""
    if own.along and its.across:
        return _turned(one, other)
    if its.along and own.across:
        return _turned(other, one)
    if one.piece.one_way != other.piece.one_way and _of_one_cloth(one.piece, other.piece):
        way, any_way = (one, other) if one.piece.one_way else (other, one)
        return (
            f"'{way.piece.name}' lies one way in the cloth, but '{any_way.piece.name}' either way: "
            "cloth with a nap or a print needs one-way on both"
        )
    if own.across and its.across and one.piece.one_way and own.up != its.up:
        return (
            f"the grain lines of '{one.piece.name}' and '{other.piece.name}' point one to the hem "
            "and one away from it, but both lie one way in the cloth: is one upside down?"
        )
    return ""


def _of_one_cloth(one: Piece, other: Piece) -> bool:
    return bool({cut.cloth for cut in one.cuts} & {cut.cloth for cut in other.cuts})


def _turned(along: Beside, across: Beside) -> str:
    return (
        f"the grain of '{along.piece.name}' runs along its '{along.edge.name}', but that of "
        f"'{across.piece.name}' across its '{across.edge.name}': is one turned?"
    )
