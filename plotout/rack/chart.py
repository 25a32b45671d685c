"""The pattern chart: every piece of a set, small and to one scale, with what to cut, and a swatch.

It is a sheet of strokes like any other, so that it is printed, read back and compared in the same
way; it can be a card for the hook too.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from plotout.errors import UserError
from plotout.finish.edge_words import cut_orders, figure, laying
from plotout.finish.nest import LINES
from plotout.finish.prepare import upright
from plotout.geometry.dashes import dashes_along
from plotout.geometry.polyline import bounds
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.model import Card, Sheet
from plotout.pattern.model import PatternSet, Piece
from plotout.rack.chart_words import GAP, foot_top, write_foot, write_head
from plotout.rack.leaf import MARGIN, SMALL, Leaf, as_sheet, rows_of
from plotout.tongue import PLAIN as ENGLISH
from plotout.tongue import Tongue

SCALES = (4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60, 80, 100, 150, 200)
_COLUMNS = (3, 4, 2, 5, 6)  # in the order in which they are tried
_NAME = 1.2 * SMALL  # mm: height of a piece's name
_LINE = 1.7  # from line to line, in letter heights
_WIDE = 0.4  # mm: the line width in which dashes of sizes are measured
_FOLD = (3.0, 0.8, 0.5, 0.8)  # mm: long dash dot (ISO 128-2), as small as the chart


@dataclass(frozen=True, slots=True, eq=False)
class _Item:
    """A piece on the chart: its name with the number of its card, and its words.

    sizes: the piece in other sizes, with the dashes of their lines in mm.
    """

    piece: Piece
    name: str
    details: tuple[str, ...]
    sizes: tuple[tuple[Piece, tuple[float, ...]], ...] = ()

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least x and y, greatest x and y of all its sizes, mm."""
        return bounds(np.vstack([self.piece.outline, *(one.outline for one, _ in self.sizes)]))

    @property
    def size(self) -> tuple[float, float]:
        """Its width and height, mm."""
        low_x, low_y, high_x, high_y = self.bounds
        return high_x - low_x, high_y - low_y

    def rows(self, width: float) -> tuple[list[str], list[str]]:
        """Return its name and its words, in lines that wide."""
        return rows_of([self.name], width, _NAME), rows_of(self.details, width, SMALL)

    def height(self, scale: float, width: float) -> float:
        """Return how much of a column it takes, mm."""
        names, lines = self.rows(width)
        words = _LINE * (_NAME * len(names) + SMALL * len(lines))
        return self.size[1] * scale + 1.5 + words + GAP


@dataclass(frozen=True, slots=True)
class _Layout:
    """Pieces in columns. pages: for each, (item, column, mm below its top)."""

    scale: float
    width: float
    pages: list[list[tuple[_Item, int, float]]]


def chart(
    pattern_set: PatternSet,
    pieces: Sequence[Piece],
    cards: Sequence[Card],
    page: tuple[float, float],
    foot: float = 0.0,
    sizes: Mapping[str, Sequence[Piece]] | None = None,
) -> list[Sheet]:
    """Return the pattern chart: one page, where its words go on one, else as few as that takes.

    pieces: with the derived ones made. page: width and height in mm. foot: what is kept for the
    printer's own words below, mm. sizes: of a chart of several, the pieces in every one of them, in
    order; the set's own is among them, and has a continuous line.
    """
    say = pattern_set.say
    leaves = _leaves(pattern_set, pieces, cards, page[0], page[1] - foot, sizes or {})
    name = say("Pattern chart: {set}", set=pattern_set.name)
    of = len(leaves)
    return [
        as_sheet(name, leaf, page, number, of, say) for number, leaf in enumerate(leaves, start=1)
    ]


