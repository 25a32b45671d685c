"""A card's block of words, its code, its grain line and the words along its lines, as they fit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

from shapely.geometry.base import BaseGeometry

from plotout.finish.bare_card import BareCard
from plotout.finish.card_marks import shapes_of
from plotout.finish.card_words import blocks, least
from plotout.finish.code import code_text
from plotout.finish.label import LEGIBLE, Lettering
from plotout.finish.naming import HEIGHTS, Lettered, label_strokes
from plotout.finish.wording import with_code, worded
from plotout.geometry.strokes import Mark, Stroke
from plotout.pattern.model import PatternSet


@dataclass(frozen=True, slots=True)
class Heading:
    """What a card is called. title: of its block. number, of: among the cards. name: its id."""

    title: str
    number: int
    of: int
    name: str


@dataclass(frozen=True, slots=True)
class LetteredCard:
    """What is written on a card. block: its words. along: the words along its lines."""

    arrows: list[Stroke]
    code: list[Stroke]
    block: Lettering
    along: Lettered

    @property
    def strokes(self) -> list[Stroke]:
        """All of it, as strokes."""
        return [*self.code, *self.arrows, *self.block.strokes, *self.along.strokes]

    def as_good_but_for_edges(self, other: LetteredCard) -> bool:
        """Return whether nothing but the words along lines is missing here, or less legible."""
        return (
            self.block.fits(min(other.block.size, LEGIBLE))
            and self.block.warning in ("", other.block.warning)
            and len(self.arrows) >= len(other.arrows)
            and bool(self.code) >= bool(other.code)
        )


def lettered_card(
    made: BareCard,
    shape: BaseGeometry,
    taken: Sequence[BaseGeometry],
    written: Sequence[Stroke],
    pattern_set: PatternSet,
    heading: Heading,
) -> LetteredCard:
    """Return what is written on a card; the block gives way to words that have no room beside it.

    shape: the card within its cutting line. taken: where no letters may be. written: the letters
    that it has so far.
    """
    words = shapes_of([stroke for stroke in written if stroke.mark is Mark.LETTERING])
    best = _tried(made, shape, taken, words, pattern_set, heading, ())
    if not best.along.missing:
        return best
    beside = label_strokes(made.labels, shape, taken, words).missed
    missed = [label for label in made.labels if label in best.along.missing]
    for labels, heights in product((missed, made.labels), (HEIGHTS, HEIGHTS[1:])):
        if best.along.missed <= beside:
            break
        reserved = label_strokes(labels, shape, taken, words, heights).zones
        other = _tried(made, shape, taken, words, pattern_set, heading, reserved)
        if other.along.missed < best.along.missed and other.as_good_but_for_edges(best):
            best = other
    return best


def _tried(
    made: BareCard,
    shape: BaseGeometry,
    taken: Sequence[BaseGeometry],
    words: Sequence[BaseGeometry],
    pattern_set: PatternSet,
    heading: Heading,
    reserved: Sequence[BaseGeometry],
) -> LetteredCard:
    """Return what is written on a card whose block keeps off what is `reserved`."""
    defaults = pattern_set.defaults
    number, of = heading.number, heading.of
    room = [*taken, *reserved]
    fitting, arrows, block = worded(made, shape, room, pattern_set, heading.title, (number, of))
    code: list[Stroke] = []
    if defaults.qr:
        text = code_text(pattern_set, heading.name)
        tiers = blocks(made, pattern_set, heading.title, number, of)
        wanted, before = least(pattern_set, tiers[0][-1], ()), (arrows, block)
        code, arrows, block = with_code(
            text, made, shape, room, tiers, fitting, wanted, defaults.lettering, before
        )
    busy = [*taken, *block.zones, *shapes_of([*code, *arrows, *block.strokes])]
    others = [*words, *shapes_of(block.strokes)]
    return LetteredCard(arrows, code, block, label_strokes(made.labels, shape, busy, others))
