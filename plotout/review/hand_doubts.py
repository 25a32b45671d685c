"""Finds pieces with a hand of which several are cut, all the same way round.

Noted, never corrected. That a left and a right are made of what is cut in an even number, and that
three or more lengths or panels in a row are not, is common practice, from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from plotout.errors import UserError
from plotout.finish.handed import ASKED, may_have_no_hand
from plotout.finish.prepare import upright
from plotout.geometry.polyline import length
from plotout.pattern.model import Cut, Notch, PatternSet, Piece
from plotout.pattern.sides import chains

_ROW = 3  # of a piece in a row along a seam: no left and right

InRow = Mapping[tuple[str, str], int]
"""By piece and edge: how many of it follow each other along a seam, all walked the same way."""


def hand_doubts(pattern_set: PatternSet) -> Iterator[str]:
    """Yield the pieces that may be meant to be left and right, but aren't cut so."""
    rows = _rows(pattern_set)
    for piece in pattern_set.pieces:
        for cut in piece.cuts:
            if _same_hand(cut, piece, rows):
                half = cut.count // 2
                pairs = f"{half} or {half + 1}" if cut.count % 2 else f"{half}"
                yield (
                    f"{piece.name}: the {cut.count} of {cut.cloth} are all cut the same way round: "
                    f"if left and right are meant, write pair = true and count = {pairs}"
                )


def _same_hand(cut: Cut, piece: Piece, rows: InRow) -> bool:
    """Return whether several are cut as drawn of a piece that is not the same turned over."""
    if cut.pair or cut.on_fold or piece.fold or cut.count == 1:
        return False
    own = {edge: many for (name, edge), many in rows.items() if name == piece.name}
    others = [other for other in piece.cuts if other is not cut and not other.pair]
    if any(other.reversed != cut.reversed for other in others):
        return False
    if max(own.values(), default=1) >= _ROW:
        return False
    notches = tuple(n for n in piece.notches if n.edge not in own and not _at_corner(n, piece))
    return not may_have_no_hand(upright(replace(piece, notches=notches)), ASKED)


def _at_corner(notch: Notch, piece: Piece) -> bool:
    """Return whether a notch only shows an end of its edge, as the corner does already."""
    size = length(piece.edge(notch.edge).points)
    return min(notch.along, size - notch.along) < ASKED


def _rows(pattern_set: PatternSet) -> InRow:
    """Return the edges of which several follow each other: all have the notches that one needs."""
    found: dict[tuple[str, str], int] = {}
    for seam in pattern_set.seams:
        try:
            sides = chains(seam, pattern_set.piece)
        except (KeyError, UserError):
            continue
        for side in sides:
            for link in side.links if side.laps > 1 else ():
                key = link.piece.name, link.edge.name
                found[key] = max(side.laps, found.get(key, 1))
    return found
