"""The papers that go with a set: the pattern chart and the cutter's must.

Both are sheets of strokes like any other, so they are printed, read back and compared like others;
the chart can also be a card for the hook. Sizes of lettering: ISO 3098.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from plotout.geometry.lettering import text_lines, text_width, wrapped
from plotout.geometry.polyline import bounds, placing
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work
from plotout.model import Card, Sheet
from plotout.pattern.model import PatternSet, Piece

MARGIN = 14.0
SWATCH = 42.0  # side of the box for a piece of cloth
SMALL, PLAIN, LARGE = 2.5, 3.5, 7.0
LARGEST = 0.25  # greatest scale on the chart, so that a small piece looks small beside a large one
ROW = 2.4  # of the must, in letter heights
SPARE = 4  # empty lines at the end of a cutter's must


@dataclass(slots=True)
class _Leaf:
    """Strokes laid from the top of a page down; `y` is the place of the next line."""

    width: float
    height: float
    y: float = 0.0
    strokes: list[Stroke] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.y = self.height - MARGIN

    def line(self, points: Sequence[Sequence[float]] | FloatArray, mark: Mark) -> None:
        self.strokes.append(Stroke(np.asarray(points, dtype=np.float64), Work.DRAW, mark))

    def letters(self, text: str, x: float, y: float, height: float, room: float) -> None:
        """Write a line; shrink its letters if it would be wider than `room` mm."""
        size = height * min(1.0, room / max(text_width(text, height), 1e-9))
        for points in text_lines(text, size):
            self.line(points + np.array([x, y]), Mark.LETTERING)

    def write(self, text: str, height: float = PLAIN) -> None:
        """Write a line across the page and move down."""
        self.y -= height
        self.letters(text, MARGIN, self.y, height, self.width - 2 * MARGIN)
        self.y -= 0.8 * height

    def box(self, x: float, y: float, wide: float, tall: float) -> None:
        corners = [(x, y), (x + wide, y), (x + wide, y + tall), (x, y + tall), (x, y)]
        self.line(corners, Mark.PAGE)


def chart(pattern_set: PatternSet, pieces: Sequence[Piece], cards: Sequence[Card],
          page: tuple[float, float], foot: float = 0.0) -> Sheet:  # fmt: skip
    """Return the pattern chart, one page: every piece small and labelled, its orders, a swatch.

    pieces: with the derived ones. page: width and height in mm. foot: kept free below for the
    printer's own words, mm.
    """
    width, height = page
    leaf = _chart(pattern_set, pieces, cards, width, height - foot)
    return _sheet(f"Pattern chart: {pattern_set.name}", leaf, page, 1, 1)


def _sheet(name: str, leaf: _Leaf, page: tuple[float, float], number: int, of: int) -> Sheet:
    """Return a leaf at the top of a page."""
    up = placing(0.0, (0.0, page[1] - leaf.height))
    marks = tuple(stroke.moved(up) for stroke in leaf.strokes)
    return Sheet(name, number, *page, placed=(), marks=marks, stock="page", of=of)


def chart_card(pattern_set: PatternSet, pieces: Sequence[Piece], cards: Sequence[Card],
               size: tuple[float, float]) -> Card:  # fmt: skip
    """Return the chart as a card for the hook, with the set's hanging hole at the top."""
    wide, tall = size
    defaults = pattern_set.defaults
    drop = defaults.hole_inset + defaults.hole
    leaf = _chart(pattern_set, pieces, cards, wide, tall - drop)
    outline = np.array([(0.0, 0.0), (wide, 0.0), (wide, tall), (0.0, tall), (0.0, 0.0)])
    hole = (wide / 2, tall - defaults.hole_inset)
    name = "pattern-chart"
    strokes = [
        *leaf.strokes,
        Stroke(np.array([hole]), Work.PUNCH, Mark.HOLE, size=defaults.hole),
        Stroke(outline, Work.CUT, Mark.OUTLINE),
    ]
    return Card(
        id=name,
        piece="Pattern chart",
        title="Pattern chart",
        number=1,
        of=1,
        outline=outline,
        strokes=tuple(replace(stroke, card=name) for stroke in strokes),
        hole=hole,
    )


