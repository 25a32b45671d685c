"""Everything known about a set before a card is cut, for `check`, `make` and the proof page.

Faults are mismatches with what was asked for; notes say what was snapped, chosen or left out, and
what may have been meant.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from plotout.finish.derive import all_pieces
from plotout.finish.doubts import cloth_doubts, doubts, seam_doubts
from plotout.finish.prepare import bare_card, ready
from plotout.pattern.hems import hem_notes
from plotout.pattern.model import PatternSet, Piece
from plotout.pattern.walk import SeamResult, walk


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
        found = (*doubts(piece), *hem_notes(piece, whole.defaults.tolerance))
        notes += [f"{piece.name}: {note}" for note in found]
    notes += [f"seam '{seam.name}': {note}" for seam in seams for note in seam.notes]
    notes += [f"{p.name}: {curve.what}, {curve.told}" for p in whole.pieces for curve in p.unfair]
    notes += [*seam_doubts(whole.seams, whole), *cloth_doubts(pattern_set)]
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
