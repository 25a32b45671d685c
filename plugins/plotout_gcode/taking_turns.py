"""The conversations with a controller that only reads lines: see `lines`.

A question is asked in numbered lines, and waits its turn: M400 until all moves are done, then M114
twice. A job asks it once after each stroke, so two places with nothing between them are ours. If
the machine asks for an earlier line, or says nothing, what it has not taken is sent again.
"""

from __future__ import annotations

import functools
import operator
import re
import time
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from plotout import Account, Differences, Heard, Machine, MachineError, Safe, Talk
from plotout_gcode.stopping import ABOVE
from plotout_gcode.talking import lifts_to

JOB = 1_000_000  # number of a job's first line; see `Language.first_number`
HERE = (b"M400", b"M114", b"M114")
ANSWERS_IN = 2.0  # s for a machine at rest
RESTS_IN = 10.0  # s in which one that works may come to rest
QUIET = 0.3  # s without a word: it has refused all that it got after a damaged line
LOOK_EVERY = 3.0  # s of silence after which it is asked which line it wants
LIFE = 120.0  # s without a word after which a machine that is to stop is given up
MOST = 300.0  # s in all
PROBE_EVERY = 5.0  # s of silence: it reads nothing while its queue is full
TELL_EVERY = 10.0  # s
TRIES = 5
BEFORE = 3  # places and their `ok`s that what is new may belong to
NEAR = 0.03  # mm
BY_HAND = "Press its stop button or switch its power off, and lift the tool by hand."
AT_ONCE = f"To stop it at once: {BY_HAND[0].lower()}{BY_HAND[1:]}"
HALTED = f"The machine has halted: it does nothing more, and its tool may be down. {BY_HAND}"
_NAME = re.compile(r"FIRMWARE_NAME: ?(.{1,60}?)(?: *[A-Z_]{6,}:|$)")
_KIND = re.compile(r"MACHINE_TYPE: ?.{1,60}?(?= *[A-Z_]{4,}:|$)")
_MOST = re.compile(r"Max: *X(\d+\.?\d*) *Y(\d+\.?\d*)(?: *Z(\d+\.?\d*))?")


def numbered(text: bytes, number: int) -> bytes:
    """Return a line with its number and its checksum."""
    return checked(b"N%d %s" % (number, text))


def expect(number: int) -> tuple[bytes, bytes]:
    """Return what makes the machine expect that number next: some want a number in front, too."""
    return checked(b"M110 N%d" % (number - 1)), numbered(b"M110 N%d" % (number - 1), number - 1)


def checked(text: bytes) -> bytes:
    """Return a line with its checksum: the XOR of what precedes `*`."""
    return b"%s*%d\n" % (text, functools.reduce(operator.xor, text))


@dataclass(slots=True)
class Answer:
    """What came of a question. place: where the machine rests, None without an answer.

    said: everything heard meanwhile. fresh: it no longer knew the lines that it had taken.
    """

    place: Heard | None = None
    said: list[Heard] = field(default_factory=list)
    fresh: bool = False


def wanted(talk: Talk) -> int:
    """Return the number of the line that the machine wants next: it refuses any other.

    Raises MachineError without an answer.
    """
    for _ in range(TRIES):
        heard = talk.ask(numbered(b"M114", 1), ("place", "again"), ANSWERS_IN)
        if heard is not None:
            said = talk.hear(QUIET, lambda one: one.kind == "ok")
            again = [one for one in (heard, *said) if one.kind == "again"]
            return again[-1].value if again else 2
    raise MachineError(
        "the machine does not answer", fix="Check that it is on, its cable, and the line speed."
    )


