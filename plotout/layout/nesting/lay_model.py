"""Models of the file of a kept lay. Numbers are mm and degrees."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated

from plotout.tables import Choice, Count, Fault, Flag, Inner, ListOf, Many, Number, Words, table

FORM = 1
"""The file format's number; others are refused."""

_PLACE = Number("", -1e6, 1e6)
_PAIR = ListOf("", of=_PLACE, least=2, most=2)
XY = tuple[float, float]


def _side(says: str) -> Number:
    return Number(says, 0.0, 1e6, above=True)


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class CardInFile:
    """A card's place."""

    id: Annotated[str, Words("The card.")]
    angle: Annotated[float, Number("Its turn, degrees.", -1e4, 1e4)]
    shift: Annotated[XY, ListOf("Its shift, x and y, mm.", of=_PLACE, least=2, most=2)]
    size: Annotated[
        tuple[float, float, float],
        ListOf("Width, height and length of its outline, mm.", of=_side(""), least=3, most=3),
    ]


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class StockInFile:
    """The sheet, off-cut or roll that it was laid on."""

    name: Annotated[str, Words("Its name.")]
    length: Annotated[float, _side("Its length, mm.")]
    width: Annotated[float, _side("Its width, mm.")]
    margins: Annotated[
        tuple[float, float, float, float],
        ListOf("Left, bottom, right, top, mm.", of=Number("", 0.0, 1e6), least=4, most=4),
    ]
    outline: Annotated[tuple[XY, ...], ListOf("Its outline unless rectangular, mm.", of=_PAIR)] = ()
    grain: Annotated[str, Choice("The direction of cards' grain.", words=("", "length", "width"))]
    roll: Annotated[bool, Flag("Whether it is a roll.")]
    window: Annotated[float | None, _side("Length of a roll worked at a time, mm.")] = None
    even: Annotated[bool, Flag("Whether the machine advances it by exactly that.")] = False
    nap: Annotated[bool, Flag("Whether everything lies in one direction.")]
    lean: Annotated[float, Number("Greatest angle off a card's grain, degrees.", 0.0, 360.0)]


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class SheetInFile:
    """One sheet of a lay."""

    number: Annotated[int, Count("Its number.")]
    width: Annotated[float, _side("Its width, mm.")]
    height: Annotated[float, _side("Its height, mm.")]
    stock: Annotated[StockInFile, Inner("Its stock.")]
    marks: Annotated[tuple[XY, ...], ListOf("Middles of its registration marks, mm.", of=_PAIR)]
    cards: Annotated[tuple[CardInFile, ...], Many("Its cards.")]


@table
@dataclass(frozen=True, slots=True, kw_only=True)
class LayFile:
    """The whole file."""

    form: Annotated[int, Count("The format's number.", key="plotout-lay")]
    style: Annotated[str, Words("The set's style.")]
    size: Annotated[str, Words("The set's size.")]
    gap: Annotated[float, Number("Between cards, mm.", 0.0, 1e4)]
    window: Annotated[XY, ListOf("Of the stock, mm.", of=_side(""), least=2, most=2)]
    upright: Annotated[bool, Flag("Whether cards stood upright.")]
    sheets: Annotated[tuple[SheetInFile, ...], Many("Its sheets.")]

    def wrong(self) -> Iterator[Fault]:
        """Yield contradictions."""
        if self.form != FORM:
            yield Fault(
                ("plotout-lay",),
                f"its format is {self.form}, not {FORM}",
                "Make it again: another version wrote it.",
            )
