"""A pause: the user is told when the machine rests, and when it does not."""

from __future__ import annotations

import math
import time
from typing import NamedTuple

from plotout.conversation import Account, Point
from plotout.errors import counted
from plotout.language import Stop
from plotout.sending import faults
from plotout.sending.cutfile import CutFile
from plotout.sending.exchange import Exchange
from plotout.sending.knowing import see_that_it_knows
from plotout.sending.lost import place_after
from plotout.sending.messages import Message, marked
from plotout.sending.pushing import NAP, answered, push
from plotout.sending.recover import NEAR, is_advance
from plotout.sending.stalled import ASK_AFTER, look, mind, refuse_silence

TRIES = 2
OF_QUESTIONS = ("turn", "ok", "error")  # answers to what one at rest was asked, not to the job
LOOK_EVERY = 0.5  # s between looks at a machine that is to rest
DOWN = "The machine rests, but reports that its tool is down or on: look at it. p goes on, q stops."
MOVED = (
    "Note: the machine was moved while it was paused, or else its zero was set anew. It goes back, "
    "with its tool up, to where its work goes on, by the zero that it has now."
)
ENDS = (
    "Note: what was set at its panel so that it only holds until a reset, as a tool's length may, "
    "ends with this stop."
)
ELSEWHERE = (
    "Still paused: the machine says that it is not where its work so far ended. If it was only "
    "moved by its keys, p goes on. If its origin was set anew, what is still to do would lie "
    "elsewhere: q stops; set the origin back, then resume."
)
UNWATCHED = (
    "Caution: the machine does not say where it is. If its origin is set anew at its panel while "
    "it is paused, nobody sees that, and what is still to do lies elsewhere."
)
RAISED = (
    "Note: the zero of the work was set anew along z: {} before, {} now. That is right after a "
    "blade was changed; else the tool now goes in deeper, or less deep."
)
MOVES = "The machine does not rest yet: it still moves, or is held."


class AsItWas(NamedTuple):
    """What a machine had in force before somebody could change it, and where its zero lay; see
    `Language.in_force` and `Language.zero`. Empty: it doesn't say.
    """

    in_force: str = ""
    zero: str = ""

    @staticmethod
    def of(state: Exchange) -> AsItWas:
        """Ask a machine that rests."""
        language, talk = state.file.language, state.talk
        return AsItWas(language.in_force(talk), language.zero(talk))


def pause(state: Exchange, unit: int, patience: float, chosen: bytes = b"") -> None:
    """Stand with the tool up until the user goes on or stops; say so once the machine rests.

    Raises MachineError if it does not answer meanwhile. patience: s without progress before the
    user is asked. chosen: what has chosen the tool, see `Language.chooses`.
    """
    _lift(state, unit, patience)
    wish, rest = state.watch.wish, _Rest(state)
    while wish.pause:
        _wait(state, rest, patience)
        if wish.stop:
            tell_what_ends(state)
        if wish.stop or (state.answers and rest.account is None):
            return
        see_that_it_knows(state)
        now = place_by_turn(state, patience)
        if rest.is_left() or is_elsewhere(rest.account, now):
            state.watch.said(ELSEWHERE)
            rest.account, wish.pause = now or rest.account, True
    back = _way_back(state, rest.account)
    see_as_it_was(state, rest.before.in_force, back)
    _tell_if_raised(state, rest.before)
    if push(state, Message(state.unit, chosen, state.line), patience):
        _tell_if_moved(state, rest.account)
        _send(state, back, patience)


def place_by_turn(state: Exchange, patience: float) -> Account | None:
    """Return where a machine that takes its messages in turn believes it is: it is asked. None of
    any other, or if the user has stopped it.
    """
    if state.turns is None:
        return None
    anywhere = Message(state.unit, b"", state.line, done=state.done - 1, settles=True)
    for message in marked(state.file.language, anywhere):
        push(state, message, patience)
    return look(state) if answered(state, patience) else None


