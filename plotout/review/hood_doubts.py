"""Finds pieces as deep as a hood whose grain runs along the seam from which they rise or hang.

Noted, never corrected. That the grain of a hood in two, or of a cape, goes on that of the body,
while collars, flaps, bands and straps are cut either way, and a hood folded along its top along
that fold, is common practice, from memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import groupby

import numpy as np

from plotout.errors import quoted
from plotout.geometry.polyline import extent, signed_area
from plotout.pattern.chain import Chain
from plotout.pattern.cloths import share_a_cloth
from plotout.pattern.model import PatternSet, Piece, Seam
from plotout.pattern.number_cut import Sides
from plotout.pattern.sides import chains
from plotout.pattern.true_measure import slant
from plotout.review.faces import words_of
from plotout.review.tubes import ends_of

_ALONG, _ACROSS = 30.0, 60.0  # degrees between a seam and the grain
_DEEP = 1.1, 3.0  # times its seam that a hood is deep: less is a collar, more a strap (estimated)
_BESIDE_A_STRIP = 5.0  # times its seam that a hood's side is deep: no strap has a strip between
_HOOD = re.compile(
    r"hoods?|\w*kapuze|capuche|capuchon|capucha|cappuccio|capuz|capuchon|huva|luva|hætte|hette|huppu|"
    r"kaptur|kapuce|kapuca|csuklya|glugă|капюшон|каптур|качулка|κουκούλα|フード|兜帽|후드"
)
"""The word for it, from memory: a piece called so may be as shallow and as small as it likes."""
_LARGE = 0.3  # times the largest piece that it is sewn to: a smaller one is a flap (estimated)


def hood_doubts(seams: Sequence[Seam], pattern_set: PatternSet, known: set[str]) -> Iterator[str]:
    """Yield such pieces of a pair, if the grain of what they are sewn to lies across the seam.

    known: the names of pieces whose grain is asked about already, or runs round a tube; filled.
    """
    sides = {seam.name: chains(seam, pattern_set.piece) for seam in seams}
    for name, both in sides.items():
        for own, other in _against(both):
            piece = own.links[0].piece
            between = _between(piece, name, sides)
            if piece.name in known or between is None or not _is_hood(own, strip=bool(between)):
                continue
            if _lies_across(piece, _runs(other), pattern_set, strip=bool(between)):
                known.add(piece.name)
                of_others = quoted(dict.fromkeys(link.piece.name for link in other.links))
                yield (
                    f"{piece.name}: its grain line runs along seam '{name}', but that of "
                    f"{of_others} doesn't: is it turned?"
                )


def across_necks(
    seams: Sequence[Seam], pattern_set: PatternSet
) -> Iterator[tuple[str, Chain, Chain]]:
    """Yield by seam the hoods whose grain goes on across it in that of a piece, with both runs."""
    sides = {seam.name: chains(seam, pattern_set.piece) for seam in seams}
    for name, both in sides.items():
        for own, other in _against(both):
            piece = own.links[0].piece
            between = _between(piece, name, sides)
            if between is None or not _is_hood(own, strip=bool(between), across=True):
                continue
            for run in _runs(other):
                off = _off(run)
                if off is not None and off >= _ACROSS and run.links[0].piece.name != piece.name:
                    yield name, own, run


def _against(sides: Sides) -> Iterator[tuple[Chain, Chain]]:
    """Yield the parts of a seam that are of one piece each, with the other side."""
    for side, other in (sides, sides[::-1]):
        yield from ((run, other) for run in _runs(side))


def _runs(side: Chain) -> list[Chain]:
    """Return the parts of a side that are of one piece each, or of one of its halves."""
    groups = groupby(side.links, key=lambda link: (link.piece.name, link.turned))
    return [replace(side, links=tuple(links)) for _, links in groups]


def _off(run: Chain) -> float | None:
    """Return at how many degrees to its piece's grain a part of a side runs; None on the bias."""
    piece, ends = run.links[0].piece, ends_of(run)
    if piece.grain is None or piece.bias or not (ends[1] - ends[0]).any():
        return None
    return abs(slant(ends, piece.grain))


def _is_hood(run: Chain, *, strip: bool, across: bool = False) -> bool:
    """Return whether a piece is one of a pair, as deep as a hood, with its grain along the seam.

    strip: whether the pair has one between. across: with its grain across the seam.
    """
    piece, ends, off = run.links[0].piece, ends_of(run), _off(run)
    half = piece.fold is None and piece.paired
    if not half or piece.derive is not None or off is None:
        return False
    if (off < _ACROSS) if across else (off > _ALONG):
        return False
    if _is_called_hood(piece):
        return True
    size = float(np.hypot(*(ends[1] - ends[0])))
    _, deep = extent(piece.outline, ends[1] - ends[0])
    return _DEEP[0] * size <= deep <= (_BESIDE_A_STRIP if strip else _DEEP[1]) * size


def _is_called_hood(piece: Piece) -> bool:
    return any(map(_HOOD.fullmatch, words_of(piece.name)))


def _between(piece: Piece, seam: str, sides: Mapping[str, Sides]) -> list[str] | None:
    """Return the strips between a piece's left and its right, if only one seam sews it to others:
    none where its left is sewn to its right. None if others do, too, or nothing joins the two.
    """
    others = [_edges(both) for name, both in sides.items() if name != seam]
    mine = [met for met in others if piece.name in met]
    between: dict[str, list[str]] = {}
    for met in mine:
        for name in met.keys() - {piece.name}:
            between.setdefault(name, []).append(met[piece.name])
    strips = all(len(edges) > 1 == len({*edges}) for edges in between.values())
    return list(between) if mine and strips else None


def _edges(sides: Sides) -> dict[str, str]:
    """Return by piece its edges in a seam."""
    found: dict[str, str] = {}
    for link in (link for side in sides for link in side.links):
        found[link.piece.name] = f"{found.get(link.piece.name, '')} {link.edge.name}".strip()
    return found


def _lies_across(
    piece: Piece, beyond: Sequence[Chain], pattern_set: PatternSet, *, strip: bool
) -> bool:
    """Return whether the grain of what a piece is sewn to lies across; it isn't small for it.

    strip: whether a strip shows that it is a hood, and no flap. Then the grain of a circular cape
    is enough, which lies at 45 degrees to its neck.
    """
    offs = [off for run in beyond if (off := _off(run)) is not None]
    others = [run.links[0].piece for run in beyond]
    largest = max(abs(signed_area(other.outline)) for other in others)
    return (
        bool(offs)
        and min(offs) > _ALONG
        and (strip or max(offs) >= _ACROSS)
        and (strip or _is_called_hood(piece) or abs(signed_area(piece.outline)) >= _LARGE * largest)
        and all(other.name != piece.name for other in others)
        and any(share_a_cloth(piece, other, pattern_set.say) for other in others)
    )
