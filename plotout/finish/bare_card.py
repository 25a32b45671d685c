"""A card before it is lettered and punched: its cutting line, notches and drawn marks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from plotout.errors import UserError
from plotout.geometry.strokes import FloatArray, Stroke
from plotout.pattern.model import Area, Graded
from plotout.pattern.settings import NotchStyle


@dataclass(frozen=True, slots=True, eq=False)
class PlacedNotch:
    """One notch of the card; a double is two of them.

    at: (2,), mm: its mouth, on the cutting line. inward: (2,), the unit vector from there to its
    foot. room: mm between mouth and stitching line along `inward`. what: its name in messages.
    edge: the edge whose allowance it lies in. seam: it shows the allowance; a match notch in the
    same place replaces it.
    """

    at: FloatArray
    inward: FloatArray
    style: NotchStyle
    room: float
    what: str
    edge: str
    seam: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Join:
    """Where a part of a split piece meets another.

    number: shared by both parts. line: (2, 2), mm, the join line on this card. inward: (2,), the
    unit vector from the line into this part. laps_under: this part has the underlap.
    """

    number: int
    line: FloatArray
    inward: FloatArray
    laps_under: bool
    words: str = ""


class Taper(NamedTuple):
    """An allowance that is another at a line's end than at its start. widths: mm, start first.

    ends: the names of the edges there, or "".
    """

    widths: tuple[float, float]
    ends: tuple[str, str]


@dataclass(frozen=True, slots=True, eq=False)
class Label:
    """Words along a line, (n, 2), mm: the fullest first, then shorter ones for less room.

    inward: on the line's left only, which is inside the card for an edge of its outline.
    tapers: the allowance that the words state, if it tapers along the line.
    """

    points: FloatArray
    texts: tuple[str, ...]
    inward: bool = False
    tapers: Taper | None = None


@dataclass(frozen=True, slots=True, eq=False)
class BareCard:
    """A card before lettering and punching.

    outline: the cutting line without notches, closed, counter-clockwise, (n, 2), mm.
    strokes: what is drawn, punched or cut within it. grain: (2, 2) tail to head, or None.
    kept_clear: areas that must not be punched or written on, closed, (n, 2).
    hatched: areas with a sparse hatch, which may be written on if there is no other room.
    labels: words along lines and edges, lettered if there is room. laying: lines on how it lies in
    the cloth. facts: further lines of the block, the most important first. one_way: its grain line
    has one head.
    fold: the edge that lies on the fold, (n, 2), the card on its left, or None.
    graded: grade points on the outline, and inside. stitching: the stitching line, closed, (n, 2);
    of a part it ends at its join. turns: (k, 2), where its edges meet. bias: the grain line shows
    the bias. turn: degrees counter-clockwise from its drawing to the card.
    uncuttable: what keeps it from being cut.
    part, parts: of a split piece ("part 1 of 2"). joins: where other parts meet this one.
    """

    piece: str
    outline: FloatArray
    notches: tuple[PlacedNotch, ...] = ()
    strokes: tuple[Stroke, ...] = ()
    grain: FloatArray | None = None
    fold: FloatArray | None = None
    words: tuple[str, ...] = ()
    orders: tuple[str, ...] = ()
    part: int = 1
    parts: int = 1
    joins: tuple[Join, ...] = ()
    kept_clear: tuple[FloatArray, ...] = ()
    hatched: tuple[Area, ...] = ()
    labels: tuple[Label, ...] = ()
    laying: tuple[str, ...] = ()
    facts: tuple[str, ...] = ()
    one_way: bool = False
    warnings: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()
    uncuttable: tuple[UserError, ...] = ()
    graded: tuple[Graded, ...] = ()
    stitching: FloatArray | None = None
    turns: FloatArray | None = None
    bias: bool = False
    turn: float = 0.0