def chart_cards(
    pattern_set: PatternSet,
    pieces: Sequence[Piece],
    cards: Sequence[Card],
    size: tuple[float, float],
) -> list[Card]:
    """Return the chart as cards for the hook, with the set's hanging hole at the top."""
    wide, tall = size
    defaults, say = pattern_set.defaults, pattern_set.say
    drop = defaults.hole_inset + defaults.hole
    outline = np.array([(0.0, 0.0), (wide, 0.0), (wide, tall), (0.0, tall), (0.0, 0.0)])
    hole = (wide / 2, tall - defaults.hole_inset)
    leaves = _leaves(pattern_set, pieces, cards, wide, tall - drop)
    made = []
    for number, leaf in enumerate(leaves, start=1):
        name = "pattern-chart" + (f"-{number}" if len(leaves) > 1 else "")
        strokes = [
            *leaf.strokes,
            Stroke(np.array([hole]), Work.PUNCH, Mark.HOLE, size=defaults.hole),
            Stroke(outline, Work.CUT, Mark.OUTLINE),
        ]
        marked = tuple(stroke.of_card(name) for stroke in strokes)
        title = say("Pattern chart")
        made.append(
            Card(name, title, title, number, len(leaves), outline, marked, hole=hole, say=say)
        )
    return made


def _leaves(
    pattern_set: PatternSet,
    pieces: Sequence[Piece],
    cards: Sequence[Card],
    wide: float,
    tall: float,
    sizes: Mapping[str, Sequence[Piece]] = MappingProxyType({}),
) -> list[Leaf]:
    lines = _lines(pattern_set.size, sizes)
    items = [_with_sizes(item, sizes, lines) for item in _items(pattern_set, pieces, cards)]
    first = Leaf(wide, tall)
    write_head(first, pattern_set, len(pieces), len(cards), None, lines)
    foot = foot_top(pattern_set, pieces, wide)
    layout = _layout(items, wide - 2 * MARGIN, first.y - foot, tall - 2 * MARGIN)
    leaves = []
    for number, placed in enumerate(layout.pages):
        leaf = Leaf(wide, tall)
        if number == 0:
            write_head(leaf, pattern_set, len(pieces), len(cards), layout.scale, lines)
            write_foot(leaf, pattern_set, pieces)
        for item, column, down in placed:
            left = MARGIN + column * (layout.width + GAP)
            _draw(leaf, item, layout, left, leaf.y - down)
        leaves.append(leaf)
    return leaves


def _lines(drawn: str, sizes: Mapping[str, Sequence[Piece]]) -> dict[str, tuple[float, ...]]:
    """Return the dashes of every size's line, mm: as the nest has them, as small as the chart."""
    if len(sizes) > len(LINES):
        raise UserError(
            f"{len(sizes)} sizes are too many: {len(LINES)} line types tell them apart",
            fix="Draw fewer sizes: --size S --size M",
        )
    order = [drawn, *(size for size in sizes if size != drawn)]
    return {size: tuple(_WIDE * dash for dash in LINES[order.index(size)]) for size in sizes}


def _with_sizes(
    item: _Item, sizes: Mapping[str, Sequence[Piece]], lines: Mapping[str, tuple[float, ...]]
) -> _Item:
    """Return a piece with its other sizes, turned as it is."""
    found = [
        (upright(piece), lines[size])
        for size, pieces in sizes.items()
        for piece in pieces
        if piece.name == item.piece.name and piece.edges and lines[size]
    ]
    return replace(item, sizes=tuple(found))


def _items(
    pattern_set: PatternSet, pieces: Sequence[Piece], cards: Sequence[Card]
) -> Iterator[_Item]:
    say, usual = pattern_set.say, pattern_set.defaults.allowance
    numbers: dict[str, list[int]] = {}
    for card in cards:
        numbers.setdefault(card.piece, []).append(card.number)
    for piece in pieces:
        if not piece.edges:
            continue
        own = numbers.get(piece.name, [])
        number = f"{own[0]}-{own[-1]} " if len(own) > 1 else f"{own[0]} " if own else ""
        lettering = [words for _, words in cut_orders(piece, say)] or [
            say("no cutting instruction")
        ]
        lettering += [*laying(piece, say), allowance_words(piece, usual, say), *piece.words]
        if not own and piece.parent in numbers:
            lettering.append(say("marked on card {number}", number=numbers[piece.parent][0]))
        yield _Item(upright(piece), f"{number}{piece.name}", tuple(lettering))


