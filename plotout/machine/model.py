"""The model of a machine's profile: its bed, tools and speeds."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import combinations
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
"""Greatest distance of the kerf's middle from a drawn corner along its bisector, in half kerfs."""

BY_HAND, AUTOMATIC = "by hand", "automatic"
"""How a roll is advanced from one frame to the next."""

LONGEST = 1e5  # mm: greatest length of a bed

FLOWS = ("enquiry", "enq-ack", "ok", "xon-xoff", "rts-cts", "dtr", "paced")
"""Kinds of flow control; each has a file in `sending/flow_control`."""


def _time(says: str, example: str = '"0.05 s"') -> Seconds:
    return Seconds(says, most=3600.0, example=example)


def _scale(says: str) -> Number:
    return Number(
        says, 0.9, 1.1, example="1.002", why="It is the measured length over the intended one."
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
            "The margin that the tool can't reach: one length, or [left, bottom, right, top].",
            of=Length("", most=LONGEST),
            least=4,
            most=4,
            spread=True,
        ),
    ] = (0.0, 0.0, 0.0, 0.0)
    window: Annotated[
        float | None,
        Length(
            "Length of a roll worked before it is advanced; if left out, all of it.",
            most=LONGEST,
            above=True,
            example='"900 mm"',
        ),
    ] = None
    advance: Annotated[
        str,
        Choice(
            "How a roll is advanced; automatic: by the machine, a window at a time, on command.",
            (BY_HAND, AUTOMATIC),
        ),
    ] = BY_HAND

    def wrong(self) -> Iterator[Fault]:
        """Give the contradictions in a bed."""
        left, bottom, right, top = self.margins
        if left + right >= self.length or bottom + top >= self.width:
            yield Fault(("margins",), "the margins leave nothing of the bed", "Reduce them.")
        if self.window is not None and not self.roll:
            yield Fault(
                ("window",), "only a roll can have a window", "Add roll = true, or remove window."
            )
        if self.advance == AUTOMATIC and self.window is None:
            yield Fault(
                ("advance",),
                "an automatic advance needs a window",
                "Add window: the length of a frame, from the machine's manual.",
            )


@table
@dataclass(frozen=True, slots=True)
class Motion:
    """How it moves. mm/s, mm/s2, s, mm."""

    travel_speed: Annotated[float, tool_speed("Speed with the tool up.")] = 300.0
    acceleration: Annotated[
        float,
        Acceleration("Acceleration of its axes.", most=1e6, above=True, example='"2000 mm/s2"'),
    ] = 2000.0
    lift: Annotated[float, _time("Time to lift the tool.")] = 0.05
    lower: Annotated[float, _time("Time to lower the tool.")] = 0.05
    change: Annotated[float, _time("Time to change tools.", example='"30 s"')] = 5.0
    independent: Annotated[
        bool,
        Flag("The axes move independently: a diagonal takes as long as its longer side."),
    ] = False
    junction: Annotated[
        float,
        Length(
            "Deviation at a corner, which sets the speed kept through it.",
            most=5.0,
            above=True,
            example='"0.02 mm"',
        ),
    ] = 0.02
    turning: Annotated[
        float,
        Number(
            "Degrees per second of a knife that turns on the spot in the stock.",
            most=1e5,
            above=True,
            example="180",
        ),
    ] = 180.0


@dataclass(frozen=True, slots=True)
class Drop:
    """How an axis lowers a tool. up: mm above the stock while travelling. plunge: mm/s."""

    up: float
    plunge: float


@table
@dataclass(frozen=True, slots=True)
class Calibration:
    """What `plotout calibrate` measured."""

    scale_x: Annotated[float, _scale("Scale along x.")] = 1.0
    scale_y: Annotated[float, _scale("Scale along y.")] = 1.0
    skew: Annotated[float, Angle("Lean of the y axis to the right.", -5.0, 5.0, example="0.05")] = (
        0.0
    )
    date: Annotated[str, Date("Date of measuring.")] = ""

    def __str__(self) -> str:
        across, up = (100.0 * (scale - 1.0) for scale in (self.scale_x, self.scale_y))
        return (
            f"calibrated{' on ' + self.date if self.date else ''}: "
            f"x {across:+.2f} %, y {up:+.2f} %, off square {self.skew:+.2f} degrees"
        )


@table
@dataclass(frozen=True, slots=True)
class SendingSettings:
    """How a machine is connected and controls the flow of data: a profile's `[sending]`."""

    language: Annotated[
        str, Name("The machine's language; if left out, its driver's.", example='"hpgl"')
    ] = ""
    flow: Annotated[
        str,
        Choice(
            "How it controls the flow of data; if left out, as is usual for its language.",
            FLOWS,
        ),
    ] = ""
    baud: Annotated[
        int, Count("Speed of a serial line, bits per second.", 50, 4_000_000, example="115200")
    ] = 9600
    buffer: Annotated[
        int,
        Count(
            "Its receive buffer in bytes; if left out, as is usual for its language.",
            16,
            1 << 30,
            example="128",
        ),
    ] = 0
    answers: Annotated[
        bool | None,
        Flag(
            "It answers questions, with G-code `?` by a report in angle brackets (M114 in lines, "
            'with `language = "gcode-lines"`); if left out, only if its flow control needs that, '
            "or it speaks G-code."
        ),
    ] = None
    identity: Annotated[
        str,
        Words(
            "Part of what it calls itself: a machine that does not is refused.",
            example='"CUTTER 1"',
        ),
    ] = ""
    patience: Annotated[
        float,
        Seconds(
            "Time without progress before the user is asked.",
            most=86400.0,
            above=True,
            example='"60 s"',
        ),
    ] = 120.0
    drops: Annotated[
        bool | None,
        Flag("When told to stop, it drops what it holds and has not begun; if left out, unknown."),
    ] = None
    dtr_lag: Annotated[
        float,
        Seconds(
            "Time in which the port may report that the machine's DTR has fallen; short without a "
            "USB adapter.",
            least=0.001,
            most=1.0,
            example='"1 ms"',
        ),
    ] = 0.016


