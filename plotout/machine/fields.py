"""The fields of a profile, table by table, with the bounds of what a machine can have."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from plotout.geometry.strokes import Work
from plotout.machine.axes import ORIGINS
from plotout.machine.caution import KINDS
from plotout.machine.model import AUTOMATIC, BY_HAND, Motion, Tool, ToolKind
from plotout.machine.quantities import (
    ACCELERATION,
    ANGLE,
    FORCE,
    SHARE,
    SPEED,
    TIME,
    Read,
    between,
    flag,
    lengths,
    more_than_nothing,
    number,
    one_of,
    quantity,
    text,
    texts,
    whole,
)
from plotout.units import length

GREATEST_OFFSET = 1.5  # mm: drag knives are made with tips 0.1 to 1.5 mm behind the pivot

_length = between(length, 0.0, 1e5, "mm")
_speed = more_than_nothing(
    between(quantity(SPEED), 0.0, 5000.0, "mm/s", "Speeds are in mm/s, not in mm/min.")
)
_force = between(quantity(FORCE), 0.0, 5000.0, "gf", "Forces are in grams-force.")
_time = between(quantity(TIME), 0.0, 3600.0, "s")


def _word_kind(value: Any) -> ToolKind:
    return ToolKind(one_of([kind.value for kind in ToolKind])(value))


def _works(value: Any) -> tuple[Work, ...]:
    return tuple(Work(one_of([work.value for work in Work])(each)) for each in texts(value))


def _margins(value: Any) -> tuple[float, ...]:
    if isinstance(value, list):
        return tuple(lengths(4)(value))
    return (float(_length(value)),) * 4


def _table(value: Any) -> Any:
    """Take a table that is read on its own."""
    return value


MACHINE: Mapping[str, Read] = {
    "title": text,
    "kind": one_of(KINDS),
    "driver": text,
    "step": more_than_nothing(between(length, 0.0, 1.0, "mm", "It is the least move.")),
    "axes": text,
    "origin": one_of(ORIGINS),
    "registration": flag,
    "gap": between(length, 0.0, 200.0, "mm"),
    "cautions": texts,
    "bed": _table,
    "motion": _table,
    "tools": _table,
    "calibration": _table,
    "options": _table,
    "wire": _table,
}

BED: Mapping[str, Read] = {
    "length": more_than_nothing(_length),
    "width": more_than_nothing(_length),
    "roll": flag,
    "margins": _margins,
    "window": more_than_nothing(_length),
    "advance": one_of((BY_HAND, AUTOMATIC)),
}

MOTION: Mapping[str, Read] = {
    "travel-speed": _speed,
    "acceleration": more_than_nothing(quantity(ACCELERATION)),
    "lift": _time,
    "lower": _time,
    "change": _time,
    "independent": flag,
    "junction": more_than_nothing(between(length, 0.0, 5.0, "mm")),
}

_scale = between(number, 0.9, 1.1, "", "It is what was measured over what was meant.")
CALIBRATION: Mapping[str, Read] = {
    "scale-x": _scale,
    "scale-y": _scale,
    "skew": between(quantity(ANGLE), -5.0, 5.0, "degrees"),
    "date": text,
}

TOOL: Mapping[str, Read] = {
    "name": text,
    "number": whole(0, 999),
    "kind": _word_kind,
    "does": _works,
    "speed": _speed,
    "force": _force,
    "power": between(quantity(SHARE), 0.0, 100.0, "%", "Power is in per cent of the greatest."),
    "depth": between(length, 0.0, 200.0, "mm"),
    "passes": whole(1, 50),
    "pass-force": _force,
    "offset": between(
        length, 0.0, GREATEST_OFFSET, "mm", "A blade's tip lies 0.1 to 1.5 mm behind its pivot."
    ),
    "overcut": between(length, 0.0, 20.0, "mm", "A blade offset or two is enough."),
    "corner-overcut": between(length, 0.0, 10.0, "mm", "It must end in the waste."),
    "kerf": between(length, 0.0, 20.0, "mm", "The kerf is the width of the cut."),
    "swivel-above": between(quantity(ANGLE), 0.0, 180.0, "degrees", "It is a corner's turn."),
    "swivel-force": _force,
    "swivel-speed": _speed,
    "size": between(length, 0.0, 100.0, "mm"),
    "tabs": whole(0, 200),
    "tab-width": more_than_nothing(between(length, 0.0, 20.0, "mm")),
    "tab-spacing": between(length, 0.0, 5000.0, "mm"),
    "dashes": lengths(2),
    "precut": flag,
}


def faults(tool: Tool, motion: Motion, gap: float) -> Iterator[tuple[str, str, str]]:
    """Give what can't be true of a tool: the field, what is wrong with it, what to do.

    gap: mm that lie between cards.
    """
    fastest = motion.travel_speed
    for key, speed in (("speed", tool.speed), ("swivel-speed", tool.swivel_speed)):
        if speed is not None and speed > fastest:
            yield (
                key,
                f"{speed:g} mm/s is faster than the axes go, {fastest:g} mm/s",
                "Lower it, or raise travel-speed under [motion] if the machine's manual allows.",
            )
    if tool.offset and tool.kind is not ToolKind.TRAILING_BLADE:
        yield "offset", f"a {tool.kind} has no offset", "Only a trailing blade has one."
    if tool.kind is ToolKind.TRAILING_BLADE and not tool.offset:
        yield (
            "offset",
            "a trailing blade needs its offset",
            "Measure how far its tip lies behind its pivot, or cut a test card.",
        )
    if tool.kerf and tool.kind not in (ToolKind.BEAM, ToolKind.ROUTER):
        yield "kerf", f"a {tool.kind} takes no width away", "Only a beam and a router have a kerf."
    if tool.swivel_force is not None and (tool.force is None or tool.swivel_force > tool.force):
        yield (
            "swivel-force",
            "it is more than the force along the line",
            "Swing round corners with the same force or less.",
        )
    if tool.pass_force and tool.force is None:
        yield "pass-force", "there is no force for it to be added to", "Give the tool a force."
    if 2.0 * tool.corner_overcut > gap:
        yield (
            "corner-overcut",
            f"{tool.corner_overcut:g} mm past the corners of two cards meet in a gap of {gap:g} mm",
            "Make it less than half of the machine's gap.",
        )
    if tool.tabs and tool.corner_overcut:
        yield (
            "corner-overcut",
            "a card that tabs hold is cut in stretches, which don't run on past its corners",
            "Set tabs = 0, or corner-overcut = 0.",
        )
    if tool.dashes is not None and min(tool.dashes) <= 0.0:
        yield "dashes", "a dash and a gap must be longer than 0", 'Write ["3 mm", "2 mm"].'
    if tool.tabs and tool.tab_width <= tool.kerf:
        yield "tab-width", f"the kerf, {tool.kerf:g} mm, takes it all", "Make it wider."