def _layout(items: Sequence[_Item], wide: float, first: float, rest: float) -> _Layout:
    """Return the largest scale at which the pieces go on one page; on two, if on none; and so on.

    wide: of the page, within its margins; first: height that is free on the first page; rest: on
    the others; mm.
    """
    for most in range(1, len(items) + 2):
        for scale in SCALES:
            for columns in _COLUMNS:
                width = (wide - GAP * (columns - 1)) / columns
                pages = _filled(items, 1.0 / scale, columns, width, (first, rest))
                if pages is not None and len(pages) <= most:
                    return _Layout(1.0 / scale, width, pages)
    width = (wide - GAP) / 2  # a piece taller than 40 m: it runs off its page
    return _Layout(1.0 / SCALES[-1], width, [[(item, 0, 0.0)] for item in items])


def _filled(
    items: Sequence[_Item], scale: float, columns: int, width: float, heights: tuple[float, float]
) -> list[list[tuple[_Item, int, float]]] | None:
    """Return the items page by page, each in the least full column; None if one is too large."""
    pages: list[list[tuple[_Item, int, float]]] = [[]]
    filled = [0.0] * columns
    room = heights[0]
    for item in items:
        tall = item.height(scale, width)
        if item.size[0] * scale > width or tall > max(heights):
            return None
        column = int(np.argmin(filled))
        if filled[column] + tall > room:
            pages.append([])
            filled, column, room = [0.0] * columns, 0, heights[1]
        pages[-1].append((item, column, filled[column]))
        filled[column] += tall
    return pages


def _draw(leaf: Leaf, item: _Item, layout: _Layout, left: float, top: float) -> None:
    """Draw a piece with its fold and grain line, its words below it."""
    piece, scale = item.piece, layout.scale
    box = [scale * bound for bound in item.bounds]
    shift = np.array([left - box[0], top - box[3]])
    for other, dashes in item.sizes:
        lines = [edge.points * scale + shift for edge in other.edges if edge.name != other.fold]
        for dash in dashes_along(lines, dashes):
            leaf.line(dash, Mark.INTERNAL)
    for edge in piece.edges:
        line = edge.points * scale + shift
        if edge.name == piece.fold:
            for dash in dashes_along([line], _FOLD):
                leaf.line(dash, Mark.FOLD)
        else:
            leaf.line(line, Mark.OUTLINE)
    if piece.grain is not None:
        leaf.line(piece.grain * scale + shift, Mark.GRAIN)
    names, small = item.rows(layout.width)
    y = top - (box[3] - box[1]) - 1.5
    for height, rows in ((_NAME, names), (SMALL, small)):
        for row in rows:
            y -= _LINE * height
            leaf.letters(row, left, y, height)


def allowance_words(piece: Piece, usual: float, say: Tongue = ENGLISH) -> str:
    """Return the piece's seam allowances where they are not the usual (mm), in words."""
    sewn = [edge for edge in piece.edges if edge.name != piece.fold]
    widths = {edge.name: edge.allowance for edge in sewn}

    def in_words(width: tuple[float, float]) -> str:
        return say.with_unit(figure(width, say))

    if len(set(widths.values())) == 1:
        only = next(iter(widths.values()))
        return "" if only == (usual, usual) else say("allowance {width}", width=in_words(only))
    other = (
        f"{name} {in_words(width)}" for name, width in widths.items() if width != (usual, usual)
    )
    return say.listed(*other, by="; ")
