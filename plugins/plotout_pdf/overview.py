"""The page map: which page lies where, and squares that show whether the scale is right."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from plotout import FloatArray, Run, Work
from plotout.kit import Tile, TilePlan
from plotout_pdf.paper import FURNITURE, Paper
from plotout_pdf.style import pen_for

# sides in mm and what is written in them: the largest pair that fits side by side
_SQUARES = (
    ((100.0, "100 mm"), (101.6, "4 in")),
    ((50.0, "50 mm"), (50.8, "2 in")),
    ((20.0, "20 mm"), (25.4, "1 in")),
)
Box = tuple[float, float, float, float]
_GAP = 4.0
_WORDS = 3.0
_GREY = 0.6


@dataclass(frozen=True, slots=True, eq=False)
class Mapped:
    """What a map shows: the pages of a sheet, or of one card.

    corner: their drawing's 0, 0 on the sheet, mm. prefix: of the pages' names. title: of the card.
    """

    plan: TilePlan
    runs: Sequence[Run]
    corner: tuple[float, float]
    prefix: str
    title: str

    @property
    def size(self) -> FloatArray:
        """Width and height of all pages together, mm."""
        cells = np.array([tile.cell for tile in self.plan.tiles])
        return np.asarray(cells[:, 2:].max(axis=0) - cells[:, :2].min(axis=0))


def overview(paper: Paper, title: str, shown: Sequence[Mapped]) -> None:
    """Draw the map's page, on its side: everything that is tiled, at one scale."""
    if not shown:
        return
    plan = shown[0].plan
    width, height = max(plan.page), min(plan.page)
    left, bottom, right, top = plan.margins if plan.landscape else _turned(plan.margins)
    paper.page(width, height)
    with paper.layer(FURNITURE):
        squares = _squares(width - left - right, (height - bottom - top) / 1.5)
        tall = max(side for side, _ in squares)
        x = left
        for side, words in squares:
            _square(paper, x, bottom, side, words)
            x += side + _GAP
        if width - right - x > 40.0:
            _key(paper, [run for drawing in shown for run in drawing.runs], x + 2.0, bottom + tall)
        head = height - top - 2.0 * _WORDS
        printed = sum(len(drawing.plan.printed) for drawing in shown)
        pages = (
            f"{printed} of {sum(len(drawing.plan.tiles) for drawing in shown)} pages hold something"
        )
        paper.text(title, left, head, _WORDS * 1.3)
        told = f"{pages}. Print at 100 %, never fitted to the page. Measure both squares first."
        paper.text(told, left, head - 2.2 * _WORDS, _WORDS)
        room = (left, bottom + tall + _GAP, width - right, head - 4.0 * _WORDS)
        for drawing, field, scale in _side_by_side(shown, room):
            _map(paper, drawing, field, scale)
    paper.end_page()


def _side_by_side(
    shown: Sequence[Mapped], room: Box
) -> Iterator[tuple[Mapped, tuple[float, float, float], float]]:
    """Give each with its field's left, top and width, and the scale of all."""
    words = 1.5 * _WORDS if any(drawing.title for drawing in shown) else 0.0
    across, up = room[2] - room[0], room[3] - room[1]
    wide, tall = np.max([drawing.size for drawing in shown], axis=0)
    best, columns = 0.0, 1
    for count in range(1, len(shown) + 1):
        rows = -(-len(shown) // count)
        gap = _GAP if len(shown) > 1 else 0.0
        scale = float(min((across / count - gap) / wide, (up / rows - gap - words) / tall))
        if scale > best:
            best, columns = scale, count
    rows = -(-len(shown) // columns)
    for index, drawing in enumerate(shown):
        row, column = divmod(index, columns)
        x, y = room[0] + column * across / columns, room[3] - row * up / rows
        yield drawing, (x, y - words, across / columns), best


def _key(paper: Paper, runs: Sequence[Run], x: float, top: float) -> None:
    """Show how each kind of mark is printed."""
    kinds = {(run.stroke.mark, run.stroke.work): run.stroke for run in runs}
    for number, ((mark, work), stroke) in enumerate(sorted(kinds.items()), start=1):
        y = top - number * 2.0 * _WORDS
        line = pen_for(stroke)
        paper.pen(line.width, line.dashes)
        paper.line(np.array([[x, y], [x + 18.0, y]]))
        paper.text(f"{mark.value}: {work.value}", x + 21.0, y - _WORDS / 2.5, _WORDS * 0.8)


def _turned(margins: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    left, bottom, right, top = margins
    return bottom, max(left, right), top, max(left, right)


def _squares(wide: float, high: float) -> tuple[tuple[float, str], ...]:
    for pair in _SQUARES:
        if sum(side for side, _ in pair) + _GAP <= wide and pair[1][0] <= high:
            return pair
    return _SQUARES[-1]


def _square(paper: Paper, x: float, y: float, side: float, words: str) -> None:
    paper.pen(0.2)
    paper.line(_box((x, y, x + side, y + side)))
    middle = x + side / 2.0
    paper.text(words, middle, y + side / 2.0, 5.0, anchor="middle")
    paper.text("each side", middle, y + side / 2.0 - 2.0 * _WORDS, _WORDS, anchor="middle")


def _map(paper: Paper, shown: Mapped, field: tuple[float, float, float], scale: float) -> None:
    left, top, width = field
    low = np.min([tile.cell[:2] for tile in shown.plan.tiles], axis=0)
    lower_left = np.array([left, top - scale * shown.size[1]])
    if shown.title:
        fits = 1.4 * (width - _GAP) / len(shown.title)
        paper.text(shown.title, left, top + 0.8, min(0.9 * _WORDS, fits))

    def placed(points: FloatArray) -> FloatArray:
        return np.asarray((points - low) * scale + lower_left)

    paper.pen(0.13, grey=0.4)
    for run in shown.runs:
        if run.stroke.work is Work.CUT:
            paper.line(placed(run.points - shown.corner))
    for tile in shown.plan.tiles:
        name = shown.prefix + tile.name
        _cell(paper, tile, name, placed(np.array(tile.cell).reshape(2, 2)).ravel().tolist())


def _cell(paper: Paper, tile: Tile, name: str, box: Sequence[float]) -> None:
    left, bottom, right, top = box
    paper.pen(0.25, (1.0, 1.0) if tile.empty else ())
    paper.line(_box(box))
    if tile.empty:
        paper.pen(0.13, (1.0, 1.0))
        paper.line(np.array([[left, bottom], [right, top]]))
        paper.line(np.array([[left, top], [right, bottom]]))
    height = min(5.0, (top - bottom) / 3.0, (right - left) / (len(name) + 1.0))
    where = ((left + right) / 2.0, (bottom + top) / 2.0 - height / 2.0)
    paper.text(name, *where, height, grey=_GREY if tile.empty else 0.0, anchor="middle")


def _box(sides: Sequence[float]) -> FloatArray:
    left, bottom, right, top = sides
    return np.array([[left, bottom], [right, bottom], [right, top], [left, top], [left, bottom]])