def _chart(pattern_set: PatternSet, pieces: Sequence[Piece], cards: Sequence[Card],
           wide: float, tall: float) -> _Leaf:  # fmt: skip
    leaf = _Leaf(wide, tall)
    leaf.write(pattern_set.name, LARGE)
    leaf.write(_about(pattern_set))
    leaf.write(f"{len(pieces)} pieces, {len(cards)} cards; seam allowance "
               f"{pattern_set.defaults.allowance:g} mm unless said otherwise")  # fmt: skip
    for caution in pattern_set.cautions:
        leaf.write(caution)
    foot = MARGIN + SWATCH + 2 * PLAIN
    _draw_pieces(leaf, pieces, pattern_set.defaults.allowance, leaf.y - 4.0, foot)
    leaf.box(MARGIN, MARGIN, SWATCH, SWATCH)
    leaf.letters("swatch", MARGIN, MARGIN + SWATCH + 2.0, PLAIN, SWATCH)
    _write_cloths(leaf, pieces, MARGIN + SWATCH + 8.0, MARGIN + SWATCH)
    return leaf


def _about(pattern_set: PatternSet) -> str:
    facts = (("style", pattern_set.style), ("size", pattern_set.size), ("", pattern_set.date))
    return ", ".join(f"{what} {text}".strip() for what, text in facts if text)


def allowance_words(piece: Piece, usual: float) -> str:
    """Return the piece's seam allowances other than the usual one (mm), in words."""
    sewn = [edge for edge in piece.edges if edge.name != piece.fold]
    widths = {edge.name: edge.allowance for edge in sewn}
    if len(set(widths.values())) == 1:
        only = next(iter(widths.values()))
        return "" if only == (usual, usual) else f"allowance {_width(only)} mm"
    return "; ".join(
        f"{name} {_width(width)} mm" for name, width in widths.items() if width != (usual, usual)
    )


def _width(allowance: tuple[float, float]) -> str:
    return " to ".join(dict.fromkeys(f"{value:g}" for value in allowance))