@table
@dataclass(frozen=True, slots=True)
class Machine:
    """A machine's profile. name: from its file's name."""

    name: Annotated[str, Given("The profile's name.")]
    title: Annotated[str, Name("What it is.", example='"Craft cutter, 12 x 24 in mat"')]
    kind: Annotated[str, Choice("Kind of machine, which decides the cautions shown.", KINDS)]
    driver: Annotated[str, Name("The driver that writes its file format.", example='"hpgl"')]
    bed: Annotated[Bed, Inner("Where it can work.")]
    tools: Annotated[tuple[Tool, ...], Many("Its tools.", least=1)]
    step: Annotated[
        float,
        Length(
            "Its smallest move; an HP-GL machine counts its coordinates in it.",
            least=0.0001,
            most=1.0,
            example='"0.025 mm"',
            why="It is the smallest move.",
        ),
    ] = 0.025
    axes: Annotated[str, Choice("How a sheet's x and y become the machine's.", AXES)] = "xy"
    origin: Annotated[str, Choice("Where its zero is on the bed.", ORIGINS)] = "lower left"
    motion: Annotated[Motion, Inner("How it moves.")] = Motion()
    registration: Annotated[bool, Flag("Marks are drawn in the corners of every sheet.")] = False
    gap: Annotated[float, Length("Gap between cards.", most=200.0)] = 3.0
    cautions: Annotated[
        tuple[str, ...], ListOf("Further cautions for its user.", of=Words(""))
    ] = ()
    calibration: Annotated[Calibration, Inner("Written by 'plotout calibrate'.")] = Calibration()
    options: Annotated[Mapping[str, Any], Free("The driver's own settings.")] = field(
        default_factory=dict
    )
    sending: Annotated[SendingSettings, Inner("How it is connected.")] = SendingSettings()
    drop: Annotated[
        Drop | None,
        Given("How an axis lowers its tools, if the driver says so; None: as in `motion`."),
    ] = None
    notes: Annotated[tuple[str, ...], Given("Where its driver departs from the profile.")] = ()

    def wrong(self) -> Iterator[Fault]:
        """Give the contradictions between the tools and this machine."""
        names = [tool.name for tool in self.tools]
        for index, tool in enumerate(self.tools):
            for key, problem, fix in self._faults_of(tool):
                yield Fault(("tools", index, key), f"tool '{tool.name}': {problem}", fix)
            if tool.name in names[:index]:
                path = ("tools", index, "name")
                yield Fault(path, f"two tools are called '{tool.name}'", "Rename one of them.")

    def _faults_of(self, tool: Tool) -> Iterator[tuple[str, str, str]]:
        fastest = self.motion.travel_speed
        for key, speed in (("speed", tool.speed), ("swivel-speed", tool.swivel_speed)):
            if speed is not None and speed > fastest:
                yield (
                    key,
                    f"{speed:g} mm/s is more than the axes' speed, {fastest:g} mm/s",
                    "Lower it, or raise travel-speed under [motion] as far as the manual allows.",
                )
        if tool.kerf > self.gap and Work.CUT in tool.does:
            yield (
                "kerf",
                f"its kerf, {tool.kerf:g} mm, is more than the gap between cards, {self.gap:g} mm",
                "Set the machine's gap to at least the kerf.",
            )
        if 2.0 * tool.corner_overcut > self.gap:
            yield (
                "corner-overcut",
                f"overcuts of {tool.corner_overcut:g} mm meet in a gap of {self.gap:g} mm",
                "Set it to less than half the machine's gap.",
            )

    @property
    def own_stock(self) -> str:
        """What its stock is called where the user names none: a sheet as large as its bed."""
        return f"{'roll' if self.bed.roll else 'sheet'} of {self.title}"

    @property
    def reach(self) -> float:
        """How far in mm the motion of any of its tools may lie off the line being worked.

        A trailing blade's pivot leads by its offset; blades overcut corners; the middle of a kerf
        lies half of it off the line, and further at a sharp corner.
        """
        return max(
            tool.offset + tool.corner_overcut + tool.kerf / 2.0 * math.hypot(MITRE, 1.0)
            for tool in self.tools
        )

    def shared_numbers(self) -> Iterator[str]:
        """Give what is doubtful about tools of different kinds that have one number, in words."""
        for one, other in combinations(self.tools, 2):
            if one.number == other.number and one.kind is not other.kind:
                yield (
                    f"tool '{one.name}' ({one.kind}) and tool '{other.name}' ({other.kind}) have "
                    f"the same number, {one.number}: the machine takes them for one tool"
                )

    def tool_for(self, work: Work) -> Tool | None:
        """Return the first tool that does this work, or None."""
        return next((tool for tool in self.tools if work in tool.does), None)