def do(
    talk: Talk,
    *lines: bytes,
    life: float = RESTS_IN,
    most: float = RESTS_IN,
    words: str = "",
    fresh_too: bool = True,
) -> Answer:
    """Have the machine work lines, and return where it rests then. life: s without a word until it
    is given up; most: s in all. words: what else the user is told while it takes long. fresh_too:
    one that was reset meanwhile works them, too; else it is only asked where it is.
    """
    answer = Answer()
    first = talk.number = talk.number or wanted(talk)
    asked = [*lines, *HERE]
    begun = heard_at = told_at = time.monotonic()
    failed, probe_at = False, 0.0
    recent: list[Heard] = []
    _say(talk, asked, first)
    while (now := time.monotonic()) - heard_at < life and now - begun < most:
        new = talk.hear(LOOK_EVERY, lambda one: one.kind in ("place", "again", "error"))
        if any(one.kind == "place" for one in new):
            new += talk.hear(QUIET, lambda one: one.kind in ("place", "error"))
        answer.said += new
        heard_at = time.monotonic() if new else heard_at
        recent = [*recent[-BEFORE:], *(one for one in new if one.kind in ("place", "ok"))]
        answer.place = _twice(recent)
        failed = failed or any(one.kind == "error" for one in new)
        if answer.place is not None or talk.halted or (failed and not new):
            break
        if any(one.kind == "again" for one in new):
            new += talk.hear(QUIET)
            next_one = [one.value for one in new if one.kind == "again"][-1]
            answer.fresh = answer.fresh or next_one < min(first, JOB)
            asked = asked[max(0, next_one - first) :] or list(HERE)  # an answer was lost
            asked = asked if fresh_too or not answer.fresh else list(HERE)
            first = next_one
            _say(talk, asked, first)
        elif any(one.kind == "reset" for one in new) or (not new and time.monotonic() > probe_at):
            probe_at = time.monotonic() + PROBE_EVERY
            talk.say(numbered(b"M114", 1))
        if time.monotonic() - told_at > TELL_EVERY:
            told_at = time.monotonic()
            talk.tell(
                "Waiting until the machine has done what it holds, at most "
                f"{life:.0f} s while it says nothing. {words}".strip()
            )
    talk.hear(QUIET / 3, lambda one: one.kind == "ok")
    return answer


def _say(talk: Talk, lines: Sequence[bytes], first: int) -> None:
    talk.say(b"".join(numbered(line, first + index) for index, line in enumerate(lines)))
    talk.number = first + len(lines)


def _twice(said: Sequence[Heard]) -> Heard | None:
    """Return a place that was given twice, with nothing but the first one's `ok` between."""
    for index, one in enumerate(said):
        if one.kind != "place":
            continue
        after = said[index + 1 : index + 3]
        after = after[1:] if after and after[0].kind == "ok" else after[:1]
        if after and after[0].kind == "place" and _same(one, after[0]):
            return after[0]
    return None


def _same(one: Heard, other: Heard) -> bool:
    return (one.at, one.height) == (other.at, other.height)


def identify(talk: Talk) -> tuple[str, ...]:
    """Ask for its name (M115), once it is seen that it numbers and checks its lines.

    Raises MachineError for one that doesn't: what it loses could not be known.
    """
    wanted(talk)  # one that has just started takes it for its first line
    said = _asked(talk, numbered(b"M114", 1))
    again = [one for one in said if one.kind == "again"]
    if again:
        talk.number = again[-1].value
        damaged = numbered(b"M114", talk.number).replace(b"M114", b"M115")
        said = _asked(talk, damaged)
        again = [one for one in said if one.kind == "again"]
    if not said:
        raise MachineError(
            "the machine answers too late to be known: whether it numbers and checks its lines",
            fix="Nothing has moved. Try again once it rests, and nothing else talks to it.",
        )
    if not again:
        raise MachineError(
            "the machine does not number and check its lines: one that is lost could not be known",
            fix="Nothing has moved. plotout can't drive it safely.",
        )
    talk.number = again[-1].value
    answer = do(talk, b"M115")
    said = answer.said
    _knows(answer)
    names = [name[1] for one in said if (name := _NAME.search(one.text))]
    kinds = [kind[0].strip() for one in said if (kind := _KIND.search(one.text))]
    return (*names, *kinds)


def _knows(answer: Answer) -> None:
    """Raise MachineError if the machine does not know what it is asked, or answers unreadably."""
    unknown = [one.text for one in answer.said if one.kind == "error" and "M400" in one.text]
    oks = sum(one.kind == "ok" for one in answer.said)
    others = [one.text for one in answer.said if one.kind == "other" and "FIRMWARE" not in one.text]
    if unknown:
        problem = f"the machine answers M400 by '{unknown[0]}': when it rests could not be known"
    elif answer.place is None and oks > len(HERE):
        shown = f"by '{others[-1][:60]}'" if others else "by a mere 'ok'"
        problem = f"the machine answers M114 {shown}, which holds no X, Y and Z"
    else:
        return
    raise MachineError(problem, fix="Nothing has moved. plotout can't drive it safely.")


