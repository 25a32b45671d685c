"""What a tool of a machine is, as its profile says."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from plotout.geometry.strokes import Work
from plotout.tables import (
    Angle,
    Choice,
    Count,
    Fault,
    Flag,
    Force,
    Length,
    ListOf,
    Name,
    Share,
    Speed,
    table,
)

GREATEST_OFFSET = 1.5  # mm: drag knives are made with tips 0.1 to 1.5 mm behind the pivot


class ToolKind(StrEnum):
    """What a tool is, which decides how its motion is made."""

    PEN = "pen"
    TRAILING_BLADE = "trailing blade"
    TANGENTIAL_KNIFE = "tangential knife"
    CREASER = "creaser"
    PUNCH = "punch"
    BEAM = "beam"
    ROUTER = "router"


def tool_speed(says: str) -> Speed:
    """A speed with the bounds of what a machine can have."""
    return Speed(
        says,
        most=5000.0,
        above=True,
        example='"100 mm/s"',
        why="Speeds are in mm/s, not in mm/min.",
    )


def _force(says: str) -> Force:
    return Force(says, most=5000.0, example='"120 gf"', why="Forces are in grams-force.")


@table
@dataclass(frozen=True, slots=True)
class Tool:
    """One tool of a machine. mm, mm/s, grams-force, per cent; None where it has no meaning."""

    name: Annotated[str, Name("What it is called.", example='"blade"')]
    number: Annotated[int, Count("The machine's own number for it.", 0, 999)]
    kind: Annotated[ToolKind, Choice("What it is, which decides how its motion is made.", ToolKind)]
    does: Annotated[
        tuple[Work, ...], ListOf("The work that it is for.", of=Choice("", Work), least=1)
    ]
    speed: Annotated[float, tool_speed("How fast it works.")]
    force: Annotated[float | None, _force("How hard it is pressed down.")] = None
    power: Annotated[
        float | None,
        Share(
            "Of a beam's or spindle's greatest power.",
            most=100.0,
            why="Power is in per cent of the greatest.",
        ),
    ] = None
    depth: Annotated[
        float | None, Length("Below the stock's face, on machines with a Z axis.", most=200.0)
    ] = None
    passes: Annotated[int, Count("How often it goes round; depth grows evenly.", 1, 50)] = 1
    offset: Annotated[
        float,
        Length(
            "Blade tip behind its pivot.",
            most=GREATEST_OFFSET,
            example='"0.45 mm"',
            why="A blade's tip lies 0.1 to 1.5 mm behind its pivot.",
        ),
    ] = 0.0
    overcut: Annotated[
        float,
        Length(
            "How far a closed line runs past its start; of a pen: how far its ends overlap.",
            most=20.0,
            example='"0.5 mm"',
            why="A blade offset or two is enough.",
        ),
    ] = 0.0
    kerf: Annotated[
        float,
        Length(
            "Width of the cut.",
            most=20.0,
            example='"0.2 mm"',
            why="The kerf is the width of the cut.",
        ),
    ] = 0.0
    swivel_above: Annotated[
        float,
        Angle(
            "A corner that turns by more is worked in a motion of its own: a trailing blade swings "
            "round on its tip, a tangential knife is lifted.",
            most=180.0,
            example='"25 deg"',
            why="It is a corner's turn.",
        ),
    ] = 20.0
    swivel_force: Annotated[float | None, _force("While a trailing blade swings round.")] = None
    size: Annotated[float, Length("Of a punch: across its hole.", most=100.0)] = 0.0
    swivel_speed: Annotated[float | None, tool_speed("While a trailing blade swings round.")] = None
    corner_overcut: Annotated[
        float,
        Length(
            "How far a blade runs on into the waste past a sharp corner, and begins before it.",
            most=10.0,
            example='"0.5 mm"',
            why="It must end in the waste.",
        ),
    ] = 0.0
    pass_force: Annotated[float, _force("Added to the force with each pass.")] = 0.0
    tabs: Annotated[int, Count("Bridges left in each card's outline.", 0, 200)] = 0
    tab_width: Annotated[
        float, Length("Width of a bridge.", most=20.0, above=True, example='"0.5 mm"')
    ] = 0.5
    tab_spacing: Annotated[
        float, Length("Bridges lie no further apart than this; 0: `tabs` of them.", most=5000.0)
    ] = 0.0
    dashes: Annotated[
        tuple[float, float] | None,
        ListOf(
            "Worked in dashes: mm worked, mm left.",
            of=Length("", most=1000.0, above=True),
            least=2,
            most=2,
            example='["3 mm", "2 mm"]',
        ),
    ] = None
    turn_limit: Annotated[
        float,
        Angle(
            "Of a tangential knife: how far its axis turns either way; it is unwound while lifted.",
            200.0,
            1e6,
            example='"360 deg"',
            why="A knife must turn all round, and a little more.",
        ),
    ] = 360.0
    precut: Annotated[bool, Flag("A hole's middle is cut before its rim.")] = False

    def wrong(self) -> Iterator[Fault]:
        """Give what can't be true of a tool by itself."""
        if self.offset and self.kind is not ToolKind.TRAILING_BLADE:
            yield self._fault(
                "offset", f"a {self.kind} has no offset", "Only a trailing blade has one."
            )
        if self.kind is ToolKind.TRAILING_BLADE and not self.offset:
            yield self._fault(
                "offset",
                "a trailing blade needs its offset",
                "Measure how far its tip lies behind its pivot, or cut a test card.",
            )
        if self.kerf and self.kind not in (ToolKind.BEAM, ToolKind.ROUTER):
            yield self._fault(
                "kerf",
                f"a {self.kind} takes no width away",
                "Only a beam and a router have a kerf.",
            )
        if self.swivel_force is not None and (self.force is None or self.swivel_force > self.force):
            yield self._fault(
                "swivel-force",
                "it is more than the force along the line",
                "Swing round corners with the same force or less.",
            )
        if self.pass_force and self.force is None:
            yield self._fault(
                "pass-force", "there is no force for it to be added to", "Give the tool a force."
            )
        if self.tabs and self.corner_overcut:
            yield self._fault(
                "corner-overcut",
                "a card that tabs hold is cut in stretches, which don't run on past its corners",
                "Set tabs = 0, or corner-overcut = 0.",
            )
        if self.tabs and self.tab_width <= self.kerf:
            yield self._fault(
                "tab-width", f"the kerf, {self.kerf:g} mm, takes it all", "Make it wider."
            )

    def _fault(self, key: str, problem: str, fix: str) -> Fault:
        return Fault((key,), f"tool '{self.name}': {problem}", fix)
