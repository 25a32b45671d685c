"""The stock file: the available card and paper, written by hand in TOML.

[[sheet]]
name = "brown card"
length = "36 in"
width = "24 in"
count = 4

[[off-cut]]
name = "left from BK-01"
outline = [[0, 0], [400, 0], [400, 180], [0, 300]]

[[roll]]
name = "plotter paper"
width = "610 mm"
longest = "20 m"
fold = "50 mm"       # kept free at its beginning, to fold over
take-up = "150 mm"   # and at its end, to wind on
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated, ClassVar

import shapely

from plotout.errors import UserError
from plotout.geometry.strokes import FloatArray
from plotout.layout.stock.model import Sides, Stock, StockSheet, checked, margins_for, window_of
from plotout.machine import AUTOMATIC, Machine
from plotout.pattern.kinds import Points
from plotout.tables import (
    Choice,
    Count,
    Fault,
    Flag,
    Length,
    ListOf,
    Many,
    Name,
    read,
    read_toml,
    table,
)

MOST_LENGTH = 200_000.0  # mm: the longest rolls sold are some 100 m; common practice
MOST_COUNT = 10_000


def _side(says: str, example: str) -> Length:
    return Length(says, 0.0, MOST_LENGTH, above=True, example=example)


@table
@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Common:
    """The fields of every kind of stock."""

    name: Annotated[str, Name("Your name for it.", example='"brown card"')]
    margins: Annotated[
        Sides,
        ListOf(
            "Margins kept free: one length, or [left, bottom, right, top].",
            of=Length(),
            least=4,
            most=4,
            spread=True,
        ),
    ] = (0.0, 0.0, 0.0, 0.0)
    grain: Annotated[str, Choice("The side along which cards hang.", ("length", "width"))] = ""

    def stock(self) -> StockSheet:
        """Return it as stock. Raises UserError when it has no room for anything."""
        raise NotImplementedError

    def wrong(self) -> Iterator[Fault]:
        """Give the contradictions between its fields."""
        try:
            checked(self.stock())
        except UserError as fault:
            yield Fault((), fault.problem, fault.fix)


@table
@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetOfStock(_Common):
    """`[[sheet]]`: sheets of one size."""

    length: Annotated[float, _side("Its long side.", '"36 in"')]
    width: Annotated[float, _side("Its other side.", '"24 in"')]
    count: Annotated[
        int | None, Count("Number of sheets; any number by default.", 1, MOST_COUNT)
    ] = None

    def stock(self) -> StockSheet:
        """See _Common."""
        return StockSheet(
            self.name, self.length, self.width, self.count, self.margins, grain=self.grain
        )


@table
@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OffCut(_Common):
    """`[[off-cut]]`: an off-cut of any shape."""

    outline: Annotated[
        FloatArray,
        Points("Its corners, in order.", least=3, example="[[0, 0], [400, 0], [0, 300]]"),
    ]
    count: Annotated[int, Count("Number of such off-cuts.", 1, MOST_COUNT)] = 1

    def wrong(self) -> Iterator[Fault]:
        """See _Common."""
        shape = shapely.Polygon(self.outline)
        if not shape.is_valid or shape.area < 1.0:
            yield Fault(
                (),
                f"the outline of '{self.name}' crosses itself or has no area",
                "Give its corners in order, in mm.",
            )
            return
        yield from super(OffCut, self).wrong()

    def stock(self) -> StockSheet:
        """See _Common."""
        points = self.outline - self.outline.min(axis=0)
        long, wide = points.max(axis=0)
        return StockSheet(
            self.name,
            float(long),
            float(wide),
            self.count,
            self.margins,
            outline=points[[*range(len(points)), 0]],
            grain=self.grain,
            off_cut=True,
        )


@table
@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Roll(_Common):
    """`[[roll]]`: paper or card on a roll."""

    width: Annotated[float, _side("Width of the roll.", '"610 mm"')]
    longest: Annotated[float, _side("Greatest length to use at a time.", '"20 m"')]
    count: Annotated[
        int | None, Count("Number of such lengths; any number by default.", 1, MOST_COUNT)
    ] = None
    fold: Annotated[float, Length("Length kept free at the beginning.", example='"50 mm"')] = 0.0
    take_up: Annotated[float, Length("Length kept free at the end.", example='"150 mm"')] = 0.0
    window: Annotated[
        float | None, _side("Length worked at a time, before the paper is advanced.", '"900 mm"')
    ] = None

    def stock(self) -> StockSheet:
        """See _Common."""
        left, bottom, right, top = self.margins
        return StockSheet(
            self.name,
            self.longest,
            self.width,
            self.count,
            (left + self.fold, bottom, right + self.take_up, top),
            grain=self.grain,
            roll=True,
            window=self.window,
        )


@table
@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StockFile:
    """A stock file."""

    at_least_one_of: ClassVar = ("sheet", "off-cut", "roll")

    inside: Annotated[
        bool,
        Flag("Small cards may lie in the cut-outs of large ones.", key="inside-cut-outs"),
    ] = False
    sheets: Annotated[tuple[SheetOfStock, ...], Many("Sheets of one size.", key="sheet")] = ()
    off_cuts: Annotated[tuple[OffCut, ...], Many("Off-cuts.", key="off-cut")] = ()
    rolls: Annotated[tuple[Roll, ...], Many("Paper or card on a roll.", key="roll")] = ()

    def wrong(self) -> Iterator[Fault]:
        """Give the contradictions between its fields."""
        if not (self.sheets or self.off_cuts or self.rolls):
            yield Fault(
                (), "there is no stock in it", "Add a [[sheet]], an [[off-cut]] or a [[roll]]."
            )


def load_stock(path: Path) -> Stock:
    """Read a stock file. Raises UserError with file and line for all its faults."""
    kinds = StockFile.at_least_one_of
    source = read_toml(path, "stock file", tables=kinds, several=kinds)
    stock = read(StockFile, source)
    sheets = (sheet.stock() for sheet in (*stock.sheets, *stock.off_cuts, *stock.rolls))
    return Stock(tuple(sheets), inside=stock.inside)


def stock_on(stock: Stock, machine: Machine) -> Stock:
    """Return the stock for a machine, with the machine's margins and marks.

    Sheets larger than the bed are left out, and named in `unfit`. Raises UserError when that is
    all of the stock.
    """
    unfit = {sheet.name: _too_large(sheet, machine) for sheet in stock.sheets}
    fitting = [sheet for sheet in stock.sheets if not unfit[sheet.name]]
    if not fitting:
        raise UserError(next(iter(unfit.values())), fix=_smaller(stock.sheets[0], machine))
    return replace(
        stock,
        sheets=tuple(_on_bed(sheet, machine) for sheet in fitting),
        registration=machine.registration,
        unfit=tuple(text for text in unfit.values() if text),
    )


def _longest(sheet: StockSheet, machine: Machine) -> float:
    return min(sheet.length, machine.bed.length) if sheet.roll else sheet.length


def _too_large(sheet: StockSheet, machine: Machine) -> str:
    """Say by how much a sheet is larger than the bed, "" when it isn't."""
    over = {
        "length": _longest(sheet, machine) - machine.bed.length,
        "width": sheet.width - machine.bed.width,
    }
    for side, much in over.items():
        if much > 1e-6:
            return f"{sheet.name} is {much:.1f} mm too large in {side} for {machine.title}"
    return ""