def is_elsewhere(before: Account | None, now: Account | None) -> bool:
    """Return whether a machine says that it is elsewhere than before; not if either is unknown."""
    if before is None or now is None:
        return False
    places = [(*(one.at or ()), one.height or 0.0) for one in (before, now)]
    return len(places[0]) == len(places[1]) and math.dist(*places) > NEAR


def _wait(state: Exchange, rest: _Rest, patience: float) -> None:
    """Wait until the user goes on or stops, and look whether the machine rests."""
    wish = state.watch.wish
    while wish.pause and not wish.stop:
        state.listen()
        if rest.pauses != wish.pauses:  # another one at once: it is told again how it rests
            rest.pauses, rest.seen = wish.pauses, False
        if rest.seen or not state.answers:
            state.progressed()
        elif state.unanswered:
            mind(state, patience)
        else:
            rest.see()
        state.talk.link.nap(NAP)


def tell_what_ends(state: Exchange) -> None:
    """Tell the user what is lost if a machine that waited for a hand is stopped by a reset."""
    if state.answers and state.file.language.acknowledges and state.turns is None:
        state.watch.said(ENDS)


def see_as_it_was(state: Exchange, before: str, own: bytes) -> str:
    """Return what is in force now. Raises MachineError if something else is than `before`; see
    `Language.in_force`. own: what was sent since, or will be: what it sets is not compared.
    """
    language = state.file.language
    if not language.apart_from(before, own):
        return before
    for _ in range(TRIES):  # an answer may be damaged
        after = language.in_force(state.talk)
        if language.apart_from(after, own) == language.apart_from(before, own):
            return after
    raise faults.changed(language.apart_from(before, own), language.apart_from(after, own))


def go_on_from_stop(
    state: Exchange, message: bytes, was: AsItWas, before: Account | None, patience: float
) -> None:
    """Go on from a stop in the program, where somebody was waited for, if all is as it was; see
    `see_as_it_was`. A machine that was moved goes back: the next move would begin elsewhere, or
    lower. So does one in which something was changed that is set anew by that, or that doesn't say.

    message: of the stop. was, before: what it had in force, and how it rested (None if unknown).
    """
    back = _way_back(state, before)
    now = see_as_it_was(state, was.in_force, message + back)
    _tell_if_raised(state, was)
    apart = state.file.language.apart_from
    as_it_was = was.in_force and apart(now, message) == apart(was.in_force, message)
    if _tell_if_moved(state, before) or not as_it_was:
        _send(state, back, patience)


def _tell_if_moved(state: Exchange, before: Account | None) -> bool:
    """Return whether a machine is elsewhere than it rested, and tell its user."""
    moved = is_elsewhere(before, None if before is None else look(state))
    if moved:
        state.watch.said(MOVED)
    return moved


def _tell_if_raised(state: Exchange, was: AsItWas) -> None:
    """Tell the user of another zero along z; along x and y it is in force, and was compared."""
    if not was.zero:
        return
    for _ in range(TRIES):  # an answer may be damaged
        now = state.file.language.zero(state.talk)
        if now in ("", was.zero):
            return
    state.watch.said(RAISED.format(was.zero, now))


def _way_back(state: Exchange, before: Account | None) -> bytes:
    """Return what sends a machine that somebody may have moved at its panel back to where its work
    goes on; nothing if that isn't known. before: how it rested.
    """
    file = state.file
    stop = place_after(file, state.unit, state.line) or _stood(file, before)
    return file.language.go_back(file.highest_lift, stop) if stop else b""


def _send(state: Exchange, back: bytes, patience: float) -> None:
    for data in state.file.language.split(back):
        if not push(state, Message(state.unit, data, state.line), patience):
            return


def _stood(file: CutFile, before: Account | None) -> Stop | None:
    """Return where a machine rested before its job's first place, in the file's units."""
    if before is None or before.at is None:
        return None
    scale = file.report_mm / file.unit_mm
    height = None if before.height is None else before.height * scale
    return Stop((before.at[0] * scale, before.at[1] * scale), False, height)


