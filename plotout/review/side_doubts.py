"""Finds pieces whose grain lies across a seam along which that of the piece beside them runs.

Noted, never corrected. That panels side by side have the same grain, and that a front and a back
are cut alike, is common practice, from memory; so is it that bands, yokes and waistbands may be cut
either way, and that the grain of a sleeve runs along the arm.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from itertools import permutations

from plotout.geometry.polyline import extent
from plotout.geometry.strokes import FloatArray
from plotout.pattern.chain import Chain
from plotout.pattern.cloths import share_a_cloth
from plotout.pattern.model import PatternSet, Piece, Seam
from plotout.pattern.number_cut import Key
from plotout.pattern.sides import chains, sewn_edges
from plotout.pattern.true_measure import slant
from plotout.review.ends_alike import end_alike
from plotout.review.tubes import ends_of

_ALONG, _ACROSS = 30.0, 60.0  # degrees between a seam and the grain: a shoulder slopes as much
_LONGER = 1.3  # times its width that a panel is long at least (estimated)
_BAND = 0.25  # of a panel's width: a narrower piece beside it is a band
_AS_WIDE = 2.0  # times as wide as another panel that one is at most (estimated): a band is narrower


@dataclass(frozen=True, slots=True)
class OneSide:
    """A side of a seam that is but one piece. off: degrees between the seam and the grain."""

    chain: Chain
    piece: Piece
    ends: FloatArray
    off: float

    @property
    def extent(self) -> tuple[float, float]:
        """How far the piece reaches along the seam, and square to it, mm."""
        return extent(self.piece.outline, self.ends[1] - self.ends[0])


Pair = tuple[OneSide, OneSide]


def side_doubts(seams: Sequence[Seam], pattern_set: PatternSet, known: set[str]) -> Iterator[str]:
    """Yield the pieces whose grain lies across a seam, along which that of their neighbour runs.

    known: the names of pieces whose grain is asked about already, or runs round a tube; filled.
    """
    joined = _joined(seams, pattern_set)
    for names, pairs in joined.items():
        if not names & known and (words := _turned_over_a_corner(pairs)):
            known |= names
            yield words
    sewn, along = sewn_edges(pattern_set.seams), _sewn_along_grain(seams, pattern_set)
    for pairs in joined.values():
        for name, pair in pairs.items():
            for own, other in permutations(pair):
                if own.piece.name in known or not along[other.piece.name] - {own.piece.name}:
                    continue
                if _is_turned_panel(own, other, sewn):
                    known.add(own.piece.name)
                    yield (
                        f"{own.piece.name}: its grain line lies across seam '{name}', but that of "
                        f"'{other.piece.name}' along it: is it turned?"
                    )


def _joined(
    seams: Sequence[Seam], pattern_set: PatternSet
) -> Mapping[frozenset[str], Mapping[str, Pair]]:
    """Return by their names two pieces of one cloth, and the seams of one to the other."""
    found: dict[frozenset[str], dict[str, Pair]] = {}
    for seam in seams:
        one, other = (one_side(chain) for chain in chains(seam, pattern_set.piece))
        if one is None or other is None or one.piece.name == other.piece.name:
            continue
        if share_a_cloth(one.piece, other.piece, pattern_set.say):
            names = frozenset((one.piece.name, other.piece.name))
            pair = (one, other) if one.piece.name < other.piece.name else (other, one)
            found.setdefault(names, {})[seam.name] = pair
    return found


def one_side(chain: Chain) -> OneSide | None:
    """Return a side of a seam; None of several pieces, or of one that may lie otherwise."""
    piece, ends = chain.links[0].piece, ends_of(chain)
    if len({link.piece.name for link in chain.links}) > 1 or piece.derive is not None:
        return None
    if piece.grain is None or piece.bias or not (ends[1] - ends[0]).any():
        return None
    return OneSide(chain, piece, ends, abs(slant(ends, piece.grain)))


def are_panels(one: OneSide, other: OneSide) -> bool:
    """Return whether two pieces are panels, along whose grain their seam runs, and no band."""
    (_, wide), (_, its_width) = one.extent, other.extent
    return max(one.off, other.off) <= _ALONG and min(wide, its_width) > _BAND * max(wide, its_width)


def _turned_over_a_corner(pairs: Mapping[str, Pair]) -> str:
    """Return what to ask of two pieces of which the grain lies unlike at two seams, "" if not: of
    one along one of them, as a side, and across the other, as a shoulder; of the other the other
    way round.
    """
    if any((a.off <= _ALONG) == (b.off <= _ALONG) for a, b in pairs.values()):
        return ""
    for (first, (one, other)), (second, (also, its)) in permutations(pairs.items(), 2):
        along, across = (one.off, its.off), (other.off, also.off)
        if max(along) <= _ALONG and min(across) >= _ACROSS:
            return (
                f"the grain of '{one.piece.name}' runs along seam '{first}' and across seam "
                f"'{second}', but that of '{other.piece.name}' across the first and along the "
                "second: is one turned?"
            )
    return ""


def _is_turned_panel(own: OneSide, other: OneSide, sewn: Set[Key]) -> bool:
    """Return whether two panels lie side by side and only the other's grain along their seam."""
    if own.off < _ACROSS or other.off > _ALONG:
        return False
    (long, wide), (_, its_width) = own.extent, other.extent
    alike = max(wide, its_width) <= _AS_WIDE * min(wide, its_width)
    return alike and long >= _LONGER * wide and end_alike(own.chain, other.chain, sewn)


def _sewn_along_grain(seams: Sequence[Seam], pattern_set: PatternSet) -> Mapping[str, Set[str]]:
    """Return what each piece is sewn to by a seam along its grain: also to its own other half.

    A band along the edge of another piece is only sewn to that.
    """
    found: dict[str, set[str]] = {piece.name: set() for piece in pattern_set.pieces}
    for piece in pattern_set.pieces:
        if piece.fold is not None and piece.grain is not None:
            fold = piece.edge(piece.fold).points[[0, -1]]
            found[piece.name] |= {piece.name} if abs(slant(fold, piece.grain)) <= _ALONG else set()
    for seam in seams:
        both = chains(seam, pattern_set.piece)
        for chain, other in (both, both[::-1]):
            own = one_side(chain)
            if own is not None and own.off <= _ALONG:
                found[own.piece.name] |= {link.piece.name for link in other.links}
    return found
