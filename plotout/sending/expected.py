"""Where a machine that takes its messages in turn should be at a mark, and what if it isn't."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from plotout.conversation import Account, Heard
from plotout.errors import MachineError, Place
from plotout.language import Stop
from plotout.sending.messages import Message
from plotout.sending.recover import at_stop

if TYPE_CHECKING:
    from plotout.sending.exchange import Exchange


def is_at(state: Exchange, mark: Message, heard: Heard) -> bool:
    """Return whether a place is the one at a mark; before the first unit it may be anywhere."""
    stop = _end_of(state, mark)
    account = Account(True, at=heard.at, height=heard.height)
    return stop is None or at_stop(state.file, account, stop)


def _end_of(state: Exchange, mark: Message) -> Stop | None:
    """Return where the machine should be at a mark; None for the job's first one: anywhere."""
    if mark.settles:
        return None
    if mark.at is not None:
        return Stop(mark.at, False)
    if mark.unit <= 1 and not _is_known(state, mark):
        return None
    units = range(max(state.first, mark.unit - 2), min(mark.unit + 1, state.file.units))
    stop: Stop | None = None
    for index, stops in state.file.stops(units.start, units.stop):
        for one in stops:  # of this run: before it the machine may have been moved
            stop = one if index < mark.unit or one.line <= mark.line else stop
    return stop


def _is_known(state: Exchange, mark: Message) -> bool:
    """Return whether the file has led to a place by a line of its first units."""
    language = state.file.language
    before = b"".join(state.file.unit(unit) for unit in range(mark.unit))
    lines = list(language.split(state.file.unit(mark.unit)))[: mark.line + 1]
    places, _ = language.reached(before + b"".join(lines), Stop((math.nan, math.nan), False))
    return len(places) > 0 and bool(np.isfinite(places[-1]).all())


def astray(state: Exchange, heard: Heard, mark: Message) -> MachineError:
    """Return the error for a machine that did not do what it was sent; it counts no more."""
    state.loses_count()
    stop = _end_of(state, mark)
    there = "elsewhere"
    if stop is not None:
        mm = state.file.unit_mm
        there = f"at x {stop.at[0] * mm:.2f}, y {stop.at[1] * mm:.2f}"
        there += "" if stop.height is None else f", z {stop.height * mm:.2f}"
    return MachineError(
        f"{state.at_work()} the machine says '{heard.text}', but should be {there} mm",
        fix="Does its travel end before that? It then ends a move early, without an error. Or was "
        "its answer damaged? Look at the sheet and at its settings; then: plotout resume",
        place=Place(file=state.file.path),
    )
