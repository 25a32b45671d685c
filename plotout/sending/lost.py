"""Where a machine stands that has done what it was sent."""

from __future__ import annotations

from plotout.conversation import Account
from plotout.language import Stop
from plotout.sending.cutfile import CutFile
from plotout.sending.recover import at_stop


def place_after(file: CutFile, unit: int, line: int) -> Stop | None:
    """Return where a machine stands that has done all up to a line of a unit, if the file says."""
    stop: Stop | None = None
    for index, stops in file.stops(max(0, unit - 2), min(unit + 1, file.units)):
        for one in stops:
            if index < unit or one.line <= line:
                stop = one
    return stop


def at_the_end(file: CutFile, account: Account) -> bool:
    """Return whether a machine stands where the file leaves it, as far as that is known."""
    last = file.units - 1
    stop = place_after(file, last, len(file.unit(last)))
    return stop is None or at_stop(file, account, stop)
