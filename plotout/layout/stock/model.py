"""Stock to cut from: sheets of card, off-cuts of any outline, rolls."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from plotout.errors import UserError, nearest
from plotout.geometry.boxes import largest_box
from plotout.geometry.grown import buffered
from plotout.geometry.strokes import FloatArray
from plotout.machine import AUTOMATIC, Machine
from plotout.machine.calibration import distortion
from plotout.model import Sheet

Sides = tuple[float, float, float, float]
"""Left, bottom, right, top, mm."""

MARK_ROOM = 14.0
"""Side in mm of the square kept free in every corner for a registration mark."""


EASE = 0.01
"""Share of an irregular sheet's length by which a card is smaller than the largest box in it:
cards are laid there on a grid, whose cells are a third of that.
"""

_FAR = 1e6  # mm: beyond any sheet
CLEAR = 1.5
"""mm that a card is kept from a joint of pages that it needn't cross."""

PLAY = 5.0
"""mm by which a sheet as large as the bed may be misplaced and still be worked by its marks."""


@dataclass(frozen=True, slots=True, eq=False)
class PageGrid:
    """How pages that a sheet is printed on lie under it, from its 0, 0.

    pitch: from a page to the next, across and up; inset: where the first page's cell begins; of
    what is sent, mm. sends: the (2, 3) map from the sheet to what is sent. shared: how far a page
    shows its neighbours' cells, before and beyond its own, mm.
    """

    pitch: tuple[float, float]
    inset: tuple[float, float]
    sends: FloatArray
    shared: tuple[float, float] = (0.0, 0.0)

    def edge(self, cell: NDArray[np.int64], axis: int) -> FloatArray:
        """Return where cells begin, mm sent."""
        return np.asarray(cell * self.pitch[axis] + self.inset[axis])

    def cells(self, at: FloatArray, axis: int) -> NDArray[np.int64]:
        """Return in which cells along an axis places lie, (n,), mm sent."""
        return np.maximum(np.floor((at - self.inset[axis]) / self.pitch[axis]), 0.0).astype(
            np.int64
        )

    def cell(self, at: float, axis: int) -> int:
        """Return in which cell along an axis a place lies, mm sent."""
        return int(self.cells(np.array([at]), axis)[0])

    def lines(self, end: float, axis: int) -> FloatArray:
        """Return where all cells up to a place begin, and where the last one ends, mm sent."""
        many = self.cell(end, axis) + 2
        return np.append(-_FAR, self.edge(np.arange(1, many + 1), axis))

    def _begin(self, cell: int, axis: int) -> float:
        """Return where a cell begins, mm sent; the first one holds all that lies before it."""
        return float(self.edge(np.array(cell), axis)) if cell else -_FAR

    def edges(self, end: float, axis: int) -> FloatArray:
        """Return where joints of pages lie on the sheet up to `end`, mm, but for any lean."""
        scale = 1.0 / float(self.sends[axis, axis])
        many = self.cell(end / scale, axis) + 1
        return self.edge(np.arange(1, many + 1), axis) * scale

    def corner_of(self, corner: tuple[float, float], size: tuple[float, float]) -> FloatArray:
        """Return the lower left on the sheet of the cell in which a card's bounds begin, mm.

        If they begin in what the page shows before its cell, that begins there. Where pages lean,
        that of the narrowest part of it beside the card.
        """
        low, before = np.array(corner), self.shared[0]
        ends = np.array([low, np.add(low, (0.0, size[1]))]) @ self.sends[:, :2].T
        begins = []
        for axis in (0, 1):
            at = float(ends[0, axis])
            slack = at - self._begin(self.cell(at + before + 1e-6, axis), axis)
            slack += before if slack < 0.0 else 0.0
            slack -= max(0.0, at - float(ends[:, axis].min()))
            begins.append(low[axis] - max(0.0, slack - CLEAR) / float(self.sends[axis, axis]))
        return np.array(begins)


