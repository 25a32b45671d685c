"""Whether a stopped machine stands where its job has led it.

A machine that was reset counts from elsewhere, and some say nothing of a reset. Then neither its
place nor its height is true: that its tool is up can't be seen by them.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from plotout.conversation import Account
from plotout.language import Stop
from plotout.sending.recover import NEAR, Window, possible

if TYPE_CHECKING:
    from plotout.sending.exchange import Exchange

EARLIER = 1000  # units before the last one done, at which one that answers early may stand


def was_led_there(state: Exchange, account: Account) -> bool | None:
    """Return whether a machine stands where the job has led it so far, its height too, if it tells
    that. None if nobody knows: it is on its way to the first stroke, or was moved in a pause.
    """
    file, low = state.file, max(state.first, state.done - 1)
    if account.at is None or not account.stands or account.fresh:
        return None
    high = min(state.unit + 1, file.units)
    if possible(file, account, Window(low, high)):
        return True
    if possible(file, account, Window(max(state.first, low - EARLIER), low)):
        return True
    if state.watch.wish.pauses:
        return None
    return False if state.done > state.first else _comes(state, account)


def _comes(state: Exchange, account: Account) -> bool | None:
    """Return the same of one that has done nothing yet. One that was reset is not in a move."""
    standing = state.standing.at if state.standing is not None else None
    halted = account.within or state.turns is not None
    if halted and _is_as_high_as_it_travels(state, account):
        return True
    if halted or standing is None or _is_at(account, standing[:2]):
        return None
    mm = state.file.unit_mm / state.file.report_mm
    x, y = state.file.place_before(state.first)
    return None if _is_at(account, (x * mm, y * mm)) else False


def _is_at(account: Account, place: tuple[float, ...]) -> bool:
    return account.at is not None and math.dist(account.at, place) <= NEAR


def _is_as_high_as_it_travels(state: Exchange, account: Account) -> bool:
    """Return whether it is as high as plotout leads it to the first stroke."""
    file = state.file
    stops = file.language.stops(file.highest_lift, Stop((0.0, 0.0), False))
    if account.height is None or not stops or stops[-1].height is None:
        return False
    return abs(account.height * file.report_mm - stops[-1].height * file.unit_mm) <= NEAR
