"""A sheet on many small pages, to be joined on a table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from plotout import FloatArray, Machine, Mark, Program, Run, Sheet
from plotout.kit import PageGrid, Tile, Tiled, TilePlan, correction, page_grids, tile_plan
from plotout_pdf.band import Words, band_for, draw_band, sheet_number
from plotout_pdf.document import Bookmark, complete
from plotout_pdf.furniture import frame, joining
from plotout_pdf.options import Options, options
from plotout_pdf.overview import overview
from plotout_pdf.paper import Paper

HAIR = 0.5  # mm from the edge of what is printed to the first card
ROUND = 5.0  # mm left about a card that is tiled on its own


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """What is tiled together, with its runs. lines: of the runs, bodies: what the cards cover, as
    shapely geometry, from the part's corner.
    """

    tiled: Tiled
    runs: tuple[Run, ...]
    lines: tuple[shapely.Geometry, ...]
    bodies: tuple[shapely.Geometry, ...]

    def met(self, box: tuple[float, float, float, float]) -> list[int]:
        """Return which runs meet a box, left, bottom, right, top, from the corner."""
        found = shapely.intersects(np.array(self.lines, dtype=object), shapely.box(*box))
        return [int(index) for index in np.flatnonzero(found)]

    def name(self, tile: Tile) -> str:
        """Return the tile's page name."""
        return f"{self.tiled.prefix}{tile.name}"


def check(machine: Machine) -> None:
    """Refuse pages that can't be made. Raises UserError."""
    _plan(options(machine), (100.0, 100.0), [np.array([[0.0, 0.0], [100.0, 100.0]])], (), None)


def grids(machine: Machine) -> tuple[PageGrid, ...]:
    """Return how the pages may lie under a sheet; none where each card is tiled on its own."""
    asked = options(machine)
    if asked.by_card:
        return ()
    return page_grids(
        asked.page,
        correction(machine.calibration),
        margin=asked.margin,
        overlap=asked.overlap,
        style=asked.style,
        orientation=asked.orientation,
        band=_band(asked),
        begin=_begin(machine),
    )


def _begin(machine: Machine) -> tuple[float, float]:
    """Return where the first page's printed part begins: just before the first card can."""
    left, bottom = machine.bed.margins[:2]
    return max(0.0, left - HAIR), max(0.0, bottom - HAIR)


def _band(asked: Options) -> float:
    left, bottom, right, top = asked.margin
    upright = asked.page[0] <= asked.page[1]
    return band_for(asked.page[0] - left - right if upright else asked.page[1] - bottom - top)


def plan(program: Program, sheet: Sheet) -> tuple[Tiled, ...]:
    """Return how a sheet, or each of its cards, is divided into pages."""
    return tuple(part.tiled for part in _parts(program, sheet))


def emit(program: Program, sheet: Sheet) -> bytes:
    """Return a PDF of tiles: one page map, then each part's pages. Raises UserError as `check`.

    Work is drawn in the sheet's mm, under one shift a page.
    """
    paper, say = Paper(say=sheet.say), sheet.say
    names = [say("map")]
    bookmarks = [Bookmark(say("Page map: {set}", set=program.name), 0)]
    seen: dict[str, list[Bookmark]] = {}
    parts = _parts(program, sheet)
    pages = [(part, tile) for part in parts for tile in part.tiled.plan.printed]
    true = correction(program.machine.calibration)
    number = sheet_number(sheet)
    shown = [(part.tiled, part.runs) for part in parts]
    overview(paper, Words(program.name, number, names[0]), shown, true)
    for place, (part, tile) in enumerate(pages, start=1):
        for card in dict.fromkeys(part.runs[n].stroke.card for n in part.met(tile.cell)):
            seen.setdefault(card, []).append(Bookmark(part.name(tile), len(names)))
        names.append(part.name(tile))
        title = ": ".join(filter(None, (program.name, part.tiled.title)))
        page = say("page {number} of {of}", number=place, of=len(pages))
        details = f"{number}, {page}. {joining(part.tiled.plan, tile, part.tiled.prefix, say)}"
        _page(paper, part, tile, Words(title, details, part.name(tile)), program.machine)
    for placed in sheet.placed:
        found = seen.get(placed.card.id)
        if found:
            bookmarks.append(Bookmark(placed.card.title, found[0].page, tuple(found)))
    return complete(
        paper.close(),
        title=program.name,
        layers=paper.layers_as_in(sheet),
        bookmarks=bookmarks,
        names=names,
    )


def _parts(program: Program, sheet: Sheet) -> list[Part]:
    asked = options(program.machine)
    if not asked.by_card:
        whole = (0.0, 0.0, program.width, program.height)
        return [_part("", "", program.runs, whole, asked, _begin(program.machine))]
    parts = []
    for placed in sheet.placed:
        runs = tuple(run for run in program.runs if run.stroke.card == placed.card.id)
        if runs:
            every = np.vstack([run.points for run in runs])
            (left, bottom), (right, top) = every.min(axis=0) - ROUND, every.max(axis=0) + ROUND
            box = (float(left), float(bottom), float(right), float(top))
            parts.append(_part(placed.card.title, f"{placed.card.number}-", runs, box, asked, None))
    return parts


def _part(
    title: str,
    prefix: str,
    runs: Sequence[Run],
    box: tuple[float, float, float, float],
    asked: Options,
    begin: tuple[float, float] | None,
) -> Part:
    left, bottom, right, top = box
    lines = [run.points - (left, bottom) for run in runs]
    shapes = tuple(
        shapely.LineString(line) if len(line) > 1 else shapely.Point(line[0]) for line in lines
    )
    bodies = tuple(_bodies(runs, (left, bottom)))
    plan = _plan(asked, (right - left, top - bottom), lines, bodies, begin)
    return Part(Tiled(title, prefix, (left, bottom), plan), tuple(runs), shapes, bodies)


def _bodies(runs: Sequence[Run], corner: tuple[float, float]) -> Iterator[shapely.Geometry]:
    """Give what the cards cover: the paper inside a card is needed, though nothing is drawn."""
    for run in runs:
        if run.stroke.mark is Mark.OUTLINE and len(run.points) > 3:
            yield shapely.Polygon(run.points - corner).buffer(0.0)


def _plan(
    asked: Options,
    size: tuple[float, float],
    lines: Sequence[FloatArray],
    bodies: Sequence[shapely.Geometry],
    begin: tuple[float, float] | None,
) -> TilePlan:
    return tile_plan(
        *size,
        lines,
        page=asked.page,
        margin=asked.margin,
        overlap=asked.overlap,
        style=asked.style,
        orientation=asked.orientation,
        band=_band(asked),
        bodies=bodies,
        begin=begin,
    )


def _page(paper: Paper, part: Part, tile: Tile, words: Words, machine: Machine) -> None:
    plan, corner = part.tiled.plan, part.tiled.corner
    left, bottom = plan.margins[:2]
    window = (left, bottom, left + tile.width, bottom + tile.height)
    shown = (tile.x0, tile.y0, tile.x0 + tile.width, tile.y0 + tile.height)
    paper.page(*plan.page)
    true = correction(machine.calibration)
    draw_band(paper, plan.strip, words, true, upright=plan.landscape)
    with paper.within(window, (left - tile.x0, bottom - tile.y0)):
        frame(paper, part.tiled.prefix, plan, tile, part.bodies)
    shift = (left - tile.x0 - corner[0], bottom - tile.y0 - corner[1])
    with paper.within(window, shift):
        paper.work([part.runs[index] for index in part.met(shown)], machine.step)
    paper.end_page()
