"""An answer was lost, or a message: which of those not answered must be sent again?

A machine answers in order. If it stands, and n of the messages sent to it are answered, it has
worked the first n; only the last ones are in doubt, and its position shows which of them it has
worked. Those without motion may be repeated, if that does no harm.
"""

from __future__ import annotations

from collections.abc import Sequence

from plotout.conversation import Account
from plotout.language import Stop
from plotout.sending.cutfile import CutFile
from plotout.sending.messages import Message
from plotout.sending.recover import at_stop


def first_missing(file: CutFile, account: Account, pending: Sequence[Message]) -> int | None:
    """Return how many of the messages not answered were worked; None if that is not certain."""
    if account.at is None or not pending or not file.language.acknowledges:
        return None
    stops: list[Stop | None] = [_before(file, pending[0])]
    last = stops[0] or Stop((0.0, 0.0), False)
    for message in pending:
        found = file.language.stops(message.data, last)
        last = found[-1] if found else last
        stops.append(found[-1] if found else None)
    reached = [index for index, stop in enumerate(stops) if stop and at_stop(file, account, stop)]
    if not any(stops):  # nothing has moved yet
        reached = [0]
    if not reached:
        return None
    between = stops[reached[0] : reached[-1] + 1]
    moved = any(stop and not at_stop(file, account, stop) for stop in between)
    again = list(pending)[reached[0] :]
    safe = all(file.language.repeatable(message.data) for message in again)
    return reached[0] if safe and not moved else None


def _before(file: CutFile, message: Message) -> Stop | None:
    """Return where the machine stood before a message; None if the file doesn't say."""
    return place_after(file, message.unit, message.line - 1)


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