def _draw_pieces(
    leaf: _Leaf, pieces: Sequence[Piece], usual: float, top: float, foot: float
) -> None:
    """Draw every piece as large as its cell of a grid allows, with its facts below it."""
    drawn = [piece for piece in pieces if piece.edges]
    across = max(2, int(np.ceil(np.sqrt(len(drawn) * 0.8))))
    down = -(-len(drawn) // across)
    cell = ((leaf.width - 2 * MARGIN) / across, (top - foot) / max(down, 1))
    for index, piece in enumerate(drawn):
        left, low = MARGIN + index % across * cell[0], top - (index // across + 1) * cell[1]
        orders = ", ".join(str(cut) for cut in piece.cuts) or "no order"
        texts = [orders, allowance_words(piece, usual), *piece.words]
        words = [
            line
            for text in texts
            if text
            for line in wrapped(text, cell[0] - 6.0, SMALL, cut_words=False)
        ]
        room = (cell[0] - 6.0, cell[1] - 4.0 - (2.2 + 1.7 * len(words)) * SMALL)
        wide, tall = np.ptp(piece.outline, axis=0)
        scale = min(room[0] / wide, room[1] / tall, LARGEST)
        box = bounds(piece.outline * scale)
        middle = np.array([left + cell[0] / 2, low + cell[1] - 2.0 - room[1] / 2])
        shift = middle - np.array([box[0] + box[2], box[1] + box[3]]) / 2
        leaf.line(piece.outline * scale + shift, Mark.OUTLINE)
        if piece.grain is not None:
            leaf.line(piece.grain * scale + shift, Mark.GRAIN)
        y = low + cell[1] - 4.0 - room[1] - 1.6 * SMALL
        leaf.letters(piece.name, left + 1.0, y, SMALL * 1.2, cell[0] - 4.0)
        for line in words:
            y -= 1.7 * SMALL
            leaf.letters(line, left + 1.0, y, SMALL, cell[0] - 4.0)


def by_cloth(pieces: Sequence[Piece]) -> dict[str, list[tuple[str, str, int]]]:
    """Return cloth to (piece, order in words, count), in the set's order."""
    cloths: dict[str, list[tuple[str, str, int]]] = {}
    for piece in pieces:
        for cut in piece.cuts:
            many = cut.count * (2 if cut.pair else 1)
            cloths.setdefault(cut.cloth, []).append((piece.name, str(cut), many))
    return cloths


def _write_cloths(leaf: _Leaf, pieces: Sequence[Piece], left: float, top: float) -> None:
    y = top - PLAIN
    for cloth, rows in by_cloth(pieces).items():
        total = sum(many for _, _, many in rows)
        text = f"{cloth}: {total} - " + ", ".join(f"{name} {many}" for name, _, many in rows)
        room = leaf.width - MARGIN - left
        for line in wrapped(text, room, SMALL, cut_words=False):
            leaf.letters(line, left, y, SMALL, room)
            y -= 1.8 * SMALL
        y -= SMALL


def must(
    pattern_set: PatternSet,
    pieces: Sequence[Piece],
    page: tuple[float, float],
    foot: float = 0.0,
) -> list[Sheet]:
    """Return the cutter's must: the pieces by cloth with counts and boxes to tick.

    As many pages as it takes, numbered and with room for a signature. page, foot: as for `chart`.
    """
    rows: list[tuple[str, str, int]] = []
    for cloth, items in by_cloth(pieces).items():
        rows.append((cloth, "", sum(many for _, _, many in items)))
        rows += items
    rows += [("", "", 0)] * SPARE
    heads = PLAIN * len(by_cloth(pieces))
    room = int((page[1] - foot - 2 * MARGIN - 6 * LARGE - 4 * PLAIN - heads) / (ROW * PLAIN))
    parts = [rows[at : at + room] for at in range(0, len(rows), room)]
    return [
        _must_page(pattern_set, part, page, foot, index, len(parts))
        for index, part in enumerate(parts, start=1)
    ]


def _must_page(pattern_set: PatternSet, rows: Sequence[tuple[str, str, int]],
               page: tuple[float, float], foot: float, number: int, of: int) -> Sheet:  # fmt: skip
    wide = page[0]
    leaf = _Leaf(wide, page[1] - foot)
    leaf.write("Cutter's must", LARGE)
    leaf.write(pattern_set.name, 1.4 * PLAIN)
    leaf.write(_about(pattern_set) + (f"; page {number} of {of}" if of > 1 else ""))
    leaf.y -= PLAIN
    for name, order, many in rows:
        leaf.y -= ROW * PLAIN
        if name and not order:
            leaf.y -= PLAIN
            leaf.letters(f"{name}: {many} in all", MARGIN, leaf.y, 1.2 * PLAIN, wide - 2 * MARGIN)
        else:
            leaf.box(MARGIN, leaf.y - 0.5, 4.5, 4.5)
            leaf.letters(name, MARGIN + 9.0, leaf.y, PLAIN, 0.4 * wide)
            leaf.letters(order, 0.52 * wide, leaf.y, PLAIN, 0.34 * wide)
            leaf.letters(str(many or ""), wide - MARGIN - 8.0, leaf.y, PLAIN, 8.0)
        under = leaf.y - 0.6 * PLAIN
        leaf.line([(MARGIN, under), (wide - MARGIN, under)], Mark.PAGE)
    leaf.letters("cut by", MARGIN, MARGIN, PLAIN, 30.0)
    leaf.line([(MARGIN + 18.0, MARGIN), (wide * 0.55, MARGIN)], Mark.PAGE)
    leaf.letters("date", wide * 0.6, MARGIN, PLAIN, 20.0)
    leaf.line([(wide * 0.6 + 14.0, MARGIN), (wide - MARGIN, MARGIN)], Mark.PAGE)
    return _sheet(f"Cutter's must: {pattern_set.name}", leaf, page, number, of)
