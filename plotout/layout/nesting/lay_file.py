"""A lay kept in a file, so that it can be repeated exactly.

JSON, as written by `as_text`: which card lies where on which sheet of which stock, in mm and
degrees, with every number at full precision.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from plotout.errors import Place, UserError
from plotout.geometry import polyline
from plotout.geometry.strokes import FloatArray
from plotout.layout.nesting.laid import Laid, SplitBy
from plotout.layout.nesting.lay_model import FORM, LayFile, SheetInFile, StockInFile
from plotout.layout.registration.corner_marks import crosses, middles
from plotout.layout.stock.model import StockSheet
from plotout.model import Card, Placed, Sheet
from plotout.tables import read, read_json

_SAME = 0.05  # mm by which the size of an unchanged card may differ
Size = tuple[float, float, float]
"""Width, height and length of the outline of a card, mm."""


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a card lies, as in `model.Placed`, and its size."""

    card: str
    angle: float
    shift: tuple[float, float]
    size: Size

    def holds(self, card: Card) -> bool:
        """Return whether this is the card's place, and its size is unchanged."""
        if card.id != self.card:
            return False
        pairs = zip(self.size, size_of(card), strict=True)
        return all(abs(one - other) <= _SAME for one, other in pairs)


def size_of(card: Card) -> Size:
    """Return the size by which a card is recognised."""
    wide, tall = np.ptp(card.outline, axis=0)
    return float(wide), float(tall), float(polyline.length(card.outline))


@dataclass(frozen=True, slots=True, eq=False)
class KeptSheet:
    """A sheet of a kept lay. marks: centres of its registration marks, (n, 2), mm."""

    number: int
    width: float
    height: float
    kind: StockSheet
    marks: FloatArray
    spots: tuple[Spot, ...]

    def must_bear(self, meant: FloatArray) -> None:
        """Raise UserError if the sheet has marks and these, (n, 2), mm, are not among them."""
        if not len(self.marks):
            return
        apart = np.linalg.norm(meant[:, None] - self.marks[None], axis=2).min(axis=1)
        if apart.max() > _SAME:
            x, y = meant[int(np.argmax(apart))]
            raise UserError(
                f"sheet {self.number} of the lay has no mark at x {x:g}, y {y:g} mm",
                fix="Measure the marks on this sheet: these belong to another lay or sheet.",
            )

    def sheet(self, cards: Mapping[str, Card]) -> Sheet:
        """Return the sheet with its cards that are among `cards`, by id."""
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
    """A kept lay. gap: between cards, mm. window, upright: of its stock. file: it was read from."""

    style: str
    size: str
    gap: float
    window: tuple[float, float]
    upright: bool
    sheets: tuple[KeptSheet, ...]
    file: Path | None = None

    def must_be_of(self, style: str, size: str) -> None:
        """Raise UserError for the lay of another set."""
        if (self.style, self.size) != (style, size):
            own, wanted = _named(self.style, self.size), _named(style, size)
            raise UserError(
                f"the lay is of {own}, not of {wanted}",
                fix="Give the lay file that was written when this set was made.",
                place=Place(file=self.file),
            )

    def numbered(self, number: int) -> KeptSheet:
        """Return one sheet. Raises UserError when there is none of that number."""
        for sheet in self.sheets:
            if sheet.number == number:
                return sheet
        there = ", ".join(str(sheet.number) for sheet in self.sheets)
        place = Place(file=self.file)
        raise UserError(f"the lay has no sheet {number}", fix=f"It has: {there}.", place=place)


def _named(style: str, size: str) -> str:
    return f"style {style}, size {size}" if size else f"style {style} without sizes"


def kept(laid: Laid, *, style: str, size: str) -> KeptLay:
    """Return a lay of the set of this style and size, ready to be kept."""
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
    """Read a kept lay. Raises UserError with all its faults and their lines."""
    fix = "Give the -lay.json file that 'plotout make' wrote."
    lay = read(LayFile, read_json(path, "kept lay", fix))
    sheets = tuple(_sheet_of(sheet) for sheet in lay.sheets)
    return KeptLay(lay.style, lay.size, lay.gap, lay.window, lay.upright, sheets, path)


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


def _sheet_of(entry: SheetInFile) -> KeptSheet:
    spots = (Spot(card.id, card.angle, card.shift, card.size) for card in entry.cards)
    marks = np.array(entry.marks, dtype=np.float64).reshape(-1, 2)
    kind = _kind_of(entry.stock)
    return KeptSheet(entry.number, entry.width, entry.height, kind, marks, tuple(spots))


def _kind_of(entry: StockInFile) -> StockSheet:
    return StockSheet(
        entry.name,
        entry.length,
        entry.width,
        margins=entry.margins,
        outline=np.array(entry.outline, dtype=np.float64) if entry.outline else None,
        grain=entry.grain,
        roll=entry.roll,
        window=entry.window,
        even=entry.even,
        nap=entry.nap,
        lean=entry.lean,
    )
