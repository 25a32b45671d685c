"""A lay kept in a file, so that it can be laid exactly so again.

JSON, as `as_text` writes it: which card lies where on which sheet of which stock, in mm and
degrees, every number as exact as it was.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from plotout.errors import Place, UserError
from plotout.geometry import polyline
from plotout.geometry.strokes import FloatArray
from plotout.layout.nesting.laid import Laid, SplitBy
from plotout.layout.registration.corner_marks import crosses, middles
from plotout.layout.stock.model import StockSheet
from plotout.model import Card, Placed, Sheet

FORM = 1
"""Number of the file's form; another is refused."""

_SAME = 0.05  # mm that a card's size may differ by and it is still the same card
Size = tuple[float, float, float]
"""Width, height and length of the outline of a card, mm."""


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a card lies, as of `flow.Placed`, and how large it is."""

    card: str
    angle: float
    shift: tuple[float, float]
    size: Size

    def holds(self, card: Card) -> bool:
        """True when this is the card's place, and it is still of the size that it was."""
        if card.id != self.card:
            return False
        pairs = zip(self.size, size_of(card), strict=True)
        return all(abs(one - other) <= _SAME for one, other in pairs)


def size_of(card: Card) -> Size:
    """Return the size by which a card is known again."""
    wide, tall = np.ptp(card.outline, axis=0)
    return float(wide), float(tall), float(polyline.length(card.outline))


@dataclass(frozen=True, slots=True, eq=False)
class KeptSheet:
    """One sheet of a kept lay. marks: middles of its registration marks, (n, 2), mm."""

    number: int
    width: float
    height: float
    kind: StockSheet
    marks: FloatArray
    spots: tuple[Spot, ...]

    def must_bear(self, meant: FloatArray) -> None:
        """Raise UserError for marks, (n, 2), mm, that are not this sheet's, if it has any."""
        if not len(self.marks):
            return
        apart = np.linalg.norm(meant[:, None] - self.marks[None], axis=2).min(axis=1)
        if apart.max() > _SAME:
            x, y = meant[int(np.argmax(apart))]
            raise UserError(
                f"sheet {self.number} of the lay has no mark at x {x:g}, y {y:g} mm",
                fix="The marks are those of another lay or sheet: measure them on this one.",
            )

    def sheet(self, cards: Mapping[str, Card]) -> Sheet:
        """Return the sheet with those of its cards that are among `cards`, by their ids."""
        placed = [
            Placed(cards[spot.card], spot.angle, spot.shift)
            for spot in self.spots
            if spot.card in cards
        ]
        return Sheet(
            name=f"sheet {self.number}",
            number=self.number,
            width=self.width,
            height=self.height,
            placed=tuple(placed),
            marks=crosses(self.marks),
            stock=self.kind.name,
            outline=self.kind.outline,
        )


@dataclass(frozen=True, slots=True, eq=False)
class KeptLay:
    """A kept lay. gap: between cards, mm. window, upright: of the stock that it was made for."""

    style: str
    size: str
    gap: float
    window: tuple[float, float]
    upright: bool
    sheets: tuple[KeptSheet, ...]

    def must_be_of(self, style: str, size: str) -> None:
        """Raise UserError when it is the lay of another set."""
        if (self.style, self.size) != (style, size):
            raise UserError(
                f"the lay is of style {self.style}, size {self.size}, not of style {style}, "
                f"size {size}",
                fix="Give the lay that was kept when this set was made.",
            )

    def numbered(self, number: int) -> KeptSheet:
        """Return one sheet. Raises UserError when there is none of that number."""
        for sheet in self.sheets:
            if sheet.number == number:
                return sheet
        there = ", ".join(str(sheet.number) for sheet in self.sheets)
        raise UserError(f"the lay has no sheet {number}", fix=f"It has: {there}.")


def kept(laid: Laid, *, style: str, size: str) -> KeptLay:
    """Return a lay of the set of this style and size as it is to be kept."""
    split = laid.split or SplitBy(laid.stock.window, laid.stock.upright)
    sheets = tuple(
        KeptSheet(
            sheet.number,
            sheet.width,
            sheet.height,
            laid.stock.kind_of(sheet),
            middles(sheet.marks),
            tuple(
                Spot(placed.card.id, placed.angle, placed.shift, size_of(placed.card))
                for placed in sheet.placed
            ),
        )
        for sheet in laid.sheets
    )
    return KeptLay(style, size, float(laid.gap), split.window, split.upright, sheets)