@dataclass(frozen=True, slots=True, eq=False)
class StockSheet:
    """One kind of sheet, an off-cut, or a roll. mm, x along its length.

    count: how many there are, None for any number. margins: what the tool can't reach, or is kept
    free for folding over and taking up (left, bottom, right, top). outline: closed (n, 2) within
    0, 0 to length, width if it is not a rectangle. grain: "length" or "width" if cards must hang
    along it. roll: `length` is only the most that is used. window: how much of a roll is worked
    before it is advanced; even: by exactly that much, by the machine. nap: everything lies in one
    direction. lean: degrees by which a card may lie off its grain. off_cut: it is left from earlier
    work, and used up where that saves sheets.
    """

    name: str
    length: float
    width: float
    count: int | None = None
    margins: Sides = (0.0, 0.0, 0.0, 0.0)
    outline: FloatArray | None = None
    grain: str = ""
    roll: bool = False
    window: float | None = None
    even: bool = False
    nap: bool = False
    lean: float = 0.0
    pages: tuple[PageGrid, ...] = ()
    off_cut: bool = False

    @property
    def inner(self) -> Sides:
        """Where cards may lie: left, bottom, right, top, mm."""
        left, bottom, right, top = self.margins
        return left, bottom, self.length - right, self.width - top

    @property
    def room(self) -> tuple[float, float]:
        """Length and width of the area where cards may lie, mm."""
        left, bottom, right, top = self.inner
        return right - left, top - bottom

    @property
    def free(self) -> BaseGeometry:
        """Where cards may lie."""
        box = shapely.box(*self.inner)
        if self.outline is None:
            return box
        return buffered(Polygon(self.outline), -max(self.margins), join_style="mitre") & box

    @property
    def angles(self) -> tuple[float, ...]:
        """The angles to which a card, upright as it hangs, may be turned, degrees."""
        turns = {"": (0.0, 90.0, 180.0, 270.0), "length": (90.0, 270.0), "width": (0.0, 180.0)}
        angles = turns[self.grain][:1] if self.nap else turns[self.grain]
        leans = (0.0, self.lean, -self.lean) if self.lean else (0.0,)
        return tuple((angle + lean) % 360.0 for angle in angles for lean in leans)


@dataclass(frozen=True, slots=True, eq=False)
class Stock:
    """All available stock. inside: small cards may lie in the cut-outs of larger ones.

    registration: marks are drawn in the corners of every sheet. main: the kind that pieces are
    split to fit; None: the most plentiful, which will be used. unfit: what of it the machine can't
    hold, in words.
    """

    sheets: tuple[StockSheet, ...]
    registration: bool = False
    inside: bool = False
    main: StockSheet | None = None
    unfit: tuple[str, ...] = ()

    @property
    def window(self) -> tuple[float, float]:
        """Width and height in mm of the largest card that the main kind of sheet holds.

        In either orientation unless `upright`.
        """
        length, width = self._main.room
        if self.registration:
            length -= 2.0 * MARK_ROOM
        return (width, length) if self._main.grain == "length" else (length, width)

    @property
    def upright(self) -> bool:
        """Whether cards may not be turned by 90 degrees on the sheets that pieces are split for."""
        return bool(self._main.grain)

    @property
    def split_choices(self) -> tuple[Stock, ...]:
        """The same stock with every kind in turn as the one that pieces are split for.

        The most plentiful, which will be used, comes first; of several, the largest.
        """
        ranked = sorted(self.sheets, key=_plenty, reverse=True)
        kinds = {(sheet.room, sheet.grain): sheet for sheet in reversed(ranked)}
        return tuple(replace(self, main=sheet) for sheet in ranked if sheet in kinds.values())

    def other_split_choices(self) -> Iterator[Stock]:
        """Give the choices for less than a whole kind, where none of `split_choices` will do.

        For the largest rectangle in every irregular kind, and for what every kind holds.
        """
        rooms = []
        for sheet in sorted(self.sheets, key=_plenty, reverse=True):
            room = sheet.room
            if sheet.outline is not None:
                low, high = largest_box(sheet.free)
                ease = EASE * max(room)
                room = (float(high[0] - low[0]) - ease, float(high[1] - low[1]) - ease)
                if min(room) <= 0.0:
                    continue
                yield self._split_for(room, sheet)
            rooms.append(sorted(room))
        if len(rooms) > 1:
            least = min(room[1] for room in rooms), min(room[0] for room in rooms)
            yield self._split_for(least, replace(self._main, grain=""))

    def _split_for(self, room: tuple[float, float], like: StockSheet) -> Stock:
        length, width = room
        none = (0.0, 0.0, 0.0, 0.0)
        cut = replace(like, length=length, width=width, margins=none, outline=None, roll=False)
        return replace(self, main=cut)

    @property
    def _main(self) -> StockSheet:
        return self.main or max(self.sheets, key=_plenty)

    def kind_of(self, sheet: Sheet) -> StockSheet:
        """Return the kind of a sheet. Raises UserError when it is not in the stock."""
        for kind in self.sheets:
            if (kind.name, kind.width) == (sheet.stock, sheet.height):
                return kind
        raise UserError(
            f"sheet {sheet.number} was cut from '{sheet.stock}', which is not in the stock",
            fix=nearest(sheet.stock, (kind.name for kind in self.sheets)),
        )


