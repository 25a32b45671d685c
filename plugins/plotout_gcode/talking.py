"""The conversations with a small control: to identify it, and to read its state.

Source: the public interface notes of the most used open-source three-axis control, version 1.1.
`Hold:1` still slows down: a reset then costs the place, so rest is waited for. `?` is answered
within 20 ms. An alarm or a lock refuses all motion until the machine is homed or unlocked.
"""

from __future__ import annotations

import re

from plotout import Account, Heard, MachineError, Talk
from plotout_gcode.status import (
    LOCKED,
    Status,
    ask,
    modes,
    work_place,
)

RESET = b"\x18"
FEED = 60  # units a minute: a job's first feed, until the file sets its own
NO_LINE = b"Q\n"  # after half a line: the whole is refused
NEAR = 0.03  # mm within which two places are the same
_HEIGHT = re.compile(rb"Z\s*([-+]?\d*\.?\d+)", re.IGNORECASE)
_SPEED = re.compile(r"\bS(\d{1,9})")
_FEED = re.compile(r"\bF(\d+\.?\d*)")
DOOR = "its door is or was open: close it; it goes on when it is told so at its panel"
GREETINGS = ("reset", "locked", "strange")
CHECKING = "its check mode is on ($C): it would answer everything, and cut nothing"
SLEEPS = "it is asleep, and wakes only by a reset, after which it must be homed"


def heard(status: Status, text: str) -> Heard:
    """Return a report in the sender's form."""
    at = status.work or status.own
    height = at[2] if at and len(at) > 2 else None
    on = None if status.power is None else status.power > 0.0
    kind = "error" if status.state in (*LOCKED, "Check") else "status"
    means = {"Door": DOOR, "Check": CHECKING, "Sleep": SLEEPS}.get(status.state, "")
    value = -1 if status.line is None else status.line
    place = (at[0], at[1]) if at and len(at) > 1 else None
    idle = status.state == "Idle"
    return Heard(kind, text, value, place, height, idle, status.at_rest, on, means)


def identify(talk: Talk) -> tuple[str, ...]:
    """Ask it to identify itself, and read the whole answer."""
    said = talk.command(b"$I\n", ("other", "strange"))
    names = (answer.text for answer in said if answer.kind in ("other", "strange"))
    return tuple(filter(None, names))


def account(talk: Talk) -> Account:
    """Return its state: where it is, what it last worked, and whether it remembers this job.

    An incomplete line is turned into one that is refused as a whole, so that none of it is worked.
    A control that was reset has no feed yet.
    """
    status = ask(talk)
    if status is None:
        raise MachineError(
            "the machine does not answer", fix="Check that it is on, its cable, and the line speed."
        )
    if not status.at_rest:
        return Account(idle=False)
    place = work_place(talk)
    return Account(
        idle=status.state == "Idle",
        stands=True,
        fresh=_fresh(talk) if status.state == "Idle" else None,
        count=status.line if status.line else None,
        at=(place.x, place.y) if place else None,
        height=place.z if place else None,
    )


def is_down(talk: Talk, lift: bytes, on: bool) -> bool:
    """Return whether the tool of one at rest is below its lift, if it works by height and the
    height is known; else whether its beam is on. A spindle may turn.
    """
    if lifts_to(lift) is None:
        return on
    place = work_place(talk)
    return place is not None and is_below(place.z, lift)


def is_below(height: float, lift: bytes) -> bool:
    """Return whether a height, mm, is below zero and below that of a lift."""
    return height < min(0.0, lifts_to(lift) or 0.0) - NEAR


def lifts_to(lift: bytes) -> float | None:
    """Return the height, mm, to which a lift brings the tool; None if it only switches off."""
    found = _HEIGHT.search(lift)
    mm = 25.4 if b"G20" in lift else 1.0
    return float(found[1]) * mm if found else None


def settle(talk: Talk) -> bool:
    """Have it drop what it holds, and switch off; return whether it was reset for that.

    One that is idle holds at most half a line. It is not reset: that another reset came from
    elsewhere could not be told then.
    """
    status = ask(talk)
    if status is not None and status.state == "Idle":
        talk.command(NO_LINE)
        talk.command(b"M5\n")
        return False
    talk.say(RESET)
    talk.hear(0.3, lambda answer: answer.kind in GREETINGS)
    ask(talk)
    return True


def _fresh(talk: Talk) -> bool | None:
    talk.command(NO_LINE)
    return has_no_feed(talk)


def has_no_feed(talk: Talk) -> bool | None:
    """Return whether no feed is in force, as after a reset; None if it doesn't say."""
    return has_no_feed_in(modes(talk))


def has_no_feed_in(modes: str) -> bool | None:
    """Return the same of the modes in force ($G); None if no feed is among them."""
    feed = _FEED.search(modes)
    return float(feed[1]) == 0.0 if feed else None


def speed_in(modes: str) -> int:
    """Return the spindle's speed among the modes in force ($G): 0 after a reset; -1: not said."""
    speed = _SPEED.search(modes)
    return int(speed[1]) if speed else -1
