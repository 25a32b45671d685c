"""After a break: what is done, and at which unit to go on.

A machine that stayed on worked off what it held when the line or the sender was lost. So first
wait until it rests, throw away what it could not use (a command cut short), and ask where it
stands: the place says which of the units that were sent it has finished.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

from plotout.errors import MachineError
from plotout.wire.cutfile import CutFile
from plotout.wire.journal import Told
from plotout.wire.language import Heard, Point
from plotout.wire.link import Link
from plotout.wire.sender import Hearing

RESTED = 2.0  # s without change in what it holds: longer than any one move takes
STEPS = 1.01  # plotter units within which two places are one
MM = 0.03  # the same for G-code, in mm


@dataclass(frozen=True, slots=True)
class GoOn:
    """Where to go on: the first unit not done, and why, in words."""

    unit: int
    why: str


def find_unit(
    file: CutFile,
    link: Link,
    told: Told,
    *,
    rested: float = RESTED,
    patience: float = 600.0,
    tell: Callable[[str], None] = lambda _text: None,
) -> GoOn:
    """Ask the machine where it stands and return where to go on.

    Raises MachineError when the machine does not answer.
    """
    tell("Waiting until the machine rests.")
    heard = _place(file, link, rested, patience)
    if heard.at is None:
        raise MachineError("the machine does not say where it is", fix="Resume with --from N.")
    units = _matches(file, told, heard.at, heard.down)
    if units:
        return GoOn(max(units), f"the machine stands after stroke {max(units)}")
    return GoOn(told.done, f"the machine's place says nothing; {told.done} strokes are known done")


def _place(file: CutFile, link: Link, rested: float, patience: float) -> Heard:
    """Wait for rest, drop what is left of a broken command, and return the machine's place."""
    language = file.language
    hearing = Hearing(language)
    link.read()  # answers to the lost sender
    last, since = "", time.monotonic()
    give_up = since + patience
    while time.monotonic() - since < rested:
        heard = _answer(link, hearing, language.ask, ("room", "status"))
        if heard.text != last or (heard.kind == "status" and not heard.idle):
            last, since = heard.text, time.monotonic()
        if time.monotonic() > give_up:
            raise MachineError("the machine does not come to rest", fix="Look at the machine.")
        time.sleep(min(0.05, rested / 5))
    link.write(language.drop)
    time.sleep(min(0.05, rested / 5))
    question = language.ask if language.by_line else language.mark
    return _answer(link, hearing, question, ("at", "status"))


def _answer(link: Link, hearing: Hearing, question: bytes, kinds: tuple[str, ...]) -> Heard:
    """Ask until one of these kinds is heard; three questions at most."""
    for _ in range(3):
        link.write(question)
        until = time.monotonic() + 2.0
        while time.monotonic() < until:
            for heard in hearing.take(link.read()):
                if heard.kind in kinds:
                    return heard
            time.sleep(0.005)
    raise MachineError(
        "the machine does not answer", fix="Is it on, the cable in, and the speed right?"
    )


def _matches(file: CutFile, told: Told, at: Point, down: bool | None) -> list[int]:
    """Return the units at which to go on that agree with where the machine stands."""
    by_line = file.language.by_line
    scale = 25.4 if by_line and b"G20" in file.head(0) else 1.0
    near = MM if by_line else STEPS
    found = []
    place: Point = (0.0, 0.0)
    for unit in range(told.done, min(told.sent, file.units)):
        before, work = file.language.work_ends(file.unit(unit), place)
        place = (work or before or [place])[-1]
        lifted = not down
        if lifted and any(_same(at, p, scale, near) for p in before):
            found.append(unit)
        if work and _same(at, work[-1], scale, near) and (not lifted or by_line):
            found.append(unit + 1)
        elif not lifted and any(_same(at, p, scale, near) for p in work):
            found.append(unit)
    return found


def _same(at: Point, point: Point, scale: float, near: float) -> bool:
    return abs(at[0] - point[0] * scale) <= near and abs(at[1] - point[1] * scale) <= near
