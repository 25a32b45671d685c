"""Stopping a small control: its hold, its reset once it rests, and the lift that is seen.

Source: the public interface notes of the most used open-source three-axis control, version 1.1.
`Hold:1` still slows down: a reset then costs the place, so rest is waited for. `?` is answered
within 20 ms. An alarm or a lock refuses all motion until the machine is homed or unlocked.
"""

from __future__ import annotations

import math
import time
from dataclasses import dataclass, replace

from plotout import Account, Heard, Safe, Talk
from plotout_gcode.status import LOCKED, REPORTS, Status, ask, kept_zero, modes, parse
from plotout_gcode.talking import GREETINGS, NEAR, RESET, SLEEPS, lifts_to

SLOWING = 3.0  # s in which any machine comes to rest
LIFTING = 5.0  # s for the tool to come up
RESETTING = 0.5  # s in which a control greets after a reset
SETTLES = 0.1  # s
ABOVE = (
    "The machine says that its tool is higher than the first strokes lift it, so it was not moved. "
    "If the machine was switched off and on, that is wrong: see that the tool is up and off, else "
    "press its emergency stop and lift it by hand."
)
JUMPED = (
    "The machine says that it is elsewhere than where it was lifted: its power may have failed, "
    "and its tool may be down."
)
ALARMED = "The machine is locked after an alarm"
BY_HAND = "Switch its power off, or press its emergency stop, and lift the tool by hand."


@dataclass(frozen=True, slots=True)
class Halt:
    """How a machine was halted. stood: its report at rest; said: what it said until then.

    alarmed: it raised an alarm.
    """

    stood: Status | None
    said: list[Heard]
    alarmed: bool

    @property
    def was_reset(self) -> bool:
        """Whether something else had reset it before."""
        return any(answer.kind == "reset" for answer in self.said)


@dataclass(frozen=True, slots=True)
class Lift:
    """How a tool was lifted. above: not at all, since it is higher by the machine's report.

    up: it was seen to be up and off; None if nobody knows. offset: of the work's zero; before,
    after: the machine's reports.
    """

    above: bool
    up: bool | None
    offset: tuple[float, ...] | None
    before: Status | None
    after: Status | None


def make_safe(talk: Talk, lift: bytes) -> Safe:
    """Halt it, wait for rest, reset it there, lift the tool, and confirm that it is up.

    A reset while it moves would cost its place, and what is sent while it resets is lost. A lift is
    never sent that would lower the tool: one that was switched off counts from where it stood.
    """
    halt = _halted(talk)
    lifted = _lifted(talk, lift, halt)
    by_height = lifts_to(lift) is not None
    failed = _has_jumped(halt, lifted, lift)
    stood = halt.stood if failed else _left(halt.stood, lifted.after)
    up = None if lifted.above or (failed and by_height) else lifted.up
    words = _words(up, lifted.above, failed)
    last = ask(talk, 0.2) if up is not True else None
    locked = last is not None and last.state in LOCKED
    if last is not None and locked:
        words = _locked(last)
    moved = stood is not None and not stood.at_rest
    lost = locked or halt.alarmed or halt.was_reset or moved
    account = _account(stood, lifted.offset, halt.was_reset)
    higher = lifted.above and lifted.up is True and not (lost or failed)
    return Safe(
        up,
        account,
        words,
        lost_place=lost or failed,
        by_count=by_height,
        since_rest=not lost,
        higher=higher,
        height=_account(lifted.after, lifted.offset, was_reset=False).height,
    )


def _halted(talk: Talk) -> Halt:
    """Halt it, wait for rest, and reset it there; what it turns or burns with is switched off."""
    talk.say(b"!")
    stood, said = _stands(talk)
    talk.say(RESET)
    greeting = talk.hear(RESETTING, lambda answer: answer.kind in GREETINGS)
    talk.say(b"\nM5\n")  # one that knows none of this as commands is within a line
    return Halt(stood, said, any(map(_is_alarm, (*said, *greeting))))


def _lifted(talk: Talk, lift: bytes, halt: Halt) -> Lift:
    """Lift the tool of a halted machine, unless that would lower it."""
    offset, above, before, stood = None, False, None, halt.stood
    if lifts_to(lift) is not None:
        offset = _offset(talk, stood, halt.said)
        before = _answers(talk) if stood is not None else None  # its power may have failed since
        offset = _offset(talk, before, []) if offset is None else offset
        above = _is_above(before or stood, offset, lift)
    if not above:
        talk.say(lift)
    up, offset, after = _seen(talk, lift, offset)
    return Lift(above, up, offset, before, after)


def _words(up: bool | None, above: bool, failed: bool) -> str:
    """Return what is wrong with a lift, and what to do at once by hand."""
    if up:
        return ""
    if above:
        return ABOVE
    if failed:
        return f"{JUMPED} {BY_HAND}"
    if up is None:
        return f"The machine does not report whether its tool is up. {BY_HAND}"
    return f"The tool was not confirmed to be up. {BY_HAND}"


def _locked(last: Status) -> str:
    asleep = last.state == "Sleep"
    why = SLEEPS.replace("it is", "The machine is") if asleep else ALARMED
    then = "reset and home it" if asleep else "home it, or unlock it as described in its manual"
    return f"{why}: it won't lift its tool, which may be down. {BY_HAND} Then {then}."


def _has_jumped(halt: Halt, lifted: Lift, lift: bytes) -> bool:
    """Return whether it is elsewhere than a lift straight up brings it: it was switched off and on
    meanwhile, and counts from where it stood. One that was idle may have begun another line.
    """
    stood, before, after = halt.stood, lifted.before, lifted.after
    if after is None or after.state in LOCKED:
        return False
    pairs = []
    if stood is not None and stood.state == "Hold":  # its reset may move the zero of its work
        pairs.append((stood.own, (before or after).own))
    if before is not None:
        pairs += [(before.own, after.own), (before.work, after.work)]
    if any(one and other and math.dist(one[:2], other[:2]) > NEAR for one, other in pairs):
        return True
    return not lifted.above and _is_above(after, lifted.offset, lift)


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


def _seen(
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
