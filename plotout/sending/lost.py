"""What a machine that stands shows of what it has lost: by its place, and by its count."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np

from plotout.conversation import Account, Heard
from plotout.errors import MachineError, Place
from plotout.language import Stop
from plotout.sending.cutfile import CutFile
from plotout.sending.recover import at_stop

if TYPE_CHECKING:
    from plotout.sending.exchange import Exchange

_ABOUT = 1.0  # mm: no machine's own steps are as coarse


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


def see_that_it_arrived(state: Exchange, account: Account | None) -> None:
    """See that a machine which has answered everything stands about where the file leaves it.

    One that is at its origin has gone there by itself. Raises MachineError.
    """
    stop = _end(state.file)
    if account is None or account.at is None or stop is None:
        return
    at, end = (
        np.array(place) * mm
        for place, mm in ((account.at, state.file.report_mm), (stop.at, state.file.unit_mm))
    )
    if min(np.hypot(*(at - end)), np.hypot(*at)) <= _ABOUT:
        return
    state.loses_count()
    raise MachineError(
        f"{state.at_work()} the machine has answered everything, but says that it stands at "
        f"x {at[0]:.2f}, y {at[1]:.2f} mm, and the file ends at x {end[0]:.2f}, y {end[1]:.2f} mm",
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
