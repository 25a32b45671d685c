"""A small control's status report: `<State:n|MPos:x,y,z|Bf:n,n|Ln:n|FS:n,n|WCO:x,y,z>`.

Source: the public interface notes of the most used open-source three-axis control, version 1.1.
The place is in work coordinates (WPos), or in the machine's own (MPos); their offset (WCO) is only
in some of the reports, or in none, as some controls can be set. It then follows from what `$#`
tells: the zeros [G54:x,y,z] to [G59:x,y,z], of which `$G` names the one in force, what G92 shifts
them by, and a tool's length, TLO.
"""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from dataclasses import dataclass

from plotout import Talk

REPORTS = 40  # after which a control's offset is looked for elsewhere
_KEPT = re.compile(r"^\[(G5[4-9](?:\.\d)?|G92|TLO):(.*)")
_REPORT = re.compile(r"^<(\w+)(?::(\d))?(?:\|.*)?>$")
_FIELD = re.compile(r"\|(\w+):([-\d.,]+)")
_NUMBERS = re.compile(r"-?\d{1,9}(?:\.\d*)?(?:,-?\d{1,9}(?:\.\d*)?)*,?")
_AXES = (3, 6)  # the numbers of a zero
LOCKED = ("Alarm", "Sleep")


@dataclass(frozen=True, slots=True)
class Status:
    """A report. state: its word; step: the number after it, or None. Lengths as reported.

    own, work: the place in the machine's own and in work coordinates, or None if not reported.
    offset: work zero in the machine's own. line: number of the line at work, or None. room: bytes.
    """

    state: str
    step: int | None
    own: tuple[float, ...] | None
    work: tuple[float, ...] | None
    offset: tuple[float, ...] | None
    line: int | None
    blocks: int | None
    room: int | None
    power: float | None

    def less(self, offset: tuple[float, ...] | None) -> tuple[float, ...] | None:
        """Return its own place in work coordinates, None if either is unknown."""
        if self.own is None or offset is None:
            return None
        return tuple(a - b for a, b in zip(self.own, offset, strict=False))

    @property
    def at_rest(self) -> bool:
        """Whether it reports that nothing moves: a completed hold, a door that has stopped it."""
        if self.state == "Hold":
            return self.step == 0
        return self.state in ("Idle", *LOCKED) or (self.state == "Door" and self.step in (0, 1))


@dataclass(frozen=True, slots=True)
class WorkPlace:
    """Where the tool is in work coordinates, file units or mm as reported; z is 0 without one."""

    x: float
    y: float
    z: float


def parse(line: str) -> Status | None:
    """Return a report's meaning; None for anything else, a damaged report too."""
    head = _REPORT.match(line.strip())
    found = ((_NAMES.get(name.lower()), value) for name, value in _FIELD.findall(line))
    fields = [(name, value) for name, value in found if name]
    said = dict(fields)
    if not head or len(said) < len(fields) or not all(map(_NUMBERS.fullmatch, said.values())):
        return None
    if any(_has_decimal_commas(said.get(name, "")) for name in ("MPos", "WPos", "WCO")):
        return None
    own, work, offset, buffer, speeds, number = (_numbers(said.get(name)) for name in _READ)
    if any(place and len(place) == 1 for place in (own, work, offset)):
        return None
    return Status(
        state=head[1].capitalize(),  # some write it in small letters, or all in capitals
        step=int(head[2]) if head[2] else None,
        own=own,
        work=work,
        offset=offset,
        line=int(number[0]) if number else None,
        blocks=int(buffer[0]) if buffer else None,
        room=int(buffer[1]) if buffer and len(buffer) > 1 else None,
        power=speeds[1] if speeds and len(speeds) > 1 else None,
    )


def _has_decimal_commas(place: str) -> bool:
    """Return whether a place may be written as 50,000,40,000,-0,500: which is which is not said."""
    values = place.split(",")
    return len(values) > 3 and "." not in place and all(len(one) > 2 for one in values[1::2])


_READ = ("MPos", "WPos", "WCO", "Bf", "FS", "Ln")
_NAMES = {name.lower(): name for name in _READ}


def _numbers(text: str | None) -> tuple[float, ...] | None:
    return None if text is None else tuple(map(float, filter(None, text.split(","))))


def ask(talk: Talk, seconds: float = 1.0) -> Status | None:
    """Ask for a report; None when none comes."""
    talk.say(b"?")
    said = talk.hear(seconds + talk.late, lambda heard: parse(heard.text) is not None)
    return next(filter(None, (parse(heard.text) for heard in said)), None)


def work_place(talk: Talk) -> WorkPlace | None:
    """Return where the tool is, asking for reports until one has the offset; None if that, or what
    its offset is, remains unknown.
    """
    own: tuple[float, ...] | None = None
    offset: tuple[float, ...] | None = None
    for status in _reports(talk):
        if status.work is not None:
            return _place(status.work, None)
        own, offset = status.own or own, status.offset or offset
        if own is not None and offset is not None:
            return _place(own, offset)
    offset = None if own is None else kept_zero(talk)
    return None if own is None or offset is None else _place(own, offset)


def kept_zero(talk: Talk) -> tuple[float, float, float] | None:
    """Return the work zero in the machine's own coordinates as a control keeps it; None if it does
    not tell. One on hold tells nothing.
    """
    kept = zeros(talk)
    chosen = next((word for word in modes(talk).strip("[]").split() if word in kept), "")
    if not chosen or not all(kept.values()):
        return None
    zero, shift = (_three(_numbers(kept.get(name)) or ()) for name in (chosen, "G92"))
    longer = _numbers(kept.get("TLO")) or (0.0,)
    return zero[0] + shift[0], zero[1] + shift[1], zero[2] + shift[2] + longer[-1]


def zeros(talk: Talk) -> dict[str, str]:
    """Return the zeros that a control tells (`$#`), and what shifts them: the numbers by name; ""
    for those that came damaged.
    """
    found = (_KEPT.match(answer.text.strip()) for answer in talk.command(b"$#\n"))
    return {match[1]: _undamaged(match[1], match[2]) for match in found if match}


def _undamaged(name: str, told: str) -> str:
    """Return the numbers of a zero, or of a tool's length (TLO), if they are whole; else ""."""
    numbers = told.removesuffix("]")
    least, most = (1, 6) if name == "TLO" else _AXES
    whole = told != numbers and _NUMBERS.fullmatch(numbers) and numbers[-1] != ","
    return numbers if whole and least <= len(numbers.split(",")) <= most else ""


def modes(talk: Talk) -> str:
    """Return its modes in force ($G), "" if it does not tell them."""
    said = talk.command(b"$G\n", ("turn",))
    return next((answer.text for answer in said if answer.text.startswith("[GC:")), "")


def work_zero(talk: Talk) -> tuple[float, ...] | None:
    """Return its work zero in its own coordinates, asking until a report has it; None if none."""
    return next((one.offset for one in _reports(talk) if one.offset is not None), None)


def _reports(talk: Talk) -> Iterator[Status]:
    """Ask for reports, until one does not come, or so many have."""
    for _ in range(REPORTS):
        status = ask(talk)
        if status is None:
            return
        yield status
        time.sleep(0.01)


def _place(at: tuple[float, ...], offset: tuple[float, ...] | None) -> WorkPlace:
    x, y, z = (a - b for a, b in zip(_three(at), _three(offset or ()), strict=True))
    return WorkPlace(x, y, z)


def _three(values: tuple[float, ...]) -> tuple[float, float, float]:
    x, y, z, *_ = (*values, 0.0, 0.0, 0.0)
    return x, y, z
