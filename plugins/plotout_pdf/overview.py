"""The page map: where each page lies, how pages are joined, and squares that show the scale."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from plotout import FloatArray, Mark, Run, Stroke, Work
from plotout.kit import Tile, Tiled, TilePlan, Tongue, joining_order
from plotout_pdf.band import Box, Words, box, draw_band, lines_within
from plotout_pdf.paper import FURNITURE, Paper
from plotout_pdf.style import seen_as

# mm: sides in whole millimetres and in whole inches; the largest pair that fits side by side
_SQUARES = ((100.0, 101.6), (50.0, 50.8), (20.0, 25.4))
_GAP = 4.0
_WORDS = 3.0
_GREY = 0.6
_SAMPLE = 27.25  # mm: of a line in the legend; two dashes and a dot of a fold
_KEY = _SAMPLE + 12.0  # mm: width of the legend
_MOST_TOLD = 0.3  # of the page's height, for the instructions


@dataclass(frozen=True, slots=True, eq=False)
class _Field:
    """Where a part's map is drawn: its upper left corner, its width, and the scale; mm."""

    tiled: Tiled
    runs: Sequence[Run]
    left: float
    top: float
    width: float
    scale: float


def overview(
    paper: Paper, words: Words, shown: Sequence[tuple[Tiled, Sequence[Run]]], true: FloatArray
) -> None:
    """Draw the map's page, on its side: everything tiled, at one scale.

    words: of its band. true: the (2, 3) map of the machine's calibration.
    """
    if not shown:
        return
    plan = shown[0][0].plan
    width, height = max(plan.page), min(plan.page)
    margins = plan.margins if plan.landscape else _turned(plan)
    left, bottom, right, top = margins
    paper.page(width, height)
    place = (left - plan.band, bottom, left, height - top)
    say = paper.say
    text = f"{words.details}. {_counted(shown, say)} " + say(
        "Print at 100 %, never fitted to the page. Measure the squares first."
    )
    details = say("{what}: {details}", what=say("Map"), details=text)
    draw_band(paper, place, Words(words.title, details, words.name), true, upright=True)
    with paper.layer(FURNITURE):
        room = (left, bottom, width - right, height - top)
        tall = _squares(paper, room, true)
        foot = _joined(paper, shown, room)
        beside = (left + _side_by_side_width(room) + 2.0, bottom, room[2], tall)
        maps = (left, tall + _GAP, room[2], foot - _GAP)
        if beside[2] - beside[0] < _KEY:  # beside the maps, then
            end = room[2] - _KEY
            beside, maps = (end, maps[1], room[2], maps[3]), (left, maps[1], end - _GAP, maps[3])
        _key(paper, [run for _, runs in shown for run in runs], beside)
        for field in _fields(shown, maps):
            _map(paper, field)
    paper.end_page()


def _counted(shown: Sequence[tuple[Tiled, Sequence[Run]]], say: Tongue) -> str:
    printed = sum(len(tiled.plan.filled) for tiled, _ in shown)
    every = sum(len(tiled.plan.tiles) for tiled, _ in shown)
    pages = say.many("{count} page and this map.", "{count} pages and this map.", printed)
    return f"{pages} {say('Places: {count}.', count=every)}" if every > printed else pages


def _joined(paper: Paper, shown: Sequence[tuple[Tiled, Sequence[Run]]], room: Box) -> float:
    """Write the order in which pages are joined; return how far down it reaches, mm."""
    left, bottom, right, top = room
    lines = list(lines_within([joining_order([tiled for tiled, _ in shown], paper.say)], (
        left, top - _MOST_TOLD * (top - bottom), right, top), _WORDS))  # fmt: skip
    for text, y, size in lines:
        paper.text(text, left, y, size)
    return lines[-1][1] - 0.5 * lines[-1][2] if lines else top