def _lift(state: Exchange, unit: int, patience: float) -> None:
    """Send what lifts the tool of a language that says so between its strokes."""
    language = state.file.language
    lift, done = language.lift, None
    if state.answers and not language.acknowledges:  # with its count and mark: not every unit has
        lift, done = language.counted(lift, unit) + language.mark, unit - 1
    push(state, Message(unit, lift, done=done), patience)


def _is_lettering(file: CutFile, unit: int) -> bool:
    """Return whether a machine is nobody knows where after a unit: see `Language.not_shown`."""
    return bool(file.language.not_shown(file.unit(unit)))


class _Rest:
    """What is seen of the rest of a machine that has answered all. seen: it rests with its tool up;
    account: how; place: see `Language.stands_at`; before: what it then has in force. pauses: see
    `Wish`, of those that were told.
    """

    def __init__(self, state: Exchange) -> None:
        self.state, self.seen, self.pauses = state, False, state.watch.wish.pauses
        self.account: Account | None = None
        self.place: Point | None = None
        self.before = AsItWas()
        self._looked = 0.0
        self._told = ""

    def see(self) -> None:
        """Look from time to time, and tell the user what changes. Raises MachineError."""
        state, now = self.state, time.monotonic()
        if now - self._looked <= LOOK_EVERY:
            return
        account, self._looked = look(state), now
        since = now - state.progressed_at
        if account is None:
            if state.turns is None:
                refuse_silence(state)
            return
        if not account.idle:
            if since > ASK_AFTER:
                self._tell(MOVES)
            return
        if self.account is None:
            self.account, self.before = account, AsItWas.of(state)
            here = self._place()
            self.place = self._expected() or here
            if here is None and self._is_asked:
                self._tell(UNWATCHED)
        if self._is_down(account):
            self._tell(DOWN)
        else:
            self.seen = True
            done = min(state.done, state.file.strokes)
            strokes = counted(state.file.strokes, "stroke")
            state.watch.said(f"Paused at rest: {done} of {strokes} done.")

    def is_left(self) -> bool:
        """Return whether the machine believes it is elsewhere than when this was last asked."""
        before, now, file = self.place, self._place(), self.state.file
        self.place = now or before
        near = max(NEAR, 1.01 * file.rounding_mm / file.report_mm)
        return before is not None and now is not None and math.dist(before, now) > near

    def _expected(self) -> Point | None:
        """Return where its work so far ended, in its own units, None if that isn't known. What it
        says when it rests may be too late: its origin may have been set anew just before.
        """
        state, file = self.state, self.state.file
        last = [unit for unit in (state.unit - 1, state.unit) if unit >= state.first]
        hidden = any(is_advance(file, unit) or _is_lettering(file, unit) for unit in last)
        stop = place_after(file, state.unit, state.line)
        if stop is None or hidden or state.unit <= state.first:
            return None
        scale = file.unit_mm / file.report_mm
        return stop.at[0] * scale, stop.at[1] * scale

    @property
    def _is_asked(self) -> bool:
        """Whether it is asked where it believes it is: one that keeps a count."""
        return self.state.answers and not self.state.file.language.acknowledges

    def _place(self) -> Point | None:
        """Return where it believes it is, None if it isn't asked or doesn't say."""
        state = self.state
        if not self._is_asked:
            return None
        answers = (state.file.language.stands_at(state.talk) for _ in range(TRIES))
        return next(filter(None, answers), None)

    def _is_down(self, account: Account) -> bool:
        state, before = self.state, len(self.state.talk.overheard)
        down = state.file.language.is_down(state.talk, account, state.file.lift)
        heard = state.talk.overheard[before:]
        state.take_in(one for one in heard if one.kind not in OF_QUESTIONS)
        return down

    def _tell(self, words: str) -> None:
        if words != self._told:
            self._told = words
            self.state.watch.said(words)
