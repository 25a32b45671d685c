"""The conversations with a small control: to identify it, to stop it, and to read its state.

Source: the public interface notes of the most used open-source three-axis control, version 1.1.
`Hold:1` still slows down: a reset then costs the place, so rest is waited for. `?` is answered
within 20 ms. An alarm or a lock refuses all motion until the machine is homed or unlocked.
"""

from __future__ import annotations

import math
import re
import time
from dataclasses import replace

from plotout import Account, Heard, MachineError, Safe, Talk
from plotout_gcode.status import (
    LOCKED,
    REPORTS,
    Status,
    ask,
    kept_zero,
    modes,
    parse,
    work_place,
)

RESET = b"\x18"
FEED = 60  # units a minute: a job's first feed, until the file sets its own
NO_LINE = b"Q\n"  # after half a line: the whole is refused
SLOWING = 3.0  # s in which any machine comes to rest
NEAR = 0.03  # mm within which two places are the same
LIFTING = 5.0  # s for the tool to come up
_HEIGHT = re.compile(rb"Z\s*([-+]?\d*\.?\d+)", re.IGNORECASE)
_SPEED = re.compile(r"\bS(\d{1,9})")
_FEED = re.compile(r"\bF(\d+\.?\d*)")
RESETTING = 0.5  # s in which a control greets after a reset
SETTLES = 0.1  # s
ABOVE = (
    "The machine says that its tool is higher than the first strokes lift it, so it was not moved. "
    "If the machine was switched off and on, that is wrong: see that the tool is up and off, else "
    "press its emergency stop and lift it by hand."
)
DOOR = "its door is or was open: close it; it goes on when it is told so at its panel"
GREETINGS = ("reset", "locked", "strange")
CHECKING = "its check mode is on ($C): it would answer everything, and cut nothing"
SLEEPS = "it is asleep, and wakes only by a reset, after which it must be homed"
ALARMED = "The machine is locked after an alarm"
BY_HAND = "Switch its power off, or press its emergency stop, and lift the tool by hand."


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


def make_safe(talk: Talk, lift: bytes) -> Safe:
    """Halt it, wait for rest, reset it there, lift the tool, and confirm that it is up.

    A reset while it moves would cost its place, and what is sent while it resets is lost. A lift is
    never sent that would lower the tool: one that was switched off counts from where it stood.
    """
    talk.say(b"!")
    stood, heard_before = _stands(talk)
    talk.say(RESET)
    greeting = talk.hear(RESETTING, lambda answer: answer.kind in GREETINGS)
    was_reset = any(answer.kind == "reset" for answer in heard_before)
    alarmed = any(_is_alarm(answer) for answer in (*heard_before, *greeting))
    talk.say(b"\nM5\n")  # one that knows none of this as commands is within a line
    offset, above = None, False
    if lifts_to(lift) is not None:
        offset = _offset(talk, stood, heard_before)
        now = _answers(talk) if stood is not None else None  # its power may have failed since
        offset = _offset(talk, now, []) if offset is None else offset
        above = _is_above(now or stood, offset, lift)
    if not above:
        talk.say(lift)
    up, offset, after = _lifted(talk, lift, offset)
    stood = _left(stood, after)
    words = "" if up else f"The tool was not confirmed to be up. {BY_HAND}"
    if above:
        up, words = None, ABOVE
    elif up is None:
        words = f"The machine does not report whether its tool is up. {BY_HAND}"
    last = ask(talk, 0.2) if up is not True else None
    if last is not None and last.state in LOCKED:
        asleep = last.state == "Sleep"
        why = SLEEPS.replace("it is", "The machine is") if asleep else ALARMED
        then = "reset and home it" if asleep else "home it, or unlock it as described in its manual"
        words = f"{why}: it won't lift its tool, which may be down. {BY_HAND} Then {then}."
    locked = last is not None and last.state in LOCKED
    lost = locked or alarmed or was_reset or (stood is not None and not stood.at_rest)
    counted = lifts_to(lift) is not None
    account = _account(stood, offset, was_reset)
    return Safe(up, account, words, lost_place=lost, by_count=counted)


def _offset(talk: Talk, stood: Status | None, said: list[Heard]) -> tuple[float, ...] | None:
    """Return the work zero of a halted machine in its own coordinates, None if it isn't known or
    not needed. said: by the machine up to the report `stood`.
    """
    if stood is None or stood.work is not None or stood.own is None:
        return None
    reports = [one for one in (parse(answer.text) for answer in said) if one is not None]
    offset = next((one.offset for one in reversed(reports) if one.offset is not None), None)
    if offset is None:  # after a reset most tell it at once
        report = ask(talk, 0.2)
        offset = report.offset if report is not None else None
    if offset is None:
        acknowledged: list[Heard] = []
        talk.hear(SETTLES, lambda one: _has(acknowledged, one, 2))
        offset = kept_zero(talk)
    return offset


