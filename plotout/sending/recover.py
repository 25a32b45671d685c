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
from plotout.sending.cutfile import CutFile
from plotout.sending.hearing import Hearing
from plotout.sending.journal import Told
from plotout.sending.language import HPGL_ROUND, Heard, Language, Point
from plotout.sending.link import Link

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
    rested: float | None = None,
    patience: float = 600.0,
    tell: Callable[[str], None] = lambda _text: None,
) -> GoOn:
    """Ask the machine where it stands and return where to go on.

    Raises MachineError when the machine does not answer.
    """
    by_journal = f"{told.done} strokes are known done"
    if told.adrift:
        return GoOn(told.done, f"{by_journal}; what the machine did after that can't be trusted")
    tell("Waiting until the machine rests.")
    language = file.language
    hearing = Hearing(language)
    _rest(link, hearing, language, RESTED if rested is None else rested, patience)
    if hearing.reset:
        return GoOn(told.done, f"{by_journal}, and the machine has just been reset")
    if not language.by_line:
        link.write(language.drop)  # or a command cut short would swallow the question
    tally = _answer(link, hearing, language.tally, ("tally", "status"))
    heard = _answer(link, hearing, language.place, ("at", "status"))
    if language.by_line:
        link.write(language.drop)  # which makes such machines forget their count
        _answer(link, hearing, language.ask, ("status",))
    if heard is None or heard.at is None:
        raise MachineError("the machine does not say where it is", fix="Resume with --from N.")
    unit = _by_count(told, tally.value if tally else -1)
    if unit is not None:
        unit -= _unfinished(file, unit - 1, heard)
        return GoOn(unit, f"the machine has finished {unit} strokes")
    units = _matches(file, told, heard.at, heard.down)
    if units:
        return GoOn(min(units), f"by its place the machine has finished {min(units)} strokes")
    return GoOn(told.done, f"{by_journal}; the machine's place says no more")


def _by_count(told: Told, value: int) -> int | None:
    """Return the count that the machine holds, if it is one that this job can have reached."""
    if value < 0:
        return None
    around = range(told.done, told.sent + 1)
    return next((unit for unit in around if value in (unit, unit % HPGL_ROUND) and unit), None)


def _unfinished(file: CutFile, unit: int, heard: Heard) -> bool:
    """Return whether the machine stands just before the last move of a unit that it has counted.

    HP-GL's count is left there; a line of G-code that is counted is done when the machine rests.
    """
    if file.language.by_line or unit < 0 or heard.at is None:
        return False
    *_, (_, before, work) = file.work(unit, unit + 1)
    points = [*before, *work]
    if len(points) < 2 or not work:
        return False
    down = len(work) > 1  # a single move is counted before the tool is let down
    return heard.down == down and _same(heard.at, points[-2], 1.0, STEPS)


def _rest(link: Link, hearing: Hearing, language: Language, rested: float, patience: float) -> None:
    """Wait until the machine has worked off what it holds."""
    hearing.take(link.read())  # answers to the lost sender
    last, since = "", time.monotonic()
    give_up = since + patience
    while time.monotonic() - since < rested:
        heard = _answer(link, hearing, language.ask, ("room", "status"))
        if heard is None:
            raise MachineError(
                "the machine does not answer", fix="Is it on, the cable in, and the speed right?"
            )
        if heard.text != last or (heard.kind == "status" and not heard.idle):
            last, since = heard.text, time.monotonic()
        if time.monotonic() > give_up:
            raise MachineError("the machine does not come to rest", fix="Look at the machine.")
        time.sleep(min(0.05, rested / 5))


def _answer(link: Link, hearing: Hearing, question: bytes, kinds: tuple[str, ...]) -> Heard | None:
    """Ask until one of these kinds is heard; three questions at most."""
    for _ in range(3):
        link.write(question)
        until = time.monotonic() + 1.0
        while time.monotonic() < until:
            for heard in hearing.take(link.read()):
                if heard.kind in kinds:
                    return heard
            time.sleep(0.005)
    return None


def _matches(file: CutFile, told: Told, at: Point, down: bool | None) -> list[int]:
    """Return the units at which to go on that agree with where the machine stands."""
    by_line = file.language.by_line
    scale = file.scale
    near = MM if by_line else STEPS
    found = []
    for unit, before, work in file.work(told.done, min(told.sent, file.units)):
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