def _plenty(sheet: StockSheet) -> tuple[float, float]:
    """Return the total area of a kind, mm2, and the area of one sheet."""
    one = float(sheet.free.area)
    count = math.inf if sheet.count is None or sheet.roll else float(sheet.count)
    return count * one if count else 0.0, one


def stock_for(machine: Machine) -> Stock:
    """Return the stock that a machine's bed implies: sheets of its size, or its roll.

    Raises UserError when its margins leave nothing.
    """
    bed = machine.bed
    sheet = StockSheet(
        name=machine.own_stock,
        length=bed.length,
        width=bed.width,
        margins=margins_for(machine, bed.length, bed.width),
        roll=bed.roll,
        window=window_of(machine, bed.window),
        even=bed.advance == AUTOMATIC,
    )
    return Stock((checked(sheet),), registration=machine.registration)


def window_of(machine: Machine, window: float | None) -> float | None:
    """Return the greatest length of a frame, true mm, in the machine's window; None without one.

    If paper is advanced by hand, room for the tools' motion is left at both ends.
    """
    if window is None:
        return None
    spare = 0.0 if machine.bed.advance == AUTOMATIC else 2.0 * machine.reach
    return (window - spare) * machine.calibration.scale_x


def margins_for(machine: Machine, length: float, width: float) -> Sides:
    """Return how far cards must keep from a sheet's edges, mm, so that no motion leaves the bed.

    That is the bed's own margins and how far the tools' motion lies off the cards' lines, both kept
    on the sheet as it is and in what is sent to the machine. A sheet of `length` by `width` mm that
    fills the bed of a machine with registration may then still lie a little off, and be worked by
    its marks.
    """
    bed = machine.bed
    play = [max(0.0, PLAY - side / 2.0) for side in (bed.length - length, bed.width - width)]
    left, bottom, right, top = (
        side + machine.reach + (room if machine.registration else 0.0)
        for side, room in zip(bed.margins, play * 2, strict=True)
    )
    (x, lean), (_, y) = distortion(machine.calibration)[:, :2].tolist()
    low, high = max(bottom, y * bottom), min(width - top, y * (width - top))
    leans = (low * lean / y, high * lean / y)
    begin = max(left, x * left + max(leans))
    end = min(length - right, x * (length - right) + min(leans))
    return begin, low, length - end, width - high


def checked(sheet: StockSheet) -> StockSheet:
    """Return the sheet if it has room for anything. Raises UserError saying what to change."""
    if not min(sheet.length, sheet.width) > 0.0:
        raise UserError(
            f"{sheet.name}: {sheet.length:g} x {sheet.width:g} mm is not a size",
            fix="Give it a length and a width in mm.",
        )
    if min(sheet.margins) < 0.0:
        raise UserError(f"{sheet.name}: a margin can't be negative", fix="Write 0 or more.")
    if min(sheet.room) <= 0.0 or sheet.free.is_empty:
        raise UserError(
            f"{sheet.name}: {sheet.length:g} x {sheet.width:g} mm is smaller than its margins",
            fix="Reduce the margins, or use a larger sheet.",
        )
    return sheet
