"""A card before it is lettered and punched: its cutting line, notches and drawn marks."""

from __future__ import annotations

from dataclasses import dataclass, field

from plotout.geometry.strokes import FloatArray, Stroke
from plotout.pattern.model import NotchStyle


@dataclass(frozen=True, slots=True, eq=False)
class PlacedNotch:
    """A notch on the cutting line. at: (2,), mm, on the line. count: 1 to 3, side by side.

    allowance: mm between cutting and stitching line there. what: it is told to the user so.
    """

    at: FloatArray
    style: NotchStyle
    count: int
    allowance: float
    what: str


@dataclass(frozen=True, slots=True, eq=False)
class Blank:
    """A card in the making.

    outline: the cutting line without notches, closed, counter-clockwise, (n, 2), mm.
    strokes: what is drawn, punched or cut within it. areas: marked areas, closed, (n, 2).
    grain: (2, 2) tail to head, or None. part, parts: of a split piece ("part 1 of 2").
    joins: lines where other parts meet this one, each (2, 2), and the words beside it.
    """

    piece: str
    outline: FloatArray
    notches: tuple[PlacedNotch, ...] = ()
    strokes: tuple[Stroke, ...] = ()
    areas: tuple[FloatArray, ...] = ()
    grain: FloatArray | None = None
    words: tuple[str, ...] = ()
    orders: tuple[str, ...] = ()
    part: int = 1
    parts: int = 1
    joins: tuple[tuple[FloatArray, str], ...] = ()
    warnings: tuple[str, ...] = field(default=())
