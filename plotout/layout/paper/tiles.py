"""The pages into which a drawing is divided, and the order in which they are joined.

Rows run from the top (A, B ...), columns from the left (1, 2 ...), as the pages are laid out on a
table.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from plotout.tongue import PLAIN, Tongue

Box = tuple[float, float, float, float]
"""Left, bottom, right, top, mm."""

_BESIDE = ((-1, 0), (0, -1), (0, 1), (1, 0))


@dataclass(frozen=True, slots=True)
class Tile:
    """One page. x0, y0: the drawing's point in the lower left of the printed part, mm.

    width, height: of the printed part, including overlap, mm. cell: what remains after trimming or
    lapping the page (left, bottom, right, top, in the drawing's mm), up to the edge of what is
    printed where no neighbour is. row: from the top; column: from the left; both from 0. empty: it
    is not printed, since no part of the drawing lies in its cell but what its neighbours show.
    """

    row: int
    column: int
    x0: float
    y0: float
    width: float
    height: float
    cell: Box
    empty: bool

    @property
    def name(self) -> str:
        """Return row and column in words: A1 is the upper left."""
        return f"{row_name(self.row)}{self.column + 1}"


@dataclass(frozen=True, slots=True)
class MatchMark:
    """A mark on the joint of two pages, half on each. at: its middle, drawing's mm.

    first, second: names of the pages, left or upper one first. upright: the joint runs up and down.
    number: which of the joint's marks it is, from 1.
    """

    at: tuple[float, float]
    first: str
    second: str
    upright: bool
    number: int


@dataclass(frozen=True, slots=True)
class TilePlan:
    """All pages of one drawing.

    page: width and height as turned, mm. margins: left, bottom, right, top of the page that hold
    nothing of the drawing. The drawing's point x, y lies on a tile's page at x - x0 + left,
    y - y0 + bottom. band: how much of the margins at the page's foot, at the left of one on its
    side, can be printed, and is kept for the page's own words, mm. tiles: row by row from the top,
    empty ones too. style: trim or lap.
    """

    page: tuple[float, float]
    margins: Box
    overlap: float
    style: str
    rows: int
    columns: int
    tiles: tuple[Tile, ...]
    marks: tuple[MatchMark, ...]
    band: float = 0.0

    @property
    def filled(self) -> tuple[Tile, ...]:
        """The tiles that aren't empty, in the grid's order."""
        return tuple(tile for tile in self.tiles if not tile.empty)

    @property
    def printed(self) -> tuple[Tile, ...]:
        """The tiles that aren't empty, grouped as they are joined."""
        return tuple(tile for group in self.groups for row in group for tile in row)

    @property
    def groups(self) -> tuple[tuple[tuple[Tile, ...], ...], ...]:
        """The printed tiles as they are joined: groups, each of rows, in the order of joining.

        Pages that are butted go from the top row down; pages that are lapped from the lowest row
        up, since each lies over the one below it. A row goes from left to right.
        """
        whole = {(tile.row, tile.column): tile for tile in self.filled}
        found = []
        while whole:
            group = [whole.pop(next(iter(whole)))]
            for tile in group:
                near = [(tile.row + down, tile.column + over) for down, over in _BESIDE]
                group += [whole.pop(place) for place in near if place in whole]
            rows: dict[int, list[Tile]] = {}
            for tile in sorted(group, key=lambda tile: (tile.row, tile.column)):
                rows.setdefault(tile.row, []).append(tile)
            order = reversed(rows) if self.style == "lap" else iter(rows)
            found.append(tuple(tuple(rows[row]) for row in order))
        return tuple(found)

    @property
    def strip(self) -> Box:
        """The band's box on the page: left, bottom, right, top, mm."""
        left, bottom, right, top = self.margins
        if self.landscape:
            return left - self.band, bottom, left, self.page[1] - top
        return left, bottom - self.band, self.page[0] - right, bottom

    @property
    def landscape(self) -> bool:
        """Whether the page is wider than high."""
        return self.page[0] > self.page[1]

    def marks_of(self, tile: Tile) -> tuple[MatchMark, ...]:
        """Return the marks on the tile's joints with its neighbours."""
        return tuple(mark for mark in self.marks if tile.name in (mark.first, mark.second))


@dataclass(frozen=True, slots=True)
class Tiled:
    """A drawing divided into pages: a sheet, or one card of it.

    title: of the card; "" for a sheet. prefix: of its pages' names. corner: the plan's 0, 0 on the
    sheet, mm.
    """

    title: str
    prefix: str
    corner: tuple[float, float]
    plan: TilePlan


def joining_order(parts: Sequence[Tiled], say: Tongue = PLAIN) -> str:
    """Return in words the order in which pages are joined."""
    groups, alone = [], []
    for part in parts:
        for group in part.plan.groups:
            names = [[part.prefix + tile.name for tile in row] for row in group]
            if sum(map(len, names)) == 1:
                alone += names[0]
            else:
                groups.append(" / ".join(" ".join(row) for row in names))
    sentences = []
    if groups:
        lapped = any(part.plan.style == "lap" for part in parts)
        rows = "; ".join(groups)
        sentences.append(
            say(
                "Join each row from left to right, then row to row, "
                "the lowest row first: {pages}.", pages=rows,
            ) if lapped else say(
                "Join each row from left to right, then row to row, "
                "the upper row first: {pages}.", pages=rows,
            )
        )  # fmt: skip
    if alone:
        sentences.append(say("By itself: {pages}.", pages=", ".join(alone)))
    return " ".join(sentences)


def row_name(row: int) -> str:
    """Return A, B ... Z, AA, AB ... for 0, 1 ..."""
    letters = ""
    row += 1
    while row:
        row, rest = divmod(row - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters
