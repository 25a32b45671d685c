"""After a break: at which unit to resume.

A machine that stayed on finished what it held when the line or the sender was lost. So first wait
until it rests; then ask its state. What the journal, its count and its position leave open is a
question for the user, who can look at the sheet: nothing is guessed.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass, replace

from plotout.conversation import Account
from plotout.errors import MachineError, UserError, counted
from plotout.sending.cutfile import CutFile
from plotout.sending.journal import Told
from plotout.sending.recover import NEAR, Window, bounds, is_advance, partly, possible
from plotout.sending.talk import PortTalk
from plotout.sending.watch import strokes_named

OVERTAKEN = "Another job has used this machine's port since"
ADRIFT = "The machine was reset, had an error, or answered wrongly"
WAS_RESET = (
    "The machine was switched on or reset since the journal's last note, if only by a stop that "
    "could not be noted"
)
LOOK_EVERY = 0.1  # s
TELL_EVERY = 15.0  # s
UNTOLD = "If it can't tell how far it came, look at the sheet: plotout resume --from N."


@dataclass(frozen=True, slots=True)
class GoOn:
    """Where to resume: the first unit not done, and why, in words. partly: it is worked in part.
    chosen: by somebody who looked at the sheet, or by --from. most: strokes that may be cut, if
    those after `unit` are told already.
    """

    unit: int
    why: str
    partly: bool = False
    chosen: bool = False
    most: int = 0


@dataclass(frozen=True, slots=True)
class Doubt:
    """What only somebody at the sheet can say: how many strokes are complete before the first that
    is not: of what was sent last a reset may have lost the beginning.

    why: in words. least, most: the fewest and the most possible by what the machine showed, of
    `strokes` in the file.
    """

    why: str
    least: int
    most: int
    strokes: int


@dataclass(frozen=True, slots=True)
class Deciding:
    """The user's callbacks. which: see `run.Calls`. patience: s for the machine to rest.

    shown: shows what is in doubt, and returns where to look besides the sheet, in words.
    """

    said: Callable[[str], None]
    which: Callable[[Doubt], int | None]
    patience: float
    shown: Callable[[Doubt], str] = lambda _doubt: "the sheet"


def find_unit(file: CutFile, talk: PortTalk | None, record: Told, ask: Deciding) -> GoOn:
    """Return where to resume. talk: to a machine that can be asked, else None.

    Raises MachineError if the machine doesn't answer or rest, and UserError if only the user could
    say, and doesn't.
    """
    try:
        return _found(file, talk, record, ask)
    except MachineError as fault:
        if "--from" in fault.fix:
            raise
        raise MachineError(fault.problem, fix=f"{fault.fix} {UNTOLD}", place=fault.place) from fault


def _found(file: CutFile, talk: PortTalk | None, record: Told, ask: Deciding) -> GoOn:
    high = _most(file, record)
    known = GoOn(record.done, f"strokes known to be done: {min(record.done, file.strokes)}")
    if record.rested and talk is not None and not record.overtaken:
        moved = _moved(file, talk.language.account(talk), record)
        if moved:
            ask.said(moved)
    if record.settled:
        done = min(record.done, file.strokes)
        return GoOn(record.done, f"strokes done when it was stopped: {done}", record.partly)
    if record.gaps or record.doubt:
        return _asked(ask, _in_doubt(file, record, high))
    if high <= record.done:
        return known
    if talk is None or record.overtaken:
        why = "This machine can't be asked" if talk is None else OVERTAKEN
        return _asked(ask, _doubt(file, why, (record.done, high)))
    known = replace(known, most=min(high, file.strokes))
    if record.adrift:
        ask.said(_may_be(record.done, known.most, ADRIFT))
        return known
    return _by_machine(file, talk, record, high, ask) or known


def _in_doubt(file: CutFile, record: Told, high: int) -> Doubt:
    """Return what a journal leaves open, or one from which records are missing: they may have said
    that more was sent, if nothing else shows how much.
    """
    if not record.gaps:
        return _doubt(file, "It was stopped where its position says too little", record.doubt)
    most = file.units if record.reached is None else high
    return _doubt(file, "The journal is incomplete", (*record.doubt, most))


def _moved(file: CutFile, account: Account, record: Told) -> str:
    """Return in words that a machine is not where it was stopped, "" if it is or nobody knows."""
    if account.at is None or not record.rested:
        return ""
    at = account.at if account.height is None else (*account.at, account.height)
    told = list(zip(record.rested, at, strict=False))  # one of both may be without a height
    was, now = ([value * file.report_mm for value in place] for place in zip(*told, strict=True))
    if math.dist(was, now) <= max(NEAR, 1.01 * file.rounding_mm):
        return ""
    before, since = (
        ", ".join(f"{axis} {value:.2f}" for axis, value in zip("xyz", place, strict=False))
        for place in (was, now)
    )
    return (
        f"Caution: it was stopped at {before} mm, and says that it is at {since} mm. If nobody has "
        "moved or homed it, it was reset, and has lost its place: home it, or register the sheet "
        "again."
    )


def _by_machine(
    file: CutFile, talk: PortTalk, record: Told, high: int, ask: Deciding
) -> GoOn | None:
    """Return where to resume by the machine's report, or None if it has forgotten the job."""
    ask.said("Waiting for the machine to rest.")
    account = _rested(talk, ask)
    if account.fresh:
        ask.said(_may_be(record.done, min(high, file.strokes), WAS_RESET))
        return None
    window = _window(file, record, account, high)
    done = possible(file, account, window)
    if len(done) == 1:
        strokes = counted(min(done[0], file.strokes), "stroke")
        part = partly(file, account, window, done[0])
        return GoOn(done[0], f"the machine has finished {strokes}", part)
    doubt = _doubt(
        file,
        "The machine's position does not show what is done",
        bounds(file, account, window, done),
    )
    return _asked(ask, doubt)


def _most(file: CutFile, record: Told) -> int:
    """Return how many units the machine can have received at most.

    What was sent is noted in the journal first: one that knows of less has lost its last lines.
    """
    reached = None if record.settled else record.reached
    return min(record.sent if reached is None else reached.sent_unit + 1, file.units)


def _window(file: CutFile, record: Told, account: Account, high: int) -> Window:
    reached = record.reached
    if reached is None:
        return Window(record.done, high)
    last = reached.sent_line if high == reached.sent_unit + 1 else None
    if not (account.idle and file.language.acknowledges) or reached.got_unit < record.done:
        return Window(record.done, high, last=last)
    return Window(reached.got_unit, high, reached.got_line, last)


def _rested(talk: PortTalk, ask: Deciding) -> Account:
    begun = told_at = time.monotonic()
    while time.monotonic() - begun < max(ask.patience, LOOK_EVERY):
        if time.monotonic() - told_at > TELL_EVERY:
            told_at = time.monotonic()
            ask.said(f"Still waiting for that, {ask.patience:.0f} s in all at most.")
        account = talk.language.account(talk)
        if account.idle or account.stands:
            # also a greeting when the port was opened: what it does with bytes that were still on
            # their way then is no work of the job that had sent them
            return replace(account, fresh=True) if talk.hearing.reset else account
        time.sleep(LOOK_EVERY)
    raise MachineError(
        f"the machine does not come to rest within {ask.patience:.0f} s", fix="Check the machine."
    )


def _doubt(file: CutFile, why: str, done: tuple[int, ...]) -> Doubt:
    """Return what is in doubt of the strokes; a file's ending may be done twice."""
    least, most = min(*done, file.strokes), min(max(done), file.strokes)
    if any(is_advance(file, unit) for unit in range(least, most)):
        why += " (an advance of the roll counts as a stroke)"
    return Doubt(why, least, most, file.strokes)


def most_cut(file: CutFile, record: Told, there: GoOn, first: int) -> int:
    """Return the last stroke that may be cut twice if a job is resumed at unit `first`; 0: none."""
    if first < there.unit or there.chosen:
        high = may_be_cut(file, record, first)
    else:
        high = max(there.most, first + 1 if there.partly else 0)
    return high if high > first else 0


def may_be_cut(file: CutFile, record: Told, first: int) -> int:
    """Return the last stroke that may be cut if the user has the job resumed at unit `first`."""
    high = min(max(_most(file, record), record.done + record.partly), file.strokes)
    rested = max(record.doubt, default=high)
    if first <= rested and not record.gaps:  # else the sheet shows that it went on
        high = min(high, rested)
    return high


def _may_be(done: int, high: int, why: str) -> str:
    return f"{why}. {again(done, high)}" if high > done else f"{why}."


def again(done: int, high: int) -> str:
    """Return in words that what follows `done` strokes, up to `high`, may be cut twice."""
    strokes = strokes_named(done + 1, high)
    return f"{strokes} may already be cut, wholly or partly, and will be cut again."


def _asked(ask: Deciding, doubt: Doubt) -> GoOn:
    if doubt.least == doubt.most:
        return GoOn(doubt.least, f"strokes done by all accounts: {doubt.least}")
    look = ask.shown(doubt)
    unit = ask.which(doubt)
    if unit is None:
        raise UserError(
            f"{doubt.why}: between {doubt.least} and {doubt.most} strokes are complete",
            fix=f"Look at {look}, then give the first stroke that is not complete, even if later "
            f"ones are: plotout resume --from {doubt.least + 1} (to {doubt.most + 1})",
        )
    return GoOn(unit, "as you chose", chosen=True)