def _answers(talk: Talk) -> Status | None:
    """Return the next report of a machine that has answered before, also of one that starts."""
    until = time.monotonic() + LIFTING
    report = ask(talk, 0.2)
    while report is None and time.monotonic() < until:
        report = ask(talk, 0.2)
    return report


def _has(acknowledged: list[Heard], one: Heard, enough: int) -> bool:
    if one.kind in ("ok", "error"):
        acknowledged.append(one)
    return len(acknowledged) >= enough


def _is_above(stood: Status | None, offset: tuple[float, ...] | None, lift: bytes) -> bool:
    """Return whether a machine says that its tool is higher than a lift would bring it."""
    target = lifts_to(lift)
    if target is None or stood is None:
        return False
    at = stood.work or stood.less(offset)
    return at is not None and len(at) > 2 and at[2] > target + NEAR


def _is_alarm(answer: Heard) -> bool:
    return answer.kind == "error" and answer.text.upper().startswith("ALARM")


def _stands(talk: Talk) -> tuple[Status | None, list[Heard]]:
    """Return the first report of rest, and all that the machine said until then: by its state, or
    by two equal places. One that is idle may begin its next line at once, and then needs its hold
    again: two such reports count.
    """
    until = time.monotonic() + SLOWING
    last: Status | None = None
    said: list[Heard] = []
    while time.monotonic() < until:
        talk.say(b"?")
        new = talk.hear(0.1, lambda answer: parse(answer.text) is not None)
        said += new
        status = next(filter(None, (parse(answer.text) for answer in new)), None)
        if status is None:
            continue
        same = last is not None and (status.own or status.work) == (last.own or last.work)
        idle = status.state == "Idle"
        if idle and not (same and last is not None and last.state == "Idle"):
            talk.say(b"!")
            last = status
            continue
        if status.at_rest or (status.step is None and status.state == "Hold" and same):
            return replace(status, step=0) if status.state == "Hold" else status, said
        last = status
    return last, said


def _left(stood: Status | None, after: Status | None) -> Status | None:
    """Return where it was left: one that began another line after it had reported rest is elsewhere
    than then. Its height is no longer the one of its work.
    """
    if stood is None or after is None:
        return stood
    one, other = stood.own or stood.work, after.own or after.work
    if not (one and other) or math.dist(one[:2], other[:2]) <= NEAR:
        return stood
    own, work = (None if place is None else place[:2] for place in (after.own, after.work))
    return replace(after, own=own, work=work, line=None)


def _account(status: Status | None, offset: tuple[float, ...] | None, was_reset: bool) -> Account:
    at = None if status is None else status.work or status.less(offset)
    if status is None or at is None:
        return Account(idle=False, fresh=was_reset)
    return Account(
        idle=status.state == "Idle",
        stands=True,
        fresh=was_reset,
        count=status.line if status.line else None,
        at=(at[0], at[1]),
        height=at[2] if len(at) > 2 else None,
    )


def _lifted(
    talk: Talk, lift: bytes, offset: tuple[float, ...] | None
) -> tuple[bool | None, tuple[float, ...] | None, Status | None]:
    """Return whether the tool was confirmed up and off, the offset of work zero, and the machine's
    last report. offset: as far as it is known.
    """
    target = lifts_to(lift)
    until = time.monotonic() + LIFTING
    status: Status | None = None
    reports = 0
    while time.monotonic() < until:
        report = ask(talk, 0.2)
        if report is None:
            continue
        status = report
        offset = status.offset or offset
        reports += 1
        if status.state in LOCKED:
            return None if target is not None else _off(talk, status), offset, status
        asked_in_vain = status.work is None and offset is None and reports > REPORTS
        if status.state == "Idle" and asked_in_vain:
            offset = kept_zero(talk)
        known = status.work is not None or offset is not None or reports > REPORTS
        if status.state != "Idle" or not known:
            continue
        at = status.work or status.less(offset)
        if target is None:
            return _off(talk, status), offset, status
        if at is None or len(at) < 3:
            return None, offset, status
        if at[2] >= target - NEAR:
            return _off(talk, status), offset, status
    return None if reports == 0 else False, offset, status


def _off(talk: Talk, status: Status) -> bool | None:
    """Return whether its spindle or beam is off: by its report, or by the modes in force ($G)."""
    if status.power is not None:
        return not status.power
    said = modes(talk)
    return "M5" in said.split() if said else None