def as_text(lay: KeptLay) -> str:
    """Return the lay as the text of a file."""
    data = {
        "plotout-lay": FORM,
        "style": lay.style,
        "size": lay.size,
        "gap": lay.gap,
        "window": lay.window,
        "upright": lay.upright,
        "sheets": [_sheet_data(sheet) for sheet in lay.sheets],
    }
    return json.dumps(data, indent=1, ensure_ascii=False) + "\n"


def load_lay(path: Path) -> KeptLay:
    """Read a kept lay. Raises UserError for a file that is none."""
    try:
        data = json.loads(path.read_text(encoding="utf-8"), parse_constant=_no_number)
        if data["plotout-lay"] != FORM:
            raise ValueError(f"its form is {data['plotout-lay']!r}, not {FORM}")
        return KeptLay(
            str(data["style"]),
            str(data["size"]),
            _number(data["gap"]),
            _pair(data["window"]),
            bool(data["upright"]),
            tuple(_sheet_read(sheet) for sheet in data["sheets"]),
        )
    except OSError as fault:
        raise UserError(f"can't read the lay: {fault.strerror}", place=Place(path)) from None
    except (KeyError, TypeError, ValueError, IndexError, AttributeError) as fault:
        raise UserError(
            f"this is no lay that plotout kept: {fault}",
            fix="Give the file ending in -lay.json that 'plotout make' wrote.",
            place=Place(path),
        ) from None


def _sheet_data(sheet: KeptSheet) -> dict[str, Any]:
    kind = sheet.kind
    return {
        "number": sheet.number,
        "width": sheet.width,
        "height": sheet.height,
        "stock": {
            "name": kind.name,
            "length": kind.length,
            "width": kind.width,
            "margins": kind.margins,
            "outline": None if kind.outline is None else kind.outline.tolist(),
            "grain": kind.grain,
            "roll": kind.roll,
            "window": kind.window,
            "even": kind.even,
            "nap": kind.nap,
            "lean": kind.lean,
        },
        "marks": sheet.marks.tolist(),
        "cards": [
            {"id": spot.card, "angle": spot.angle, "shift": spot.shift, "size": spot.size}
            for spot in sheet.spots
        ],
    }


def _sheet_read(data: Mapping[str, Any]) -> KeptSheet:
    return KeptSheet(
        int(data["number"]),
        _number(data["width"]),
        _number(data["height"]),
        _kind_read(data["stock"]),
        _points(data["marks"]),
        tuple(_spot_read(card) for card in data["cards"]),
    )


def _spot_read(data: Mapping[str, Any]) -> Spot:
    wide, tall, around = map(_number, data["size"])
    angle, shift = _number(data["angle"]), _pair(data["shift"])
    return Spot(str(data["id"]), angle, shift, (wide, tall, around))


def _kind_read(data: Mapping[str, Any]) -> StockSheet:
    left, bottom, right, top = map(_number, data["margins"])
    if data["grain"] not in ("", "length", "width"):
        raise ValueError(f"grain {data['grain']!r}")
    return StockSheet(
        str(data["name"]),
        _number(data["length"]),
        _number(data["width"]),
        margins=(left, bottom, right, top),
        outline=None if data["outline"] is None else _points(data["outline"]),
        grain=data["grain"],
        roll=bool(data["roll"]),
        window=None if data["window"] is None else _number(data["window"]),
        even=bool(data.get("even", False)),
        nap=bool(data["nap"]),
        lean=_number(data["lean"]),
    )


def _number(value: Any) -> float:
    number = float(value)
    if not math.isfinite(number):
        raise ValueError(f"{value!r} is no number")
    return number


def _pair(value: Any) -> tuple[float, float]:
    x, y = map(_number, value)
    return x, y


def _points(value: Any) -> FloatArray:
    return np.array([_pair(pair) for pair in value], dtype=np.float64).reshape(-1, 2)


def _no_number(name: str) -> float:
    raise ValueError(f"{name} is no number")
