"""The model of a tool in a machine's profile."""

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


SLOWEST = 0.01  # mm/s: 0.6 mm per minute; a slower one is a mistake in the unit


class ToolKind(StrEnum):
    """The kind of a tool, which decides how its motion is made."""

    PEN = "pen"
    TRAILING_BLADE = "trailing blade"
    TANGENTIAL_KNIFE = "tangential knife"
    CREASER = "creaser"
    PUNCH = "punch"
    BEAM = "beam"
    ROUTER = "router"


def tool_speed(says: str) -> Speed:
    """Return a kind of speed with the bounds of real machines."""
    return Speed(
        says,
        SLOWEST,
        most=5000.0,
        example='"100 mm/s"',
        why="Speeds are in mm/s, not in mm/min.",
    )


def _force(says: str) -> Force:
    return Force(says, most=5000.0, example='"120 gf"', why="Forces are in grams-force.")


@table
@dataclass(frozen=True, slots=True)
class Tool:
    """A tool of a machine. mm, mm/s, grams-force, per cent; None where it does not apply."""

    name: Annotated[str, Name("Its name.", example='"blade"')]
    number: Annotated[int, Count("The machine's number for it.", 0, 999)]
    kind: Annotated[ToolKind, Choice("Its kind, which decides how its motion is made.", ToolKind)]
    does: Annotated[
        tuple[Work, ...], ListOf("The work that it does.", of=Choice("", Work), least=1)
    ]
    speed: Annotated[float, tool_speed("Its working speed.")]
    force: Annotated[float | None, _force("Its downward force.")] = None
    power: Annotated[
        float | None,
        Share(
            "Share of a beam's or spindle's full power.",
            most=100.0,
            why="Power is in per cent of full power.",
        ),
    ] = None
    depth: Annotated[
        float | None,
        Length("Depth below the stock's surface, on machines with a Z axis.", most=200.0),
    ] = None
    passes: Annotated[int, Count("Number of passes; depth grows evenly.", 1, 50)] = 1
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
            "How far a closed line continues past its start; for a pen, the overlap of its ends.",
            most=20.0,
            example='"0.5 mm"',
            why="Once or twice the blade offset is enough.",
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
            "A sharper corner is worked in a separate motion: a trailing blade swings "
            "round on its tip, a tangential knife is lifted.",
            most=180.0,
            example='"25 deg"',
            why="It is the turn at a corner.",
        ),
    ] = 20.0
    swivel_force: Annotated[float | None, _force("Force while a trailing blade swings round.")] = (
        None
    )
    size: Annotated[float, Length("For a punch: the diameter of its hole.", most=100.0)] = 0.0
    swivel_speed: Annotated[
        float | None, tool_speed("Speed while a trailing blade swings round.")
    ] = None
    corner_overcut: Annotated[
        float,
        Length(
            "How far a blade cuts into the waste past a sharp corner, and begins before it.",
            most=10.0,
            example='"0.5 mm"',
            why="It must end in the waste.",
        ),
    ] = 0.0
    pass_force: Annotated[float, _force("Force added with each pass.")] = 0.0
    tabs: Annotated[int, Count("Bridges left in a card's outline.", 0, 200)] = 0
    tab_width: Annotated[
        float,
        Length(
            "Stretch left uncut for a bridge, which is narrower by the kerf.",
            most=20.0,
            above=True,
            example='"0.5 mm"',
        ),
    ] = 0.5
    tab_spacing: Annotated[
        float, Length("Greatest distance between bridges; 0: as many as `tabs`.", most=5000.0)
    ] = 0.0
    dashes: Annotated[
        tuple[float, float] | None,
        ListOf(
            "Dashes: mm worked, mm left.",
            of=Length("", most=1000.0, above=True),
            least=2,
            most=2,
            example='["3 mm", "2 mm"]',
        ),
    ] = None
    turn_limit: Annotated[
        float,
        Angle(
            "For a tangential knife: how far its axis turns either way, unwound while lifted.",
            200.0,
            1e6,
            example='"360 deg"',
            why="A knife must turn by 360 degrees and a little more.",
        ),
    ] = 360.0
    precut: Annotated[bool, Flag("Cut the middle of a hole before its rim.")] = False

    def wrong(self) -> Iterator[Fault]:
        """Give the contradictions in a tool."""
        if self.offset and self.kind is not ToolKind.TRAILING_BLADE:
            yield self._fault(
                "offset", f"a {self.kind} has no offset", "Only a trailing blade has one."
            )
        if self.kind is ToolKind.TRAILING_BLADE and not self.offset:
            yield self._fault(
                "offset",
                "a trailing blade needs its offset",
                "Measure how far its tip lies behind its pivot, or cut a test strip.",
            )
        if self.kerf and self.kind not in (ToolKind.BEAM, ToolKind.ROUTER):
            yield self._fault(
                "kerf",
                f"a {self.kind} removes no width",
                "Only a beam and a router have a kerf.",
            )
        if self.swivel_force is not None and (self.force is None or self.swivel_force > self.force):
            yield self._fault(
                "swivel-force",
                "it is more than the force along the line",
                "Set it to the same force or less.",
            )
        if self.pass_force and self.force is None:
            yield self._fault(
                "pass-force", "there is no force to add it to", "Give the tool a force."
            )
        if self.tabs and self.corner_overcut:
            yield self._fault(
                "corner-overcut",
                "a card held by tabs is cut in stretches, which have no overcut at its corners",
                "Set tabs = 0, or corner-overcut = 0.",
            )
        if self.tabs and self.tab_width <= self.kerf:
            yield self._fault(
                "tab-width", f"the kerf, {self.kerf:g} mm, removes all of it", "Make it wider."
            )

    def _fault(self, key: str, problem: str, fix: str) -> Fault:
        return Fault((key,), f"tool '{self.name}': {problem}", fix)