def _refused(one: Heard) -> bool:
    return one.kind in ("again", "place")


def _asked(talk: Talk, line: bytes) -> list[Heard]:
    talk.say(line)
    return [*talk.hear(ANSWERS_IN + talk.late, _refused), *talk.hear(QUIET)]


def account(talk: Talk) -> Account:
    """Return its state once it rests, and whether it was reset since a job was begun."""
    number = wanted(talk)
    talk.number = number
    answer = do(talk)
    return _account(answer, number < JOB)


def _account(answer: Answer, fresh: bool) -> Account:
    place = answer.place
    if place is None:
        return Account(idle=False)
    return Account(True, stands=True, fresh=fresh, at=place.at, height=place.height)


def was_reset(talk: Talk) -> bool:
    """Return whether it no longer counts its lines as it did."""
    before = talk.number
    talk.number = wanted(talk)
    if before and talk.number != before:  # unless its answer came late or damaged
        talk.number = wanted(talk)
    return bool(before) and talk.number != before


def differences(talk: Talk, machine: Machine) -> Differences:
    """Compare the travel that it reports (M211) with the bed: it ends a move there without a word.

    Nothing else that such machines report can do harm.
    """
    said = do(talk, b"M211").said
    most = next(filter(None, (_MOST.search(one.text) for one in said)), None)
    if most is None:
        return Differences()
    beyond = [
        f"it travels {float(most[group])} mm along {axis}, not {size:g}: it would cut what lies "
        "beyond that along its edge, without an error"
        for group, axis, size in ((1, "x", machine.bed.length), (2, "y", machine.bed.width))
        if float(most[group]) < size
    ]
    return Differences(unsafe=tuple(beyond))


def make_safe(talk: Talk, lift: bytes) -> Safe:
    """Let it do what it has accepted, since nothing can stop that; then lift its tool, switch it
    off, and see that it is up.
    """
    if talk.halted:
        return Safe(None, words=HALTED)
    stood = do(talk, life=LIFE, most=MOST, words=AT_ONCE)
    if stood.place is None:
        return Safe(None, words=HALTED if talk.halted else _unseen(stood))
    target = lifts_to(lift)
    above, after = _lifted(talk, lift, stood)
    fresh = stood.fresh or after.fresh or any(one.kind == "reset" for one in stood.said)
    account = _account(stood, fresh)
    if after.place is None:
        return Safe(None, account, _unseen(after), lost_place=fresh)
    if above:  # a lift would lower it: one that was switched off counts from where it stood
        higher = not fresh and _same(stood.place, after.place)
        rests = after.place.height
        return Safe(None, account, ABOVE, lost_place=fresh, higher=higher, height=rests)
    if target is None:
        words = (
            "The machine has worked M5, but can't report whether its beam or its spindle is off: "
            f"look. If it is not: {BY_HAND}"
        )
        return Safe(None, account, words, lost_place=fresh)
    up = (after.place.height or 0.0) >= target - NEAR
    words = "" if up else f"The tool was not confirmed to be up. {BY_HAND}"
    return Safe(up, account, words, lost_place=fresh, height=after.place.height)


def _lifted(talk: Talk, lift: bytes, stood: Answer) -> tuple[bool, Answer]:
    """Lift the tool and switch it off; return whether it was higher before, and what came of it.

    A lift would lower the tool then: one that was switched off counts from where it stood. So one
    that is found to have been meanwhile is only lifted once its height was compared again.
    """
    target, fresh = lifts_to(lift), False
    while True:
        height = (stood.place.height if stood.place else None) or 0.0
        above = target is not None and height > target + NEAR
        lines = [] if above else [line.strip() for line in lift.splitlines()]
        after = do(talk, b"M5", *lines, life=LIFE, most=MOST, words=AT_ONCE, fresh_too=False)
        again = after.fresh and not fresh and after.place is not None
        fresh = fresh or after.fresh
        if not again:
            return above, replace(after, fresh=fresh)
        stood = after


def _unseen(answer: Answer) -> str:
    """Return what is wrong with a machine that gave no place, and what to do."""
    error = next((one.text for one in answer.said if one.kind == "error"), "")
    what = f"says '{error}'" if error else "does not say where it is"
    return f"The machine {what}: it may still move, and its tool may be down. {BY_HAND}"
