"""What a machine is: its bed, tools and speeds, as its profile says."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any

from plotout.geometry.strokes import Work
from plotout.machine.axes import AXES, ORIGINS
from plotout.machine.caution import KINDS
from plotout.machine.tools import Tool, tool_speed
from plotout.tables import (
    Acceleration,
    Angle,
    Choice,
    Count,
    Date,
    Fault,
    Flag,
    Free,
    Given,
    Inner,
    Length,
    ListOf,
    Many,
    Name,
    Number,
    Seconds,
    Words,
    table,
)

MITRE = 2.0
"""Half kerfs that a corner of a cut's middle may lie from the drawn corner, along its bisector."""

BY_HAND, AUTOMATIC = "by hand", "automatic"
"""How a roll is advanced from one frame to the next."""

LONGEST = 1e5  # mm: of a bed

FLOWS = ("enquiry", "enq-ack", "ok", "xon-xoff", "rts-cts", "dtr", "paced")
"""Ways to control the flow of bytes; a file in `sending/flow_control` makes each of them."""


def _time(says: str, example: str = '"0.05 s"') -> Seconds:
    return Seconds(says, most=3600.0, example=example)


def _scale(says: str) -> Number:
    return Number(
        says, 0.9, 1.1, example="1.002", why="It is what was measured over what was meant."
    )


@table
@dataclass(frozen=True, slots=True)
class Bed:
    """Where the machine can work. Sheets lie with x along `length`, y along `width`, mm."""

    length: Annotated[
        float,
        Length(
            "Along the feed: a mat's or table's long side, a roll's greatest length.",
            most=LONGEST,
            above=True,
            example='"24 in"',
        ),
    ]
    width: Annotated[float, Length("Across the feed.", most=LONGEST, above=True, example='"12 in"')]
    roll: Annotated[bool, Flag("It takes stock from a roll.")] = False
    margins: Annotated[
        tuple[float, float, float, float],
        ListOf(
            "What the tool can't reach: one length, or [left, bottom, right, top].",
            of=Length("", most=LONGEST),
            least=4,
            most=4,
            spread=True,
        ),
    ] = (0.0, 0.0, 0.0, 0.0)
    window: Annotated[
        float | None,
        Length(
            "How much of a roll is worked before it is advanced; left out: all of it.",
            most=LONGEST,
            above=True,
            example='"900 mm"',
        ),
    ] = None
    advance: Annotated[
        str,
        Choice(
            "How a roll is advanced; automatic: the machine does it when told, by a window.",
            (BY_HAND, AUTOMATIC),
        ),
    ] = BY_HAND

    def wrong(self) -> Iterator[Fault]:
        """Give what can't be true of a bed."""
        left, bottom, right, top = self.margins
        if left + right >= self.length or bottom + top >= self.width:
            yield Fault(("margins",), "the margins leave nothing of the bed", "Make them smaller.")
        if self.window is not None and not self.roll:
            yield Fault(("window",), "only a roll is worked a window at a time", "Add roll = true.")
        if self.advance == AUTOMATIC and self.window is None:
            yield Fault(
                ("advance",),
                "how far does the machine advance the roll?",
                "Add window: the length of a frame, as the machine's manual says.",
            )


@table
@dataclass(frozen=True, slots=True)
class Motion:
    """How it moves. mm/s, mm/s2, s, mm."""

    travel_speed: Annotated[float, tool_speed("With the tool up.")] = 300.0
    acceleration: Annotated[
        float, Acceleration("Of its axes.", most=1e6, above=True, example='"2000 mm/s2"')
    ] = 2000.0
    lift: Annotated[float, _time("To lift the tool.")] = 0.05
    lower: Annotated[float, _time("To lower the tool.")] = 0.05
    change: Annotated[float, _time("To change tools.", example='"30 s"')] = 5.0
    independent: Annotated[
        bool,
        Flag("The axes move each at its own pace: a diagonal takes as long as its longer side."),
    ] = False
    junction: Annotated[
        float,
        Length(
            "Deviation that sets the speed kept through a corner.",
            most=5.0,
            above=True,
            example='"0.02 mm"',
        ),
    ] = 0.02
    turning: Annotated[
        float,
        Number(
            "Degrees a second of a knife that turns standing still in the stock.",
            most=1e5,
            above=True,
            example="180",
        ),
    ] = 180.0


@dataclass(frozen=True, slots=True)
class Drop:
    """How a tool is let down by an axis. up: mm above the stock while travelling. plunge: mm/s."""

    up: float
    plunge: float


@table
@dataclass(frozen=True, slots=True)
class Calibration:
    """What `plotout calibrate` measured."""

    scale_x: Annotated[float, _scale("Along x.")] = 1.0
    scale_y: Annotated[float, _scale("Along y.")] = 1.0
    skew: Annotated[
        float, Angle("That the y axis leans to the right.", -5.0, 5.0, example="0.05")
    ] = 0.0
    date: Annotated[str, Date("When it was measured.")] = ""

    def __str__(self) -> str:
        across, up = (100.0 * (scale - 1.0) for scale in (self.scale_x, self.scale_y))
        return (
            f"calibrated{' on ' + self.date if self.date else ''}: "
            f"x {across:+.2f} %, y {up:+.2f} %, off square {self.skew:+.2f} degrees"
        )


