"""Divides a large drawing into few pages of paper.

It is divided into a grid of cells without gap or overlap; a page shows its cell and,
within the overlap, some of its neighbours'.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import product

import numpy as np
import shapely

from plotout.errors import UserError
from plotout.geometry.region import line_or_point
from plotout.geometry.strokes import FloatArray
from plotout.layout.paper.needed import kept, needed
from plotout.layout.paper.tiles import Box, MatchMark, Tile, TilePlan
from plotout.layout.stock.model import PageGrid

MOST_PAGES = 2000
_SLACK = tuple(product((0.5, 0.0, 1.0), (0.5, 0.0, 1.0)))
_HAIR = 0.5
"""mm kept from the edge of what is printed, where a line could be cut off."""


def tile_plan(
    width: float,
    height: float,
    lines: Sequence[FloatArray],
    *,
    page: tuple[float, float],
    margin: float | Box = 5.0,
    overlap: float = 10.0,
    style: str = "trim",
    orientation: str = "auto",
    band: float = 0.0,
    bodies: Sequence[shapely.Geometry] = (),
    begin: tuple[float, float] | None = None,
) -> TilePlan:
    """Divide a drawing, `width` by `height` mm from 0, 0, into as few pages as possible.

    lines: what is drawn, each (n, 2), mm: a page whose cell none of them meets is empty.
    page: width and height, mm. margin: what can't be printed (left, bottom, right, top of the page
    as given, or one for all); for a page turned on its side the greater of both sides is kept,
    since printers turn it either way. overlap: how much neighbours share, mm.
    style: "trim" (all pages are cut in the middle of the overlap and butted) or "lap" (the left
    and lower edge of what is printed is cut and laid over the neighbour).
    orientation: "auto", "portrait" or "landscape". band: see `TilePlan`, mm. bodies: what cards
    cover: a page that one of them meets is not empty, though no line lies on it. begin: where the
    grid of pages may begin, too, as of `page_grids`.
    Raises UserError where nothing of the page is left, or it would be thousands of pages.
    """
    if style not in ("trim", "lap"):
        raise UserError(f"there is no tile style '{style}'", fix="Write trim or lap.")
    if orientation not in ("auto", "portrait", "landscape"):
        raise UserError(
            f"unknown orientation '{orientation}'", fix="Write auto, portrait or landscape."
        )
    margins: Box = margin if isinstance(margin, tuple) else (margin,) * 4
    if not (overlap >= 0.0 and min(*margins, band) >= 0.0):
        raise UserError("margins and overlap must be 0 mm or more", fix="Write them in mm.")
    shapes = np.array([*(line_or_point(points) for points in lines), *bodies], dtype=object)
    tree = shapely.STRtree(shapes)
    begins = [begin] if begin else []
    if len(shapes):
        left, bottom = shapely.bounds(shapes)[:, :2].min(axis=0).tolist()
        begins.append((left - _HAIR, bottom - _HAIR))
    plans = []
    for turned, sides in _turnings(page, margins, orientation):
        left, bottom, right, top = sides
        inner = (left + band, bottom, right, top) if turned[0] > turned[1] else (
            left, bottom + band, right, top)  # fmt: skip
        room = _room(turned, inner, overlap)
        for slack in _starts((width, height), room, overlap, begins):
            plans.append(_plan((width, height), tree, turned, inner, overlap, style, slack, band))
    return min(plans, key=lambda plan: (len(plan.filled), len(plan.tiles)))


def page_grids(
    page: tuple[float, float],
    sends: FloatArray,
    *,
    margin: Box,
    overlap: float,
    style: str,
    orientation: str,
    band: float,
    begin: tuple[float, float],
) -> tuple[PageGrid, ...]:
    """Return how pages may lie under a sheet, for laying cards on few of them.

    sends: the (2, 3) map from the sheet to what is sent, mm. begin: where the first page's printed
    part begins, mm sent. The rest as of `tile_plan`.
    """
    inset = overlap / 2.0 if style == "trim" else 0.0
    cells = (begin[0] + inset, begin[1] + inset)
    grids = []
    for turned, sides in _turnings(page, margin, orientation):
        wide, tall = (turned[0] - sides[0] - sides[2], turned[1] - sides[1] - sides[3])
        wide, tall = (wide - band, tall) if turned[0] > turned[1] else (wide, tall - band)
        pitch = (wide - overlap, tall - overlap)
        grids.append(PageGrid(pitch, cells, sends, _shared(overlap, style)))
    return tuple(grids)


def _turnings(
    page: tuple[float, float], margins: Box, orientation: str
) -> list[tuple[tuple[float, float], Box]]:
    """Return the page with its margins in its possible orientations."""
    left, bottom, right, top = margins
    upright_is_given = page[0] <= page[1]
    sizes = {"portrait": (min(page), max(page)), "landscape": (max(page), min(page))}
    side, end = max(left, right), max(bottom, top)
    found = []
    for name, size in sizes.items():
        if orientation in ("auto", name):
            as_given = (name == "portrait") == upright_is_given
            found.append((size, margins if as_given else (end, side, end, side)))
    return found


def _shared(overlap: float, style: str) -> tuple[float, float]:
    """Return how far a page shows its neighbours' cells, before and beyond its own, mm."""
    shown = (overlap / 2.0, overlap / 2.0) if style == "trim" else (0.0, overlap)
    return max(0.0, shown[0] - _HAIR), max(0.0, shown[1] - _HAIR)


