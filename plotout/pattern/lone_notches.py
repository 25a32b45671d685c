"""Notches of a walked seam that have no partner on its other side."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import hypot

from plotout.geometry.polyline import point_at
from plotout.pattern.chain import Chain
from plotout.pattern.model import Notch
from plotout.pattern.sides import Ease, beyond
from plotout.pattern.walk_notches import SAME, Pairs, Standing, turns

_FOLDED = 1.0  # mm by which what pleats fold away may be other than the ease


def without_partner(
    ones: Sequence[Standing],
    others: Sequence[Standing],
    pairs: Pairs,
    sides: tuple[Chain, Chain],
    ease: Ease,
) -> tuple[list[str], list[str]]:
    """Report notches without a partner: as faults, or as notes if the other side has none.

    A notch where another of its side has a partner (two pieces meet there, or both halves of one)
    is met too. One of a half, or of a pair, that has a partner on one of both only is a note. If
    the other side has none, one at a corner round which the seam goes is of another seam: it is
    seen without a notch. So are pleats that fold away the seam's ease.
    """
    met = [ones[i] for i, _ in pairs] + [others[j] for _, j in pairs]
    used, placed = {id(one.notch) for one in met}, {id(one) for one in met}
    alone: dict[str, bool] = {}
    halves: list[str] = []
    for notches, side in zip((ones, others), sides, strict=True):
        shown = [one.along for one in notches if id(one) in placed]
        for one in notches:
            if one.notch is None or any(abs(one.along - at) <= SAME for at in shown):
                continue
            where = f"{one.notch.along:.1f} mm along '{one.notch.edge}' of '{one.piece}'"
            if id(one.notch) not in used:
                alone[where] = _turns_at(one.notch, one.piece, side)
            elif side.symmetric or _named_twice(one.piece, one.notch, side):
                folded = side.twinned or _on_fold(one.piece, side)
                part = f"half of '{one.piece}'" if folded else "of the pair"
                halves.append(f"notch {where} has a partner on one {part} only")
    if all(any(one.notch is not None for one in side) for side in (ones, others)):
        return [_lone(where) for where in alone], halves
    least, most = ease
    pleated = _pleats(ones, sides[0], ease) or _pleats(others, sides[1], (-most, -least))
    left = [where for where, at_corner in alone.items() if not at_corner]
    return [], [*([] if pleated else _in_one(left)), *halves]


def _pleats(notches: Sequence[Standing], side: Chain, ease: Ease) -> bool:
    """Return whether a side's notches are those of pleats, by twos or threes, that fold away as
    much as the ease.
    """
    places = [one.along for one in notches if one.notch is not None]
    for each in (2, 3) if places else ():
        folded = sum(b - a for a, b in zip(places[::each], places[each - 1 :: each], strict=False))
        whole = len(places) % each == 0
        if whole and abs(beyond(folded * side.whole / side.walked, ease)) <= _FOLDED:
            return True
    return False


def _in_one(alone: Sequence[str]) -> list[str]:
    """Return in one note that notches, by place, have no partner, since the other side has none."""
    if len(alone) < 2:
        return [_lone(where) for where in alone]
    return [
        f"{len(alone)} notches have no partner, since the other side has none: {', '.join(alone)}"
    ]


def _lone(where: str) -> str:
    return f"notch {where} has no partner"


def _named_twice(piece: str, notch: Notch, side: Chain) -> bool:
    """Return whether a side names a notch's edge twice: that of a right and of a left."""
    return sum((piece, notch.edge) == (k.piece.name, k.edge.name) for k in side.links) > 1


def _on_fold(piece: str, side: Chain) -> bool:
    """Return whether a piece of a side is cut on the fold."""
    return any(k.piece.fold is not None for k in side.links if k.piece.name == piece)


def _turns_at(notch: Notch, piece: str, side: Chain) -> bool:
    """Return whether a side goes round a corner of a piece where a notch of it is."""
    for before, after in pairwise(side.links):
        if not before.piece.name == after.piece.name == piece:
            continue
        at = point_at(before.piece.edge(notch.edge).points, notch.along)
        if hypot(*(at - before.end(last=True))) <= SAME and turns(before, after):
            return True
    return False
