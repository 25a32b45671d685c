"""Everything known about a set before a card is cut, for `check`, `make` and the proof page.

Faults are mismatches with what was asked for; notes say what was snapped, chosen or left out, and
what may have been meant.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from plotout.errors import UserError, each_of
from plotout.finish.derive import possible_pieces
from plotout.finish.every_card import finish
from plotout.finish.prepare import bare_card, ready
from plotout.pattern.findings import Trued
from plotout.pattern.hems import hem_notes
from plotout.pattern.meetings import Sewn, sewn_of
from plotout.pattern.model import PatternSet, Piece, Seam
from plotout.pattern.walk import SeamResult, walked
from plotout.review.another_edge import another_edge
from plotout.review.closing_seams import closing_seams
from plotout.review.cloth_doubts import cloth_doubts, fusing_doubts
from plotout.review.common_warnings import card_warnings
from plotout.review.count_doubts import count_doubts
from plotout.review.derived_ends import derived_ends
from plotout.review.doubts import default_doubts, doubts, out_of_proportion
from plotout.review.exchanged_edges import exchanged_edges
from plotout.review.faced_in_part import faced_in_part, short_of_lapels
from plotout.review.facing_doubts import facing_doubts, short_facings
from plotout.review.folds_met import folds_met
from plotout.review.front_doubts import front_doubts, misnamed_fronts
from plotout.review.grain_doubts import grain_doubts
from plotout.review.growth_doubts import growth_doubts
from plotout.review.hand_doubts import hand_doubts
from plotout.review.hands_met import hands_met
from plotout.review.joined_ways import WrongWays, wrong_ways_joined
from plotout.review.length_doubts import length_doubts
from plotout.review.narrow_strips import narrow_strips
from plotout.review.open_joints import open_joints
from plotout.review.open_rings import open_rings
from plotout.review.own_edge_doubts import own_edge_doubts
from plotout.review.plain_hems import plain_hems
from plotout.review.reversed_hands import reversed_hands
from plotout.review.seam_doubts import (
    ease_doubts,
    hem_doubts,
    lining_doubts,
    same_edges,
    seam_doubts,
)
from plotout.review.set_doubts import set_doubts
from plotout.review.sewn_shut import sewn_shut
from plotout.review.shared_bands import shared_bands
from plotout.review.slit_doubts import slit_doubts
from plotout.review.taken_twice import taken_twice
from plotout.review.twice_sewn import twice_sewn
from plotout.review.unlike_sides import unlike_sides
from plotout.review.unlined import unlined
from plotout.review.unsaid import unsaid
from plotout.review.upside_down import upside_down
from plotout.review.walked_ways import wrong_ways

OneSeam = TypeVar("OneSeam", Seam, Sewn)


@dataclass(frozen=True, slots=True)
class Review:
    """What was found. pieces: with the derived ones. asked: the number of seams and truings.

    refused: what keeps pieces from being made, and seams from being walked. mismatches: all other
    faults. unsaid: how the set is understood where it says no more.
    """

    pieces: tuple[Piece, ...]
    seams: tuple[SeamResult, ...]
    refused: tuple[UserError, ...]
    mismatches: tuple[str, ...]
    notes: tuple[str, ...]
    asked: int
    unsaid: tuple[str, ...] = ()

    @property
    def faults(self) -> tuple[str, ...]:
        """All faults, in words."""
        return (*(fault.in_a_line for fault in self.refused), *self.mismatches)

    def questioned(self, seam: SeamResult) -> bool:
        """Return whether a note asks something about a seam, or says what was chosen for it."""
        return any(note.startswith(f"seam '{seam.name}': ") for note in self.notes)


def review(pattern_set: PatternSet) -> Review:
    """Walk the seams, measure the truings, and report what the pieces lack.

    What can't be made or walked is reported beside all else that was found.
    """
    made, refused = possible_pieces(pattern_set)
    whole = pattern_set.with_pieces(made)
    unmade = [piece.name for piece in pattern_set.pieces if _lost(piece, whole)]
    seams, unwalked = walked(whole, [seam for seam in whole.seams if not _of(seam, unmade)])
    as_sewn = sewn_of(whole.seams, whole.piece)
    joined = wrong_ways_joined(as_sewn)
    seams = tuple(replace(s, faults=(*s.faults, *joined.seams.get(s.name, ()))) for s in seams)
    trued = [(piece.name, result) for piece in whole.pieces for result in piece.trued]
    refused = _once([*refused, *(fault for piece in made for fault in piece.faults), *unwalked])
    mismatches = [f"{name}: {result}" for name, result in trued if _off(result)]
    mismatches += [f"seam '{seam.name}': {fault}" for seam in seams for fault in seam.faults]
    mismatches += [f"{piece}: {fault}" for piece, fault in joined.pieces.items()]
    notes = [*pattern_set.notes, *default_doubts(whole.defaults)]
    notes += out_of_proportion(whole.pieces)
    notes += [f"{piece.name}: {note}" for piece in whole.pieces for note in piece.notes]
    for piece in whole.pieces:
        found = (*doubts(piece, whole.defaults), *hem_notes(piece, whole.defaults.tolerance))
        notes += [f"{piece.name}: {note}" for note in (*found, *length_doubts(piece, whole.seams))]
    notes += (*misnamed_fronts(whole.pieces, as_sewn), *hand_doubts(whole))
    notes += [f"{name}: {result.unsure()}" for name, result in trued if result.unsure()]
    notes += [f"seam '{seam.name}': {note}" for seam in seams for note in seam.notes]
    notes += [f"{p.name}: {curve.what}, {curve.detail}" for p in whole.pieces for curve in p.unfair]
    sewn = [seam for seam in whole.seams if _walked(seam, seams)]
    as_sewn = [seam for seam in as_sewn if _walked(seam, seams)]
    unasked = _unasked(sewn, joined), _unasked(as_sewn, joined)
    notes += (
        *seam_doubts(sewn, whole),
        *hem_doubts(sewn, whole),
        *plain_hems(sewn, whole),
        *slit_doubts(sewn, whole),
        *own_edge_doubts(sewn, whole),
        *open_rings(sewn, as_sewn, whole),
        *open_joints(sewn, as_sewn, whole),
        *twice_sewn(sewn, whole),
        *taken_twice(sewn, whole),
        *grain_doubts(sewn, whole),
        *upside_down(unasked[0], whole),
        *growth_doubts(sewn, whole),
        *count_doubts(sewn, whole),
        *shared_bands(sewn, as_sewn, whole),
        *sewn_shut(sewn, as_sewn, whole),
        *facing_doubts(sewn, whole),
        *short_facings(whole),
        *faced_in_part(sewn, whole),
        *short_of_lapels(whole),
        *another_edge(sewn, whole),
        *lining_doubts(whole),
        *derived_ends(sewn, whole),
        *unlined(sewn, whole),
        *ease_doubts(whole.seams),
        *wrong_ways(*unasked, whole),
        *hands_met(unasked[1], whole),
        *exchanged_edges(sewn, unasked[1], whole),
        *(tuple(unlike_sides(unasked[1], whole)) or reversed_hands(unasked[1], whole)),
        *closing_seams(unasked[0], whole),
        *front_doubts(sewn, as_sewn, whole.pieces),
        *folds_met(*unasked, whole),
    )
    notes += [f"seam '{name}': {note}" for name, asked in joined.asked.items() for note in asked]
    notes += (*same_edges(whole.seams), *cloth_doubts(pattern_set), *fusing_doubts(whole))
    notes += (*set_doubts(whole), *narrow_strips(whole))
    notes += [
        f"seam '{seam.name}': not walked, since {' and '.join(_of(seam, unmade))} can't be made"
        for seam in whole.seams
        if _of(seam, unmade)
    ]
    return Review(
        whole.pieces,
        seams,
        refused,
        tuple(mismatches),
        tuple(note for note in dict.fromkeys(notes) if note not in mismatches),
        len(seams) + len(trued),
        unsaid(whole),
    )


def _once(faults: Sequence[UserError]) -> tuple[UserError, ...]:
    """Return the faults, each once: a seam's may be its piece's, too."""
    return tuple({(fault.problem, fault.place): fault for fault in faults}.values())


def _off(result: Trued) -> bool:
    return result.wrong and not result.refused


def _lost(piece: Piece, whole: PatternSet) -> bool:
    """Return whether a derived piece with a card of its own could not be made."""
    marked = piece.derive is not None and piece.derive.marked
    return not marked and piece.name not in [made.name for made in whole.pieces]


def _of(seam: Seam, names: list[str]) -> list[str]:
    """Return those of the named pieces that a seam needs, in words."""
    sewn = dict.fromkeys(name for side in (seam.first, seam.second) for name, _, _ in side.edges)
    return [f"'{name}'" for name in sewn if name in names]


def _unasked(seams: list[OneSeam], joined: WrongWays) -> list[OneSeam]:
    """Return the seams not yet reported as walked the wrong way."""
    return [seam for seam in seams if seam.name not in {**joined.seams, **joined.asked}]


def _walked(seam: Seam | Sewn, found: tuple[SeamResult, ...]) -> bool:
    return seam.name in [result.name for result in found]


def with_bare_cards(found: Review, pattern_set: PatternSet) -> Review:
    """Return the review with what notching and marking the pieces' cards shows."""
    refused: list[UserError] = []
    mismatches, notes = [], []
    for piece in found.pieces:
        try:
            bare = ready(replace(piece, faults=()))
            card = bare_card(bare, pattern_set.defaults, pattern_set.seams)
        except UserError as fault:
            refused += each_of(fault)
            continue
        refused += card.uncuttable
        mismatches += [f"{card.piece}: {fault}" for fault in card.faults]
        notes += [f"{card.piece}: {note}" for note in card.warnings]
    return replace(
        found,
        refused=(*found.refused, *refused),
        mismatches=(*found.mismatches, *mismatches),
        notes=(*found.notes, *notes),
    )


def with_cards(found: Review, pattern_set: PatternSet) -> Review:
    """Return the review with what notching, marking, and lettering the cards shows.

    Cards that only a stock makes, of pieces too large for it, are not known here.
    """
    found = with_bare_cards(found, pattern_set)
    try:
        cards = finish(pattern_set)
    except UserError as faults:
        known = [(fault.problem, fault.place) for fault in found.refused]
        more = [one for one in each_of(faults) if (one.problem, one.place) not in known]
        return replace(found, refused=(*found.refused, *more))
    said = frozenset(found.notes)
    shown = [
        replace(card, warnings=tuple(w for w in card.warnings if f"{card.piece}: {w}" not in said))
        for card in cards
    ]
    notes = card_warnings(shown)
    return replace(found, notes=(*found.notes, *notes))