def _smaller(sheet: StockSheet, machine: Machine) -> str:
    """Say what to do with a sheet that is too large."""
    bed = machine.bed
    if not sheet.roll and sheet.width <= bed.length and sheet.length <= bed.width:
        return "Turn it: length runs along the machine's feed."
    return "Cut it down."


def _on_bed(sheet: StockSheet, machine: Machine) -> StockSheet:
    bed, longest = machine.bed, _longest(sheet, machine)
    left, bottom, right, top = map(max, sheet.margins, margins_for(machine, longest, sheet.width))
    return checked(
        replace(
            sheet,
            length=longest,
            margins=(left, bottom, right, top),
            window=_window(sheet, machine),
            even=bed.advance == AUTOMATIC,
        )
    )


def _window(sheet: StockSheet, machine: Machine) -> float | None:
    """Return the window in which a sheet is worked. Raises UserError for an impossible one."""
    own = machine.bed.window
    if machine.bed.advance == AUTOMATIC and sheet.window not in (None, own):
        raise UserError(
            f"{sheet.name}: {machine.title} advances the roll by {own:g} mm at a time, not by "
            f"{sheet.window:g} mm",
            fix="Leave out its window.",
        )
    windows = [window for window in (own, sheet.window) if window is not None]
    return window_of(machine, min(windows, default=None))
