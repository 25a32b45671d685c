"""A sheet on many small pages, to be joined on a table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from plotout import FloatArray, Machine, Program, Run, Sheet
from plotout.kit import Tile, TilePlan, tile_plan
from plotout_pdf.document import Bookmark, complete
from plotout_pdf.furniture import frame
from plotout_pdf.options import Options, options
from plotout_pdf.overview import Mapped, overview
from plotout_pdf.paper import Paper

ROUND = 5.0  # mm left about a card that is tiled on its own


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """What is tiled together: a sheet, or one card. corner: its lower left on the sheet, mm.

    lines: of the runs, as shapely geometry, from the corner.
    """

    title: str
    prefix: str
    corner: tuple[float, float]
    runs: tuple[Run, ...]
    lines: tuple[shapely.Geometry, ...]
    plan: TilePlan

    def met(self, box: tuple[float, float, float, float]) -> list[int]:
        """Return which runs meet a box, left, bottom, right, top, from the corner."""
        found = shapely.intersects(np.array(self.lines, dtype=object), shapely.box(*box))
        return [int(index) for index in np.flatnonzero(found)]

    def name(self, tile: Tile) -> str:
        """Return the tile's page name."""
        return f"{self.prefix}{tile.name}"


def check(machine: Machine) -> None:
    """Refuse pages that can't be made. Raises UserError."""
    _plan(options(machine), 100.0, 100.0, [np.array([[0.0, 0.0], [100.0, 100.0]])])


def plan(program: Program) -> TilePlan | None:
    """Return how the whole sheet is divided into pages; None where each card is by itself."""
    asked = options(program.machine)
    if asked.by_card:
        return None
    whole = (0.0, 0.0, program.width, program.height)
    return _part(program.name, "", program.runs, whole, asked).plan


def emit(program: Program, sheet: Sheet) -> bytes:
    """Return a PDF of tiles: one page map, then each part's pages. Raises UserError as `check`.

    Work is drawn in the sheet's mm, under one shift a page.
    """
    paper = Paper()
    names = ["map"]
    bookmarks = [Bookmark(f"Page map: {program.name}", 0)]
    seen: dict[str, list[Bookmark]] = {}
    parts = _parts(program, sheet, options(program.machine))
    overview(paper, program.name, [_mapped(part) for part in parts])
    for part in parts:
        for tile in part.plan.printed:
            for card in dict.fromkeys(part.runs[n].stroke.card for n in part.met(tile.cell)):
                seen.setdefault(card, []).append(Bookmark(part.name(tile), len(names)))
            names.append(part.name(tile))
            _page(paper, part, tile)
    for placed in sheet.placed:
        pages = seen.get(placed.card.id)
        if pages:
            bookmarks.append(Bookmark(placed.card.title, pages[0].page, tuple(pages)))
    return complete(
        paper.close(), title=program.name, layers=paper.layers, bookmarks=bookmarks, names=names
    )


def _parts(program: Program, sheet: Sheet, asked: Options) -> list[Part]:
    if not asked.by_card:
        return [_part(program.name, "", program.runs, (0.0, 0.0, program.width, program.height),
                      asked)]  # fmt: skip
    parts = []
    for placed in sheet.placed:
        runs = tuple(run for run in program.runs if run.stroke.card == placed.card.id)
        if runs:
            every = np.vstack([run.points for run in runs])
            (left, bottom), (right, top) = every.min(axis=0) - ROUND, every.max(axis=0) + ROUND
            box = (float(left), float(bottom), float(right), float(top))
            parts.append(_part(placed.card.title, f"{placed.card.number}-", runs, box, asked))
    return parts


def _part(
    title: str,
    prefix: str,
    runs: Sequence[Run],
    box: tuple[float, float, float, float],
    asked: Options,
) -> Part:
    left, bottom, right, top = box
    lines = [run.points - (left, bottom) for run in runs]
    shapes = tuple(
        shapely.LineString(line) if len(line) > 1 else shapely.Point(line[0]) for line in lines
    )
    plan = _plan(asked, right - left, top - bottom, lines)
    return Part(title, prefix, (left, bottom), tuple(runs), shapes, plan)


def _mapped(part: Part) -> Mapped:
    title = part.title if part.prefix else ""
    return Mapped(part.plan, part.runs, part.corner, part.prefix, title)


def _plan(asked: Options, width: float, height: float, lines: Sequence[FloatArray]) -> TilePlan:
    return tile_plan(
        width,
        height,
        lines,
        page=asked.page,
        margin=asked.margin,
        overlap=asked.overlap,
        style=asked.style,
        orientation=asked.orientation,
    )


def _page(paper: Paper, part: Part, tile: Tile) -> None:
    plan = part.plan
    left, bottom = plan.margins[:2]
    window = (left, bottom, left + tile.width, bottom + tile.height)
    shown = (tile.x0, tile.y0, tile.x0 + tile.width, tile.y0 + tile.height)
    paper.page(*plan.page)
    with paper.within(window, (left - tile.x0, bottom - tile.y0)):
        frame(paper, part.title, part.prefix, plan, tile)
    shift = (left - tile.x0 - part.corner[0], bottom - tile.y0 - part.corner[1])
    with paper.within(window, shift):
        paper.work([part.runs[index] for index in part.met(shown)])
    paper.end_page()
