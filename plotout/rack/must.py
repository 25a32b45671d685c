"""The cutter's must: the pieces of each cloth with counts, to be ticked and signed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from plotout.finish.edge_words import cut_orders, laying
from plotout.geometry.lettering import wrapped
from plotout.geometry.strokes import Mark
from plotout.model import Sheet
from plotout.pattern.model import PatternSet, Piece
from plotout.rack.leaf import LARGE, MARGIN, PLAIN, Leaf, about, as_sheet
from plotout.tongue import PLAIN as ENGLISH
from plotout.tongue import Tongue

ROW = 2.4  # from row to row, in letter heights
_LINE = 1.6  # from line to line of a row that is wrapped
SPARE = 4  # empty rows at the end
_TICK = 9.0  # mm, from the margin to a name
_HEAD = 8.0 * PLAIN  # what a page keeps at its foot to be signed


@dataclass(frozen=True, slots=True)
class _Row:
    """A piece, or a cloth, where `order` is empty."""

    name: tuple[str, ...]
    order: tuple[str, ...]
    many: int

    @property
    def is_cloth(self) -> bool:
        return bool(self.name) and not self.order

    @property
    def height(self) -> float:
        lines = max(len(self.name), len(self.order), 1)
        return PLAIN * (ROW + _LINE * (lines - 1) + (1.0 if self.is_cloth else 0.0))


def by_cloth(
    pieces: Sequence[Piece], say: Tongue = ENGLISH
) -> dict[str, list[tuple[str, str, int]]]:
    """Return cloth to (piece, order in words, how many are cut of it), in the set's order.

    The order says how the piece is laid too: who cuts by the must doesn't read the cards.
    """
    cloths: dict[str, list[tuple[str, str, int]]] = {}
    for piece in pieces:
        for cut, words in cut_orders(piece, say):
            instructions = say.listed(words, *laying(piece, say))
            cloths.setdefault(cut.cloth, []).append((piece.name, instructions, cut.pieces))
    return cloths


def must(
    pattern_set: PatternSet,
    pieces: Sequence[Piece],
    page: tuple[float, float],
    foot: float = 0.0,
) -> list[Sheet]:
    """Return the cutter's must: the pieces of each cloth with counts and boxes to tick.

    As many pages as it takes, each with its number and room for a signature. page: width and
    height, mm. foot: what is kept for the printer's own words below, mm.
    """
    say = pattern_set.say
    rows: list[_Row] = []
    wide = page[0] - 2 * MARGIN
    for cloth, items in by_cloth(pieces, say).items():
        total = sum(many for _, _, many in items)
        text = say("{cloth}: {count} in all", cloth=cloth, count=total)
        rows.append(_Row(tuple(wrapped(text, wide, 1.2 * PLAIN)), (), total))
        for name, order, many in items:
            name_rows = tuple(wrapped(name, 0.5 * wide - _TICK, PLAIN))
            rows.append(_Row(name_rows, tuple(wrapped(order, 0.4 * wide, PLAIN)), many))
    rows += [_Row((), (), 0)] * SPARE
    pages: list[list[_Row]] = [[]]
    leaf = _begun(pattern_set, page, foot, 9, 9)
    room = leaf.y - MARGIN - _HEAD
    for row in rows:
        if sum(earlier.height for earlier in pages[-1]) + row.height > room and pages[-1]:
            pages.append([])
        pages[-1].append(row)
    name = say("Cutter's must: {set}", set=pattern_set.name)
    return [
        as_sheet(
            name,
            _page(pattern_set, part, page, foot, number, len(pages)),
            page,
            number,
            len(pages),
            say,
        )
        for number, part in enumerate(pages, start=1)
    ]


def _begun(
    pattern_set: PatternSet, page: tuple[float, float], foot: float, number: int, of: int
) -> Leaf:
    say = pattern_set.say
    leaf = Leaf(page[0], page[1] - foot)
    leaf.write(say("Cutter's must"), LARGE)
    leaf.write(pattern_set.name, 1.4 * PLAIN)
    paged = [say("page {number} of {of}", number=number, of=of)] if of > 1 else []
    head = about(pattern_set, pattern_set.size)
    leaf.write(say.listed(head, *paged, by="; "))
    for caution in pattern_set.cautions:
        leaf.write(caution)
    leaf.y -= PLAIN
    return leaf


def _page(
    pattern_set: PatternSet,
    rows: Sequence[_Row],
    page: tuple[float, float],
    foot: float,
    number: int,
    of: int,
) -> Leaf:
    say, wide = pattern_set.say, page[0]
    leaf = _begun(pattern_set, page, foot, number, of)
    for row in rows:
        top = leaf.y - PLAIN * (ROW + (1.0 if row.is_cloth else 0.0))
        size = 1.2 * PLAIN if row.is_cloth else PLAIN
        left = MARGIN if row.is_cloth else MARGIN + _TICK
        for index, text in enumerate(row.name):
            leaf.letters(text, left, top - index * _LINE * PLAIN, size)
        for index, text in enumerate(row.order):
            leaf.letters(text, 0.52 * wide, top - index * _LINE * PLAIN, PLAIN)
        if not row.is_cloth:
            leaf.box(MARGIN, top - 0.5, 4.5, 4.5)
            leaf.letters(str(row.many or ""), wide - MARGIN - 8.0, top, PLAIN)
        leaf.y -= row.height
        under = leaf.y - 0.6 * PLAIN
        leaf.line([(MARGIN, under), (wide - MARGIN, under)], Mark.PAGE)
    leaf.ruled(say("cut by"), MARGIN, wide * 0.55)
    leaf.ruled(say("date"), wide * 0.6, wide - MARGIN)
    return leaf
