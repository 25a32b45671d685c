"""Settings of a set: how corners and notches are made, and what holds for every piece, mm."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from plotout.geometry.strokes import NotchKind
from plotout.tables import Choice, Flag, Inner, Length, Number, table, table_or

MOST_ALLOWANCE = 200.0
ALLOWANCE = Length(
    "",
    0.0,
    MOST_ALLOWANCE,
    example='"1/2 in"',
    why="No seam or hem is wider: check its unit.",
)


class Corner(StrEnum):
    """How the cutting line goes round a corner of the stitching line."""

    MITRE = "mitre"
    SQUARE = "square"
    TURNED = "turned back"
    BLUNT = "blunt"


@table_or("kind")
@dataclass(frozen=True, slots=True)
class NotchStyle:
    """The shape of a notch, mm."""

    kind: Annotated[NotchKind, Choice("A notch kind of ASTM D6673.", NotchKind)] = NotchKind.SLIT
    depth: Annotated[float, Length("Its depth into the card.", 0.5, 50.0)] = 5.0
    width: Annotated[float, Length("Its width at the edge.", 0.5, 50.0)] = 4.0
    spacing: Annotated[
        float, Length("Distance between the notches of a double or triple.", 1.0, 100.0)
    ] = 6.0
    cut: Annotated[bool, Flag("Cut into the card's edge; false: drawn.")] = True


@table
@dataclass(frozen=True, slots=True)
class OnCards:
    """What is lettered on every card besides its name, orders and number."""

    edges: Annotated[bool, Flag("Edges' names along the edges.")] = True
    sewn_to: Annotated[bool, Flag("What an edge is sewn to, beside its name.")] = True
    front: Annotated[bool, Flag("The front end.")] = True
    right_side: Annotated[
        bool, Flag("A note that the card's face is the right side of the cloth.")
    ] = True
    as_drawn: Annotated[bool, Flag("Whether a single piece is cut as drawn or reversed.")] = True
    one_way: Annotated[bool, Flag("For cloth with a nap, an arrow for its direction.")] = True
    allowance: Annotated[bool, Flag("The seam allowance in figures.")] = True
    dated: Annotated[bool, Flag("The set's date and version.")] = True
    facing: Annotated[bool, Flag("Fold-over facings with their fold lines.")] = True


@table
@dataclass(frozen=True, slots=True)
class Defaults:
    """Settings for every piece of the set that has none of its own, mm."""

    allowance: Annotated[
        float,
        Length(
            "Seam allowance of all edges.",
            0.0,
            MOST_ALLOWANCE,
            example='"1/2 in"',
            why=ALLOWANCE.why,
        ),
    ] = 12.7
    notch: Annotated[NotchStyle, Inner("The shape of notches: a kind, or a table.")] = NotchStyle()
    hole: Annotated[float, Length("Diameter of the hanging hole.", 1.0, 50.0, example='"8 mm"')] = (
        8.0
    )
    hole_inset: Annotated[
        float,
        Length("Distance from the card's top to the hole's centre.", 3.0, 200.0, example='"22 mm"'),
    ] = 20.0
    lettering: Annotated[float, Length("Height of capital letters.", 1.0, 50.0)] = 5.0
    tolerance: Annotated[
        float,
        Length(
            "Greatest difference that still matches; of a seam, beyond its ease.",
            0.0,
            20.0,
            above=True,
            example='"1 mm"',
        ),
    ] = 0.5
    corner: Annotated[Corner, Choice("How the cutting line goes round corners.", Corner)] = (
        Corner.MITRE
    )
    mitre_limit: Annotated[
        float, Number("Longest mitre, in allowances.", 1.0, 20.0, example="2.5")
    ] = 2.5
    underlap: Annotated[
        float,
        Length("Width by which one card of a split laps under.", 0.0, 500.0, example='"20 mm"'),
    ] = 20.0
    one_way: Annotated[
        bool, Flag("Every piece lies in one direction in the cloth, for a nap or a print.")
    ] = False
    on_cards: Annotated[OnCards, Inner("The lettering on every card.")] = OnCards()
    qr: Annotated[bool, Flag("A QR code on every card: set, version and card.")] = False
