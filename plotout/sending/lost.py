"""What a machine that stands shows of what it has lost: by its place, and by its count."""

from __future__ import annotations

import math
import time
from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np

from plotout.conversation import Account, Heard
from plotout.errors import MachineError, Place
from plotout.geometry.strokes import FloatArray
from plotout.language import Stop
from plotout.sending.cutfile import CutFile
from plotout.sending.recover import at_stop
from plotout.sending.talk import MOST_LATE

if TYPE_CHECKING:
    from plotout.sending.exchange import Exchange

_ABOUT = 1.0  # mm: no machine's own steps are as coarse
_LATE = 4.0  # s by which a report of a place that changes no more may lag (judgement),
_LATEST = 60.0  # and by which any may
_AGAIN = 0.25  # s
AT_HOME = (
    "Note: the machine says that it stands where it stood before the job, or at its origin, and "
    "the file ends elsewhere. If it doesn't go there by itself, it has not moved: look at the "
    "sheet."
)
PLACELESS = (
    "Note: the machine doesn't say where it stands, or not so that plotout understands it: whether "
    "it has moved was not seen. Look at the sheet."
)


def place_after(file: CutFile, unit: int, line: int) -> Stop | None:
    """Return where a machine stands that has done all up to a line of a unit, None if the file has
    not said where by then.
    """
    stop: Stop | None = None
    anywhere = (math.nan, math.nan)
    for index, stops in file.stops(max(0, unit - 2), min(unit + 1, file.units), anywhere):
        for one in stops:
            if index < unit or one.line <= line:
                stop = one
    return stop if stop is not None and math.isfinite(sum(stop.at)) else None


def at_the_end(file: CutFile, account: Account) -> bool:
    """Return whether a machine stands where the file leaves it, as far as that is known."""
    stop = _end(file)
    return stop is None or at_stop(file, account, stop)


def see_that_it_arrived(state: Exchange) -> None:
    """See that a machine that reports all as done stands about where the file leaves it.

    Some report late where they are, and some go home by themselves: those were elsewhere before. A
    machine that can't be asked on its way where it is may have stood there, and one that doesn't
    tell where it is anywhere: its user is told so.
    Raises MachineError, also for one whose user stops it meanwhile: what it has done of this run is
    in doubt.
    """
    stop = _end(state.file)
    if stop is None or state.watch.wish.stop:
        return
    end = np.array(stop.at) * state.file.unit_mm
    begun = since = time.monotonic()
    before = end
    tells = state.file.language.acknowledges or state.looks.at is not None
    while tells and (at := _stands_at(state)) is not None:
        if np.hypot(*(at - before)) > _ABOUT:
            before, since = at, time.monotonic()
        home = _is_home(state, at)
        if np.hypot(*(at - end)) <= _ABOUT or (state.looks.moved and home):
            return
        now = time.monotonic()
        if now - since > _LATE or now - begun > _LATEST or state.watch.wish.stop:
            if not home or state.file.language.acknowledges:
                raise _elsewhere(state, at, end)
            state.watch.said(AT_HOME)
            return
        state.take_in(state.talk.hear(_AGAIN))
    state.watch.said(PLACELESS)


def _stands_at(state: Exchange) -> FloatArray | None:
    """Return where the machine says that it stands, mm; None if it doesn't."""
    before, language, begun = len(state.talk.overheard), state.file.language, time.monotonic()
    at = language.stands_at(state.talk)
    while at is None and not language.acknowledges and time.monotonic() - begun < MOST_LATE:
        at = language.stands_at(state.talk)  # of one that answers late
    for heard in state.talk.overheard[before:]:
        state.looks.saw(heard.at)
    return None if at is None else np.array(at) * state.file.report_mm


def _is_home(state: Exchange, at: FloatArray) -> bool:
    """Return whether it stands at its own origin or the work's, or where it stood before the job.
    at: by the work's, mm.
    """
    looks, mm = state.looks, state.file.report_mm
    if looks.at is None or looks.last is None:
        return bool(np.hypot(*at) <= _ABOUT)
    own, before = np.array(looks.last) * mm, np.array(looks.at) * mm
    return bool(min(np.hypot(*at), np.hypot(*own), np.hypot(*(own - before))) <= _ABOUT)


def _elsewhere(state: Exchange, at: FloatArray, end: FloatArray) -> MachineError:
    work = state.at_work()
    state.trust.proven = state.first  # when it ceased to move is not known
    state.is_unsure()
    state.loses_count()
    origin = bool(np.hypot(*at) <= _ABOUT)
    where = "its origin" if origin else f"x {at[0]:.2f}, y {at[1]:.2f} mm"
    return MachineError(
        f"{work} the machine reports everything as done, but says that it stands at {where}, and "
        f"the file ends at x {end[0]:.2f}, y {end[1]:.2f} mm",
        fix="Do its motors still move it, or does it go there by itself? Look at the sheet; then: "
        "plotout resume",
        place=Place(file=state.file.path),
    )


def _end(file: CutFile) -> Stop | None:
    """Return where a file leaves the machine, as far as that is known."""
    last = file.units - 1
    return place_after(file, last, len(file.unit(last)))


def skipped(state: Exchange, count: int | None, heard: Iterable[Heard]) -> bool:
    """Return whether a machine counts on beyond units of which it has never told the count: it has
    lost those. count: its own when it stood; heard: what it said until then.
    """
    language = state.file.language
    if count is None or language.acknowledges:
        return False
    told = [answer.value for answer in heard if answer.kind == "count"]
    done = next((n for n in range(state.unit + 1, 0, -1) if language.same_count(count, n)), 0)
    marks = [message.done + 1 for message in state.unanswered if message.done is not None]
    return any(
        not any(language.same_count(value, mark) for value in told) for mark in marks if mark < done
    )
