"""A nest: all sizes of a piece drawn over one another, every size with its own line type.

The sizes lie as graded: they coincide at every point that grading does not move.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np
from shapely.geometry import Polygon

from plotout.errors import UserError
from plotout.files import slug
from plotout.finish.bare_card import BareCard
from plotout.finish.card_marks import drill_strokes, fold_strokes, shapes_of
from plotout.finish.derive import all_pieces
from plotout.finish.edge_words import cut_orders
from plotout.finish.grain_marks import grain_strokes
from plotout.finish.label import lettered
from plotout.finish.notch_shapes import shaped
from plotout.finish.prepare import bare_card, ready
from plotout.geometry.dashes import dashes_along
from plotout.geometry.lettering import text_lines
from plotout.geometry.polyline import bounds
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work
from plotout.model import Card
from plotout.pattern.model import PatternSet, Piece

_WIDE = 0.5  # mm: the line width in which dashes are measured
# ISO 128-2, basic line types 01 to 12, from memory: dash, gap ... in line widths. Type 04, the long
# dash and dot of folds, is the last to be taken for a size.
LINES: tuple[tuple[float, ...], ...] = (
    (), (12, 3), (24, 3, 0.5, 3, 0.5, 3), (0.5, 3), (24, 3, 6, 3), (12, 18),
    (12, 3, 0.5, 3), (24, 3, 6, 3, 6, 3), (12, 3, 12, 3, 0.5, 3), (12, 3, 0.5, 3, 0.5, 3),
    (12, 3, 12, 3, 0.5, 3, 0.5, 3), (24, 3, 0.5, 3),
)  # fmt: skip
_SAMPLE = 30.0  # mm of each line in the legend
_WORDS = 5.0  # mm, ISO 3098
_ROW = 9.0  # mm from line to line of the legend
_EDGE = 4.0  # mm round all


def nests(sets: Mapping[str, PatternSet], base: str) -> tuple[Card, ...]:
    """Return a card per piece, to be drawn: its cutting line and its marks in every size.

    sets: by size, in order. base: the size with a continuous line, a grain line and the fold.
    Raises UserError for more sizes than line types, or a piece that can't be made.
    """
    if len(sets) > len(LINES):
        raise UserError(
            f"{len(sets)} sizes are too many: there are {len(LINES)} line types to tell them apart",
            fix="Draw fewer sizes: --size S --size M",
        )
    order = [base, *(size for size in sets if size != base)]
    kinds = {size: LINES[order.index(size)] for size in sets}
    by_size = {size: {p.name: p for p in all_pieces(one)} for size, one in sets.items()}
    names = list(by_size[base])
    return tuple(
        _nest(name, {size: pieces[name] for size, pieces in by_size.items()}, sets, base, kinds,
              (index + 1, len(names)))
        for index, name in enumerate(names)
    )  # fmt: skip


def _nest(
    name: str,
    pieces: Mapping[str, Piece],
    sets: Mapping[str, PatternSet],
    base: str,
    kinds: Mapping[str, tuple[float, ...]],
    count: tuple[int, int],
) -> Card:
    lines: list[Stroke] = []
    bare: dict[str, BareCard] = {}
    for size, piece in pieces.items():
        one = sets[size]
        bare[size] = bare_card(ready(piece), one.defaults, one.seams, one.say)
        lines += _in_size(ready(piece), bare[size], f"size {size}", kinds[size])
    shapes = [card.outline for card in bare.values()]
    middle, fold = ready(pieces[base]), bare[base].fold
    inner = min(shapes, key=lambda outline: Polygon(outline).area)
    head = sets[base]
    say = head.say
    extra = grain_strokes(middle.grain, Polygon(inner), ()) if middle.grain is not None else []
    if fold is not None:
        extra += fold_strokes(fold, Polygon(inner), shapes_of(extra), _WORDS, say)
    sizes = say("sizes {sizes}", sizes=say.listed(*pieces))
    orders = [text for _, text in cut_orders(middle, say)]
    words = (name, head.name, say("style {style}", style=head.style), sizes, *orders)
    block = lettered(words, Polygon(inner), shapes_of(extra), _WORDS, middle.grain, titled=True)
    left, bottom, _, _ = bounds(np.vstack(shapes))
    legend = _legend(kinds, left, bottom - 2 * _EDGE)
    every = [*lines, *extra, *block.strokes, *legend]
    identity = slug(name)
    return Card(
        id=identity,
        piece=name,
        title=say("{piece}, all sizes", piece=name),
        number=count[0],
        of=count[1],
        outline=_frame(every),
        strokes=tuple(stroke.of_card(identity) for stroke in every),
        warnings=(block.warning,) if block.warning else (),
        say=say,
    )


def _in_size(piece: Piece, bare: BareCard, layer: str, kind: Sequence[float]) -> Iterator[Stroke]:
    """Give what is drawn of one size: its lines in its line type, its notches, its drill holes."""
    inside = [line.points for line in piece.lines] + [area.points for area in piece.areas]
    for line in (bare.outline, *inside):
        yield from (_drawn(part, Mark.OUTLINE, layer) for part in _broken(line, kind))
    for notch in bare.notches:
        yield from (_drawn(line, Mark.NOTCH, layer) for line in shaped(notch))
    for drill in drill_strokes([replace(drill, cross=True) for drill in piece.drills]):
        yield replace(drill, layer=layer)


def _drawn(points: FloatArray, mark: Mark, layer: str = "") -> Stroke:
    return Stroke(points, Work.DRAW, mark, layer=layer)


def _broken(points: FloatArray, kind: Sequence[float]) -> list[FloatArray]:
    """Return a line as separate dashes of its kind, which every machine can draw."""
    return list(dashes_along([points], [dash * _WIDE for dash in kind])) if kind else [points]


def _legend(kinds: Mapping[str, tuple[float, ...]], left: float, top: float) -> list[Stroke]:
    """Return the sizes with samples of their lines, one below the other."""
    strokes: list[Stroke] = []
    for index, (size, kind) in enumerate(kinds.items()):
        y = top - _ROW * index
        sample = np.array([[left, y], [left + _SAMPLE, y]])
        layer = f"size {size}"
        strokes += [_drawn(part, Mark.OUTLINE, layer) for part in _broken(sample, kind)]
        at = np.array([left + _SAMPLE + 3.0, y - _WORDS / 2.0])
        strokes += [
            _drawn(letter + at, Mark.LETTERING, layer) for letter in text_lines(size, _WORDS)
        ]
    return strokes


def _frame(strokes: Sequence[Stroke]) -> FloatArray:
    """Return the rectangle that a nest takes on its paper; it is not drawn."""
    left, bottom, right, top = bounds(np.vstack([stroke.points for stroke in strokes]))
    left, bottom, right, top = left - _EDGE, bottom - _EDGE, right + _EDGE, top + _EDGE
    return np.array([[left, bottom], [right, bottom], [right, top], [left, top], [left, bottom]])