def _fields(shown: Sequence[tuple[Tiled, Sequence[Run]]], room: Box) -> Iterator[_Field]:
    """Yield each part's field, all at one scale."""
    words = 1.5 * _WORDS if any(tiled.title for tiled, _ in shown) else 0.0
    across, up = room[2] - room[0], room[3] - room[1]
    wide, tall = np.max([_size(tiled.plan) for tiled, _ in shown], axis=0)
    best, columns = 0.0, 1
    for count in range(1, len(shown) + 1):
        rows = -(-len(shown) // count)
        gap = _GAP if len(shown) > 1 else 0.0
        scale = float(min((across / count - gap) / wide, (up / rows - gap - words) / tall))
        if scale > best:
            best, columns = scale, count
    rows = -(-len(shown) // columns)
    for index, (tiled, runs) in enumerate(shown):
        row, column = divmod(index, columns)
        x, y = room[0] + column * across / columns, room[3] - row * up / rows
        yield _Field(tiled, runs, x, y - words, across / columns, best)


def _size(plan: TilePlan) -> FloatArray:
    """Return the width and height of all pages together, mm."""
    cells = np.array([tile.cell for tile in plan.tiles])
    return np.asarray(cells[:, 2:].max(axis=0) - cells[:, :2].min(axis=0))


def _key(paper: Paper, runs: Sequence[Run], room: Box) -> None:
    """Show how each kind of mark looks."""
    left, bottom, right, top = room
    kinds = kinds_of(runs)
    step = min(3.0 * _WORDS, (top - bottom) / max(len(kinds), 1))
    height = min(0.8 * _WORDS, 0.4 * step)
    for number, ((mark, work), stroke) in enumerate(sorted(kinds.items()), start=1):
        y = top - number * step
        paper.text(
            paper.say(
                "{what}: {details}", what=paper.say(mark.value), details=paper.say(work.value)
            ),
            left,
            y + 0.3 * step,
            height,
            room=right - left,
        )
        line = seen_as(stroke)
        paper.pen(line.width, line.dashes)
        paper.line(np.array([[left, y], [left + _SAMPLE, y]]))


def kinds_of(runs: Sequence[Run]) -> dict[tuple[Mark, Work], Stroke]:
    """Return a stroke of every kind of mark and work.

    The lines of a nest, which are dashes of a line type per size, have a legend of their own beside
    every piece.
    """
    return {(run.stroke.mark, run.stroke.work): run.stroke for run in runs if not run.stroke.layer}


def _turned(plan: TilePlan) -> Box:
    """Return the margins of the page on its side."""
    left, bottom, right, top = plan.margins
    end, side = max(bottom - plan.band, top), max(left, right)
    return end + plan.band, side, end, side


def _pair(room: Box) -> tuple[float, ...]:
    wide, high = room[2] - room[0], (room[3] - room[1]) / 1.5
    for pair in _SQUARES:
        if sum(pair) + _GAP <= wide and pair[1] <= high:
            return pair
    return ()


def _side_by_side_width(room: Box) -> float:
    return sum(side + _GAP for side in _pair(room))


def _squares(paper: Paper, room: Box, true: FloatArray) -> float:
    """Draw two squares, true on this machine; return their height."""
    x, y = room[0], room[1]
    for side, inches in zip(_pair(room), (False, True), strict=False):
        words = replace(paper.say, inches=inches).length(side)
        with paper.through(np.column_stack([true[:, :2], (x, y)])):
            paper.pen(0.2)
            paper.line(box((0.1, 0.1, side + 0.1, side + 0.1)))
            middle = side / 2.0
            size = min(5.0, side / 6.0)
            paper.text(words, middle, middle, size, anchor="middle", room=side - 2.0)
            paper.text(
                paper.say("each side"), middle, middle - 1.7 * size, 0.6 * size, anchor="middle"
            )
        x += side + _GAP
    return y + max(_pair(room), default=0.0)


def _map(paper: Paper, field: _Field) -> None:
    plan, scale, tiled = field.tiled.plan, field.scale, field.tiled
    low = np.min([tile.cell[:2] for tile in plan.tiles], axis=0)
    lower_left = np.array([field.left, field.top - scale * _size(plan)[1]])
    if tiled.title:
        paper.text(tiled.title, field.left, field.top + 0.8, 0.8 * _WORDS, room=field.width - _GAP)

    def placed(points: FloatArray) -> FloatArray:
        return np.asarray((points - low) * scale + lower_left)

    paper.pen(0.13, grey=0.4)
    for run in field.runs:
        if run.stroke.work is Work.CUT:
            paper.line(placed(run.points - tiled.corner))
    for tile in plan.tiles:
        name = tiled.prefix + tile.name
        _cell(paper, tile, name, placed(np.array(tile.cell).reshape(2, 2)).ravel().tolist())


def _cell(paper: Paper, tile: Tile, name: str, sides: Sequence[float]) -> None:
    left, bottom, right, top = sides
    paper.pen(0.25, (1.0, 1.0) if tile.empty else ())
    paper.line(box(sides))
    if tile.empty:
        paper.pen(0.13, (1.0, 1.0))
        paper.line(np.array([[left, bottom], [right, top]]))
        paper.line(np.array([[left, top], [right, bottom]]))
    height = min(5.0, (top - bottom) / 3.0, (right - left) / (len(name) + 1.0))
    where = ((left + right) / 2.0, (bottom + top) / 2.0 - height / 2.0)
    paper.text(name, *where, height, grey=_GREY if tile.empty else 0.0, anchor="middle")
