"""What a machine is: its bed, tools and speeds, as its profile says."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from plotout.geometry.strokes import Work

MITRE = 2.0
"""Half kerfs that a corner of a cut's middle may lie from the drawn corner, along its bisector."""


BY_HAND, AUTOMATIC = "by hand", "automatic"
"""How a roll is advanced from one frame to the next."""


class ToolKind(StrEnum):
    """What a tool is, which decides how its motion is made."""

    PEN = "pen"
    TRAILING_BLADE = "trailing blade"
    TANGENTIAL_KNIFE = "tangential knife"
    CREASER = "creaser"
    PUNCH = "punch"
    BEAM = "beam"
    ROUTER = "router"


@dataclass(frozen=True, slots=True)
class Tool:
    """One tool of a machine. mm, mm/s, grams-force, per cent; None where it has no meaning.

    number: the machine's own number for it. offset: blade tip behind its pivot. kerf: width of cut.
    overcut: how far a closed line runs past its start (of a pen: how far its ends overlap).
    swivel_above: corner angle in degrees from which a trailing blade is swung round as a motion of
    its own, or a tangential knife lifted and turned.
    depth: how deep it goes below the stock's face (Z machines). passes: how often it goes round:
    the depth grows evenly to `depth`, the force by `pass_force` each time.
    swivel_speed, swivel_force: while a trailing blade swings round a sharp corner.
    corner_overcut: how far a blade runs on into the waste past a sharp corner, and begins
    before it. size: of a punch, mm across.
    tabs: bridges left in each card's outline, `tab_width` mm wide, no more than `tab_spacing` mm
    apart if that is set. dashes: a line is worked in dashes: mm worked, mm left.
    precut: a hole's middle is cut before its rim.
    """

    name: str
    number: int
    kind: ToolKind
    does: tuple[Work, ...]
    speed: float
    force: float | None = None
    power: float | None = None
    depth: float | None = None
    passes: int = 1
    offset: float = 0.0
    overcut: float = 0.0
    kerf: float = 0.0
    swivel_above: float = 20.0
    swivel_force: float | None = None
    size: float = 0.0
    swivel_speed: float | None = None
    corner_overcut: float = 0.0
    pass_force: float = 0.0
    tabs: int = 0
    tab_width: float = 0.5
    tab_spacing: float = 0.0
    dashes: tuple[float, float] | None = None
    precut: bool = False


@dataclass(frozen=True, slots=True)
class Bed:
    """Where the machine can work. Sheets lie with x along `length`, y along `width`, mm.

    length: along the feed: a mat's or table's long side, a roll's greatest length.
    margins: left, bottom, right, top of the sheet that the tool can't reach.
    window: how much of a roll's length can be worked before paper must be advanced (None: all).
    advance: "by hand", or "automatic": the machine does it when told, by a window each time.
    """

    length: float
    width: float
    roll: bool = False
    margins: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    window: float | None = None
    advance: str = BY_HAND


@dataclass(frozen=True, slots=True)
class Motion:
    """How it moves. travel_speed mm/s (tool up), acceleration mm/s2, lift and lower s, change s.

    independent: the axes move each at its own pace, so that a diagonal takes as long as its
    longer side. junction: deviation in mm that sets the speed kept through a corner.
    """

    travel_speed: float = 300.0
    acceleration: float = 2000.0
    lift: float = 0.05
    lower: float = 0.05
    change: float = 5.0
    independent: bool = False
    junction: float = 0.02


@dataclass(frozen=True, slots=True)
class Calibration:
    """Scale per axis and skew (degrees that the axes are off square), measured on `date`."""

    scale_x: float = 1.0
    scale_y: float = 1.0
    skew: float = 0.0
    date: str = ""

    def __str__(self) -> str:
        across, up = (100.0 * (scale - 1.0) for scale in (self.scale_x, self.scale_y))
        return (
            f"calibrated{' on ' + self.date if self.date else ''}: "
            f"x {across:+.2f} %, y {up:+.2f} %, off square {self.skew:+.2f} degrees"
        )


@dataclass(frozen=True, slots=True)
class Machine:
    """A machine's profile.

    kind: which cautions it needs: knife, laser, router, pen, printer, file.
    step: mm. axes: how sheet x, y become the machine's: "xy", "yx", "-xy" ... origin: where the
    machine's zero is on the bed: "lower left", "centre" ...
    options: the driver's own settings. wire: how it is connected (read by plotout.sending).
    """

    name: str
    title: str
    kind: str
    driver: str
    bed: Bed
    tools: tuple[Tool, ...]
    step: float = 0.025
    axes: str = "xy"
    origin: str = "lower left"
    motion: Motion = Motion()
    registration: bool = False
    gap: float = 3.0
    cautions: tuple[str, ...] = ()
    calibration: Calibration = Calibration()
    options: Mapping[str, Any] = field(default_factory=dict)
    wire: Mapping[str, Any] = field(default_factory=dict)

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
