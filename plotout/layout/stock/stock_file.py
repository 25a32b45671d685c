"""The stock file: what card and paper there is, written by hand in TOML.

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

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from plotout.errors import Place, UserError
from plotout.layout.stock.model import Sides, Stock, StockSheet, checked, margins_for, window_of
from plotout.machine import AUTOMATIC, Machine
from plotout.pattern.fields import one_of
from plotout.pattern.toml_lines import lines_of
from plotout.pattern.values import (
    FLAG,
    LENGTH,
    NAME,
    POINT,
    At,
    Field,
    Kind,
    Source,
    count,
    either,
    length,
    many,
    table,
)

MOST_LENGTH = 200_000.0  # mm: the longest rolls that are sold are some 100 m; common practice
_SIDE = length(0.0, MOST_LENGTH, above=True)
_MARGINS = either(
    lambda value: isinstance(value, list),
    many(LENGTH, least=4, most=4),
    Kind(lambda at: (LENGTH.read(at),) * 4, LENGTH.schema),
)
_COMMON = {
    "name": Field(NAME, "What you call it.", needed=True),
    "margins": Field(_MARGINS, "Kept free: one length, or [left, bottom, right, top]."),
    "grain": Field(one_of("length", "width"), "Cards hang along it."),
}


def _sheet(at: At, got: dict[str, Any]) -> StockSheet:
    sheet = StockSheet(
        got["name"],
        got["length"],
        got["width"],
        got.get("count"),
        got.get("margins", (0.0,) * 4),
        grain=got.get("grain", ""),
    )
    return _good(at, sheet)


def _off_cut(at: At, got: dict[str, Any]) -> StockSheet:
    points = np.array(got["outline"], dtype=np.float64)
    points = points - points.min(axis=0)
    ring = np.vstack([points, points[:1]])
    shape = shapely.Polygon(ring)
    if not shape.is_valid or shape.area < 1.0:
        raise at.wrong(
            f"the outline of '{got['name']}' crosses itself or has no area",
            "Give its corners in order, in mm.",
        )
    long, wide = points.max(axis=0)
    sheet = StockSheet(
        got["name"],
        float(long),
        float(wide),
        got.get("count", 1),
        got.get("margins", (0.0,) * 4),
        outline=ring,
        grain=got.get("grain", ""),
    )
    return _good(at, sheet)


def _roll(at: At, got: dict[str, Any]) -> StockSheet:
    left, bottom, right, top = got.get("margins", (0.0,) * 4)
    margins: Sides = (left + got.get("fold", 0.0), bottom, right + got.get("take-up", 0.0), top)
    sheet = StockSheet(
        got["name"],
        got["longest"],
        got["width"],
        got.get("count"),
        margins,
        grain=got.get("grain", ""),
        roll=True,
        window=got.get("window"),
    )
    return _good(at, sheet)


def _good(at: At, sheet: StockSheet) -> StockSheet:
    try:
        return checked(sheet)
    except UserError as fault:
        raise at.wrong(fault.problem, fault.fix) from None


_FILE = table(
    {
        "inside-cut-outs": Field(FLAG, "Small cards may lie in what is cut out of large ones."),
        "sheet": Field(
            many(
                table(
                    {
                        **_COMMON,
                        "length": Field(_SIDE, "Its long side.", needed=True),
                        "width": Field(_SIDE, "Its other side.", needed=True),
                        "count": Field(count(10_000), "How many; left out, any number."),
                    },
                    _sheet,
                )
            ),
            "Sheets of one size.",
        ),
        "off-cut": Field(
            many(
                table(
                    {
                        **_COMMON,
                        "outline": Field(many(POINT, least=3), "Its corners.", needed=True),
                        "count": Field(count(10_000), "How many; left out, one."),
                    },
                    _off_cut,
                )
            ),
            "What was left over.",
        ),
        "roll": Field(
            many(
                table(
                    {
                        **_COMMON,
                        "width": Field(_SIDE, "Across the roll.", needed=True),
                        "longest": Field(_SIDE, "The most of it to use at a time.", needed=True),
                        "count": Field(count(10_000), "How many such lengths; any number."),
                        "fold": Field(LENGTH, "Kept free at the beginning."),
                        "take-up": Field(LENGTH, "Kept free at the end."),
                        "window": Field(_SIDE, "SheetResult at a time, before paper is advanced."),
                    },
                    _roll,
                )
            ),
            "Paper or card on a roll.",
        ),
    },
    lambda _at, got: got,
)


def load_stock(path: Path) -> Stock:
    """Read a stock file. Raises UserError with file and line for what it can't hold."""
    try:
        text = path.read_text(encoding="utf-8")
        data = tomllib.loads(text)
    except OSError as fault:
        raise UserError(f"can't read the stock file: {fault.strerror}", place=Place(path)) from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as fault:
        raise UserError(f"this is not TOML: {fault}", place=Place(path)) from None
    top = At(data, (), Source(path, lines_of(text)))
    got: dict[str, Any] = _FILE.read(top)
    sheets = (*got.get("sheet", ()), *got.get("off-cut", ()), *got.get("roll", ()))
    if not sheets:
        raise UserError(
            "there is no stock in it",
            fix="Add a [[sheet]], an [[off-cut]] or a [[roll]].",
            place=Place(path),
        )
    return Stock(sheets, inside=got.get("inside-cut-outs", False))


def stock_on(stock: Stock, machine: Machine) -> Stock:
    """Return the stock as it can be worked on a machine: its margins and marks are the machine's.

    Raises UserError for a sheet that is larger than the bed.
    """
    return replace(
        stock,
        sheets=tuple(_on_bed(sheet, machine) for sheet in stock.sheets),
        registration=machine.registration,
    )


def _on_bed(sheet: StockSheet, machine: Machine) -> StockSheet:
    bed = machine.bed
    longest = min(sheet.length, bed.length) if sheet.roll else sheet.length
    over = {"length": longest - bed.length, "width": sheet.width - bed.width}
    for side, much in over.items():
        if much > 1e-6:
            raise UserError(
                f"{sheet.name} is {much:.1f} mm too large in {side} for {machine.title}",
                fix="Cut it down, or turn it: length runs along the machine's feed.",
            )
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
    """Return the window in which a sheet is worked. Raises UserError for one that can't be had."""
    own = machine.bed.window
    if machine.bed.advance == AUTOMATIC and sheet.window not in (None, own):
        raise UserError(
            f"{sheet.name}: {machine.title} advances the roll by {own:g} mm each time, not by "
            f"{sheet.window:g} mm",
            fix="Leave its window out.",
        )
    windows = [each for each in (own, sheet.window) if each is not None]
    return window_of(machine, min(windows, default=None))
