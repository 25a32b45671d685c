"""The page map: which page lies where, and squares that show whether the scale is right."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from plotout import FloatArray, Run, Tile, TilePlan, Work
from plotout_pdf.paper import FURNITURE, Paper
from plotout_pdf.style import line_for

# sides in mm and what is written in them: the largest pair that fits side by side
_SQUARES = (
    ((100.0, "100 mm"), (101.6, "4 in")),
    ((50.0, "50 mm"), (50.8, "2 in")),
    ((20.0, "20 mm"), (25.4, "1 in")),
)
_GAP = 4.0
_WORDS = 3.0
_GREY = 0.6


def overview(
    paper: Paper, title: str, plan: TilePlan, runs: Sequence[Run], corner: tuple[float, float]
) -> None:
    """Draw the map's page, on its side. corner: the drawing's 0, 0 on the sheet, mm."""
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
            _key(paper, runs, x + 2.0, bottom + tall)
        head = height - top - 2.0 * _WORDS
        pages = f"{len(plan.printed)} of {len(plan.tiles)} pages hold something"
        paper.text(title, left, head, _WORDS * 1.3)
        told = f"{pages}. Print at 100 %, never fitted to the page. Measure both squares first."
        paper.text(told, left, head - 2.2 * _WORDS, _WORDS)
        room = (left, bottom + tall + _GAP, width - right, head - 4.0 * _WORDS)
        _map(paper, plan, runs, corner, room)
    paper.end_page()


def _key(paper: Paper, runs: Sequence[Run], x: float, top: float) -> None:
    """Show how each kind of mark is printed."""
    kinds = {(run.stroke.mark, run.stroke.work): run.stroke for run in runs}
    for nth, ((mark, work), stroke) in enumerate(sorted(kinds.items()), start=1):
        y = top - nth * 2.0 * _WORDS
        line = line_for(stroke)
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


def _map(
    paper: Paper,
    plan: TilePlan,
    runs: Sequence[Run],
    corner: tuple[float, float],
    room: tuple[float, float, float, float],
) -> None:
    cells = np.array([tile.cell for tile in plan.tiles])
    low, high = cells[:, :2].min(axis=0), cells[:, 2:].max(axis=0)
    across, up = room[2] - room[0], room[3] - room[1]
    scale = float(min(across / (high - low)[0], up / (high - low)[1]))
    lower_left = np.array([room[0], room[3] - scale * (high - low)[1]])

    def placed(points: FloatArray) -> FloatArray:
        return np.asarray((points - low) * scale + lower_left)

    paper.pen(0.13, grey=0.4)
    for run in runs:
        if run.stroke.work is Work.CUT:
            paper.line(placed(run.points - corner))
    for tile in plan.tiles:
        _cell(paper, tile, placed(np.array(tile.cell).reshape(2, 2)).ravel().tolist())


def _cell(paper: Paper, tile: Tile, box: Sequence[float]) -> None:
    left, bottom, right, top = box
    paper.pen(0.25, (1.0, 1.0) if tile.empty else ())
    paper.line(_box(box))
    if tile.empty:
        paper.pen(0.13, (1.0, 1.0))
        paper.line(np.array([[left, bottom], [right, top]]))
        paper.line(np.array([[left, top], [right, bottom]]))
    height = min(5.0, (top - bottom) / 3.0, (right - left) / 3.0)
    where = ((left + right) / 2.0, (bottom + top) / 2.0 - height / 2.0)
    paper.text(tile.name, *where, height, grey=_GREY if tile.empty else 0.0, anchor="middle")


def _box(sides: Sequence[float]) -> FloatArray:
    left, bottom, right, top = sides
    return np.array([[left, bottom], [right, bottom], [right, top], [left, top], [left, bottom]])
