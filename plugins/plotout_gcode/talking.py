"""What is said to a small control to know it, to stop it, and to learn where it stands.

Source: the public interface notes of the most used open-source three-axis control, version 1.1.
`Hold:1` still slows down: a reset then costs the place, so rest is waited for. `?` is answered
within 20 ms. An alarm or a lock refuses all motion until the machine is homed or unlocked.
"""

from __future__ import annotations

import re
import time

from plotout import Account, Heard, MachineError, Safe, Talk
from plotout_gcode.status import LOCKED, Status, ask, work_place

RESET = b"\x18"
PATIENCE = 600.0  # s for a machine to work off what it holds
SLOWING = 3.0  # s in which any machine comes to rest
NEAR = 0.03  # mm within which two places are one
LIFTING = 5.0  # s for the tool to come up
_HEIGHT = re.compile(rb"Z\s*([-+]?\d*\.?\d+)", re.IGNORECASE)
_FEED = re.compile(r"\bF(\d+\.?\d*)")
BY_HAND = "Switch its power off, or press its emergency stop, and lift the tool by hand."


def heard(status: Status, text: str) -> Heard:
    """Return a report as the sender takes it."""
    at = status.work or status.own
    on = bool(status.power and status.power > 0.0)
    height = at[2] if at and len(at) > 2 else None
    down = on or (height is not None and height < 0.0)
    kind = "error" if status.state in (*LOCKED, "Door") else "status"
    value = -1 if status.line is None else status.line
    place = (at[0], at[1]) if at and len(at) > 1 else None
    idle = status.state == "Idle"
    return Heard(kind, text, value, place, height, idle, status.at_rest, down)


def identify(talk: Talk) -> tuple[str, ...]:
    """Ask who it is, and see that question answered to its end."""
    talk.say(b"$I\n")
    said = talk.hear(1.0, lambda each: each.kind in ("ok", "error"))
    return tuple(each.text for each in said if each.kind == "other" and each.text)


def account(talk: Talk) -> Account:
    """Wait until it stands with nothing left to do; say where it is, and what it last worked."""
    status = _rest(talk)
    place = work_place(talk)
    return Account(
        idle=status.state == "Idle",
        count=status.line if status.line else None,
        at=(place.x, place.y) if place else None,
        height=place.z if place else None,
    )


def _rest(talk: Talk) -> Status:
    give_up = time.monotonic() + PATIENCE
    while time.monotonic() < give_up:
        status = ask(talk)
        if status is None:
            raise MachineError(
                "the machine does not answer", fix="Is it on, the cable in, and the speed right?"
            )
        if status.at_rest:
            return status
        time.sleep(0.05)
    raise MachineError("the machine does not come to rest", fix="Look at the machine.")


def make_safe(talk: Talk, lift: bytes) -> Safe:
    """Halt it, wait for rest, reset it there, lift the tool, and look whether it is up."""
    talk.say(b"!")
    stood = _stands(talk)
    before = _account(stood)
    talk.say(RESET + b"M5\n" + lift)
    up = _lifted(talk, lift)
    words = "" if up else f"The tool was not seen to come up. {BY_HAND}"
    return Safe(up, before, words, lost_place=stood is None or not stood.at_rest)


def _stands(talk: Talk) -> Status | None:
    """Return the first report of rest: the machine's word, or two equal places."""
    until = time.monotonic() + SLOWING
    last: Status | None = None
    while time.monotonic() < until:
        status = ask(talk, 0.1)
        if status is None:
            continue
        same = last is not None and (status.own or status.work) == (last.own or last.work)
        if status.at_rest or (status.step is None and status.state == "Hold" and same):
            return status
        last = status
    return last


def _account(status: Status | None) -> Account:
    if status is None:
        return Account(idle=False)
    at = status.work or status.own
    return Account(
        idle=status.state == "Idle",
        count=status.line if status.line else None,
        at=(at[0], at[1]) if at else None,
        height=at[2] if at and len(at) > 2 else None,
    )


def _lifted(talk: Talk, lift: bytes) -> bool | None:
    """Return whether the tool was seen to come up and off."""
    target = _HEIGHT.search(lift)
    until = time.monotonic() + LIFTING
    while time.monotonic() < until:
        status = ask(talk, 0.2)
        if status is None:
            continue
        if status.state in LOCKED:
            return False
        if target is None and status.state == "Idle":
            return not status.power
        place = work_place(talk) if status.state == "Idle" else None
        if place is not None and target is not None:
            return place.z >= float(target[1]) - NEAR and not status.power
    return None
