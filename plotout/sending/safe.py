"""Stopping: what the machine has not begun is discarded, and the tool is lifted."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from plotout.conversation import Account, Heard, Safe
from plotout.errors import MachineError
from plotout.sending.cutfile import CutFile
from plotout.sending.talk import PortTalk

GONE = (
    "The line is lost, so the machine could not be stopped: it continues with what it holds. "
    "Go to it: press its emergency stop or switch it off, and see that its tool is up and off."
)
UNSTOPPED = (
    "Something failed while the machine was being stopped, so nobody saw that its tool was lifted. "
    "Go to it: press its emergency stop or switch it off, and see that its tool is up and off."
)
UNASKED = "The machine was told to stop and to lift its tool, but can't confirm it: look."
LOST_PLACE = (
    "The machine {}, and may have lost its place. Home it, or register the sheet again, before you "
    "resume."
)
MISCOUNTED = (
    "The machine has lifted its tool by its own count, which a reset may have spoilt: see that "
    "the tool is up and off, else press its emergency stop and lift it by hand."
)


def make_safe(
    talk: PortTalk, file: CutFile, answers: bool, reset: bool = False, lift: bytes = b""
) -> Safe:
    """Lift the tool and switch it off; report only what the machine was seen to do.

    lift: that of the file's first strokes without one. reset: the machine may have been switched
    off and on: it counts heights from where it was then.
    Never raises for a lost line: then nothing more can be sent to the machine.
    """
    if file.language.acknowledges:
        talk.link.let_go_on(drop=True)  # else an instruction would be cut short
    before = len(talk.overheard)
    try:
        with talk.stopping():
            safe = file.language.make_safe(talk, lift or file.lift)
    except MachineError:
        return Safe(None, Account(idle=False), GONE)
    if safe.tool_up is None and not answers:
        return Safe(None, safe.account, UNASKED, safe.lost_place)
    again = _greeted_twice(talk.overheard[before:])
    if safe.tool_up and (reset or again or safe.account.fresh) and file.lift and safe.by_count:
        return replace(safe, tool_up=None, words=MISCOUNTED, lost_place=safe.lost_place or again)
    return safe


def _greeted_twice(said: list[Heard]) -> bool:
    """Return whether a machine greets twice while it is stopped: once for the stop's own reset, and
    once since its power failed.
    """
    greetings = Counter(one.text for one in said if one.kind == "reset")
    return any(times > 1 for times in greetings.values())


def how_lost(safe: Safe, fresh: bool) -> str:
    """Return in words why a machine may have lost its place. fresh: it no longer knew the job."""
    if fresh:
        return LOST_PLACE.format("was reset meanwhile")
    if safe.since_rest:
        return LOST_PLACE.format("was switched off, or reset, once it had stopped")
    return LOST_PLACE.format("had an alarm, or was still moving")


def how_left(safe: Safe) -> str:
    """Return in words how a machine was left."""
    return "The tool is up and off." if safe.tool_up else safe.words