def _room(page: tuple[float, float], margins: Box, overlap: float) -> tuple[float, float]:
    """Return the size of what a page can show. Raises UserError if that is too little."""
    room = (page[0] - margins[0] - margins[2], page[1] - margins[1] - margins[3])
    if min(room) - overlap < 10.0:
        raise UserError(
            f"a page of {page[0]:g} x {page[1]:g} mm has no room left",
            fix=f"Margins and an overlap of {overlap:g} mm leave less than 10 mm: reduce them.",
        )
    return room


def _starts(
    size: tuple[float, float],
    room: tuple[float, float],
    overlap: float,
    begins: Sequence[tuple[float, float]],
) -> Iterator[tuple[float, float]]:
    """Give where the grid of pages may begin, mm: its slack distributed, or at `begins`."""
    slack = [
        _count(size[axis], room[axis], overlap) * (room[axis] - overlap) + overlap - size[axis]
        for axis in (0, 1)
    ]
    for share in _SLACK:
        yield -slack[0] * (1.0 - share[0]), -slack[1] * (1.0 - share[1])
    yield from begins


def _plan(
    size: tuple[float, float],
    tree: shapely.STRtree,
    page: tuple[float, float],
    margins: Box,
    overlap: float,
    style: str,
    begin: tuple[float, float],
    band: float,
) -> TilePlan:
    """Return the plan whose grid of pages begins there."""
    room = _room(page, margins, overlap)
    columns, rows = (_count(size[axis] - begin[axis], room[axis], overlap) for axis in (0, 1))
    if columns * rows > MOST_PAGES:
        raise UserError(
            f"{size[0]:.0f} x {size[1]:.0f} mm would take {columns * rows} pages",
            fix=f"At most {MOST_PAGES} are made. Use a larger page, or less overlap.",
        )
    starts_x, starts_y = (
        [begin[axis] + number * (room[axis] - overlap) for number in range(count)]
        for axis, count in ((0, columns), (1, rows))
    )
    x, y = (_edges(starts, room[axis], overlap, style)
            for axis, starts in ((0, starts_x), (1, starts_y)))  # fmt: skip
    shared = _shared(overlap, style)
    printed = needed(x, y, shared, tree)
    if printed:  # rows and columns beyond the last page would only make its name odd
        columns, rows = (max(cell[axis] for cell in printed) + 1 for axis in (0, 1))
    tiles = []
    for row, column in product(range(rows), range(columns)):
        cell = (column, rows - 1 - row)
        box = kept(x, y, shared, cell, printed)
        tiles.append(
            Tile(row, column, starts_x[column], starts_y[cell[1]], *room, box, cell not in printed)
        )
    marks = _marks(tuple(tiles), columns)
    return TilePlan(page, margins, overlap, style, rows, columns, tuple(tiles), marks, band)


def _count(size: float, room: float, overlap: float) -> int:
    return max(1, math.ceil((size - overlap - 1e-9) / (room - overlap)))


def _edges(starts: list[float], room: float, overlap: float, style: str) -> FloatArray:
    """Return where the pages' cells begin along one axis, and where the last one ends."""
    inset = overlap / 2.0 if style == "trim" else 0.0
    joints = [start + inset for start in starts[1:]]
    return np.array([starts[0], *joints, starts[-1] + room])


def _marks(tiles: tuple[Tile, ...], columns: int) -> tuple[MatchMark, ...]:
    """Return two marks on every joint of two printed pages."""
    marks: list[MatchMark] = []
    for index, tile in enumerate(tiles):
        left, bottom, right, top = tile.cell
        beside = tiles[index + 1] if tile.column + 1 < columns else None
        below = tiles[index + columns] if index + columns < len(tiles) else None
        for other, upright in ((beside, True), (below, False)):
            if other is None or tile.empty or other.empty:
                continue
            for number, share in enumerate((0.25, 0.75), start=1):
                at = (
                    (right, top + share * (bottom - top))
                    if upright
                    else (left + share * (right - left), bottom)
                )
                marks.append(MatchMark(at, tile.name, other.name, upright, number))
    return tuple(marks)
