"""Everything known about a set before a card is cut, for `check`, `make` and the proof page.

Faults are mismatches with what was asked for; notes say what was snapped, chosen or left out, and
what may have been meant.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from plotout.finish.derive import all_pieces
from plotout.finish.prepare import bare_card, ready
from plotout.pattern.hems import hem_notes
from plotout.pattern.model import PatternSet, Piece
from plotout.pattern.walk import SeamResult, walk

WIDE = 80.0  # mm: a wider allowance is queried; common practice ends at deep hems


@dataclass(frozen=True, slots=True)
class Review:
    """What was found. pieces: with the derived ones. asked: the number of seams and truings."""

    pieces: tuple[Piece, ...]
    seams: tuple[SeamResult, ...]
    faults: tuple[str, ...]
    notes: tuple[str, ...]
    asked: int


def review(pattern_set: PatternSet) -> Review:
    """Walk the seams, measure the truings, and report what the pieces lack.

    Raises UserError for what can't be made or walked at all.
    """
    whole = pattern_set.with_pieces(all_pieces(pattern_set))
    seams = walk(whole)
    trued = [(piece.name, result) for piece in whole.pieces for result in piece.trued]
    faults = [f"{piece.name}: {fault}" for piece in whole.pieces for fault in piece.faults]
    faults += [f"{name}: {result}" for name, result in trued if not result.good]
    faults += [f"seam '{seam.name}': {fault}" for seam in seams for fault in seam.faults]
    notes = [f"{piece.name}: {note}" for piece in pattern_set.pieces for note in piece.notes]
    for piece in whole.pieces:
        found = (*_lacks(piece), *_wide(piece), *hem_notes(piece, whole.defaults.tolerance))
        notes += [f"{piece.name}: {note}" for note in found]
    notes += [f"seam '{seam.name}': {note}" for seam in seams for note in seam.notes]
    notes += [f"{p.name}: {curve.what}, {curve.told}" for p in whole.pieces for curve in p.unfair]
    notes += _cloths(pattern_set.pieces)
    return Review(
        whole.pieces, seams, tuple(faults), tuple(dict.fromkeys(notes)), len(seams) + len(trued)
    )


def with_cards(found: Review, pattern_set: PatternSet) -> Review:
    """Return the review with what notching and marking the pieces' cards shows."""
    cards = [
        bare_card(ready(replace(piece, faults=())), pattern_set.defaults, pattern_set.seams)
        for piece in found.pieces
    ]
    faults = [f"{card.piece}: {fault}" for card in cards for fault in card.faults]
    notes = [f"{card.piece}: {note}" for card in cards for note in card.warnings]
    return replace(found, faults=(*found.faults, *faults), notes=(*found.notes, *notes))


def _lacks(piece: Piece) -> Iterator[str]:
    if piece.grain is None:
        yield "it has no grain line: write grain = { along = EDGE }, or give two points"
    if not piece.cuts:
        yield "nothing is cut with it: write cut = [{ cloth = ..., count = ... }]"


def _wide(piece: Piece) -> Iterator[str]:
    for edge in piece.edges:
        if max(edge.allowance) > WIDE:
            yield (
                f"the allowance of '{edge.name}' is {max(edge.allowance):g} mm: is its unit right?"
            )


def _cloths(pieces: Sequence[Piece]) -> Iterator[str]:
    """Report cloths whose names differ only in capitals or spaces."""
    names = dict.fromkeys(cut.cloth for piece in pieces for cut in piece.cuts)
    alike: dict[str, list[str]] = {}
    for name in names:
        alike.setdefault(" ".join(name.split()).casefold(), []).append(name)
    for same in alike.values():
        if len(same) > 1:
            every = " and ".join(f"'{name}'" for name in same)
            yield f"{every} are treated as different cloths: use one spelling"