@table
@dataclass(frozen=True, slots=True)
class WireSettings:
    """How a machine is connected and how it holds the line: a profile's `[wire]`."""

    language: Annotated[
        str, Name("The language that it speaks; left out: that of its driver.", example='"hpgl"')
    ] = ""
    flow: Annotated[
        str,
        Choice(
            "How it says what it can take; left out: as machines of its language usually do.",
            FLOWS,
        ),
    ] = ""
    baud: Annotated[int, Count("Speed of a serial line, bits per second.", 50, 4_000_000)] = 9600
    buffer: Annotated[
        int, Count("Its receive buffer, bytes; left out: its language's usual.", 16, 1 << 30)
    ] = 0
    answers: Annotated[
        bool | None, Flag("It answers questions; left out: where its flow needs that.")
    ] = None
    identity: Annotated[str, Words("What it says it is, to tell it from others.")] = ""
    patience: Annotated[
        float,
        Seconds(
            "Without progress, before its user is asked.",
            most=86400.0,
            above=True,
            example='"60 s"',
        ),
    ] = 120.0


@table
@dataclass(frozen=True, slots=True)
class Machine:
    """A machine's profile. name: that of its file."""

    name: Annotated[str, Given("The profile's name.")]
    title: Annotated[str, Name("What it is.", example='"Craft cutter, 12 x 24 in mat"')]
    kind: Annotated[str, Choice("Which cautions it needs.", KINDS)]
    driver: Annotated[str, Name("The file format that it takes.", example='"hpgl"')]
    bed: Annotated[Bed, Inner("Where it can work.")]
    tools: Annotated[tuple[Tool, ...], Many("Its tools.", least=1)]
    step: Annotated[
        float,
        Length(
            "Its least move; a machine that takes HP-GL counts its coordinates in it.",
            least=0.0001,
            most=1.0,
            example='"0.025 mm"',
            why="It is the least move.",
        ),
    ] = 0.025
    axes: Annotated[str, Choice("How a sheet's x and y become the machine's.", AXES)] = "xy"
    origin: Annotated[str, Choice("Where its zero is on the bed.", ORIGINS)] = "lower left"
    motion: Annotated[Motion, Inner("How it moves.")] = Motion()
    registration: Annotated[bool, Flag("Marks are drawn in the corners of every sheet.")] = False
    gap: Annotated[float, Length("Between cards.", most=200.0)] = 3.0
    cautions: Annotated[tuple[str, ...], ListOf("What else its user must know.", of=Words(""))] = ()
    calibration: Annotated[Calibration, Inner("Written by 'plotout calibrate'.")] = Calibration()
    options: Annotated[Mapping[str, Any], Free("The driver's own settings.")] = field(
        default_factory=dict
    )
    wire: Annotated[WireSettings, Inner("How it is connected.")] = WireSettings()
    drop: Annotated[
        Drop | None, Given("How its driver lets tools down by an axis; None: as `motion` says.")
    ] = None
    notes: Annotated[tuple[str, ...], Given("What its driver does otherwise than said.")] = ()

    def wrong(self) -> Iterator[Fault]:
        """Give what can't be true of the tools on this machine."""
        names = [tool.name for tool in self.tools]
        for index, tool in enumerate(self.tools):
            for key, problem, fix in self._faults_of(tool):
                yield Fault(("tools", index, key), f"tool '{tool.name}': {problem}", fix)
            if tool.name in names[:index]:
                path = ("tools", index, "name")
                yield Fault(path, f"there are two tools '{tool.name}'", "Name them apart.")

    def _faults_of(self, tool: Tool) -> Iterator[tuple[str, str, str]]:
        fastest = self.motion.travel_speed
        for key, speed in (("speed", tool.speed), ("swivel-speed", tool.swivel_speed)):
            if speed is not None and speed > fastest:
                yield (
                    key,
                    f"{speed:g} mm/s is faster than the axes go, {fastest:g} mm/s",
                    "Lower it, or raise travel-speed under [motion] as far as the manual allows.",
                )
        if tool.kerf > self.gap and Work.CUT in tool.does:
            yield (
                "kerf",
                f"{tool.kerf:g} mm beside a card are cut away, more than a gap of {self.gap:g} mm",
                "Make the machine's gap at least the kerf.",
            )
        if 2.0 * tool.corner_overcut > self.gap:
            yield (
                "corner-overcut",
                f"{tool.corner_overcut:g} mm past the corners of two cards meet in a gap of "
                f"{self.gap:g} mm",
                "Make it less than half of the machine's gap.",
            )

    @property
    def reach(self) -> float:
        """How far in mm the motion of any of its tools may lie off the line that it works.

        A trailing blade's pivot leads by its offset; blades run on past corners; the middle of a
        kerf lies half of it off the line, and further out at a sharp corner.
        """
        return max(
            tool.offset + tool.corner_overcut + tool.kerf / 2.0 * math.hypot(MITRE, 1.0)
            for tool in self.tools
        )

    def tool_for(self, work: Work) -> Tool | None:
        """Return the first tool that does this work, or None."""
        return next((tool for tool in self.tools if work in tool.does), None)
