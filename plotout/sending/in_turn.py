"""A machine that takes its messages in turn, numbered and checked, and answers nothing at once.

It refuses a message that is damaged or out of turn, and says which one it wants: all before that
one are in its hands, all from that one on are sent again. So its `ok`s need only be right enough
to keep its buffer from running over: one too many, or one that is lost, costs at most a repetition.
A unit is done when the place that is asked for after it comes, and is where the unit ends.
"""

from __future__ import annotations

import contextlib
import time
from collections import deque
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from plotout.conversation import Account, Heard
from plotout.errors import MachineError
from plotout.sending import expected, faults
from plotout.sending.messages import Message
from plotout.sending.repeating import MOST_AGAIN

if TYPE_CHECKING:
    from plotout.sending.exchange import Exchange

QUIET = 0.3  # s after which a machine has refused all that it got after a damaged message
ASK_AFTER = 3.0  # s of silence after which, and how often, it is asked which message it wants
ANSWERS_IN = 3.0  # s
TRIES = 5
ROOM = 64  # bytes of the questions by which such a machine is stopped
SILENT = 15.0  # s without an answer after which it is asked all the same
BUSY_FOR = 5.0  # times the user's patience, for which a machine that says it is busy is believed


@dataclass(slots=True)
class Turns:
    """What is known of a machine's turns.

    kept: messages sent since the last place; its number: `placed`. repeat: those to be sent again.
    place: the last one, for the mark at the head of the messages without an answer: None until its
    place has come. rests: the last place of all. wanted: the message from which it wants all again,
    once it is quiet, at `quiet_at`; 0: none. again: how often it wanted that one. pending: when it
    was asked for that, 0: it has answered. sees_depth: its first move into the stock was looked at.
    low: it wanted a message that is none of the job's. early: an `ok` came where a place should
    come first; ok_first: that is this machine's habit. busy_at: when it last said that it is busy;
    worked_at: when it last took or finished something.
    """

    kept: deque[Message] = field(default_factory=deque)
    repeat: deque[Message] = field(default_factory=deque)
    placed: int = 0
    place: Heard | None = None
    rests: Heard | None = None
    wanted: int = 0
    quiet_at: float = 0.0
    last_wanted: int = 0
    again: int = 0
    pending: float = 0.0
    sees_depth: bool = False
    low: bool = False
    early: bool = False
    ok_first: bool = False
    busy_at: float = 0.0
    worked_at: float = 0.0

    @property
    def holds_back(self) -> bool:
        """Whether nothing new may be sent: what it wants is not known, or not sent yet."""
        return bool(self.repeat or self.wanted or self.pending)


def begin(state: Exchange) -> None:
    """Have the machine count a job's messages. Raises MachineError if it doesn't."""
    language, talk = state.file.language, state.talk
    first = language.first_number
    forms = language.expect(first)
    for attempt in range(TRIES):
        talk.say(forms[attempt % len(forms)])
        talk.hear(QUIET)
        talk.say(language.ask)
        heard = talk.hear(ANSWERS_IN, lambda one: one.kind in language.ask_kinds)
        heard += talk.hear(QUIET)
        if any(one.kind == "again" and one.value == first for one in heard):
            talk.number = first
            return
    raise MachineError(
        "the machine does not count its lines as it is told",
        fix="Nothing was cut. Check the cable and the speed.",
    )


def framed(state: Exchange, message: Message) -> Message:
    """Return a message as it is sent next."""
    number = state.talk.number
    data = state.file.language.numbered(message.data, number)
    return replace(message, data=data, number=number)


def sent(state: Exchange, message: Message) -> None:
    """Note that a message was sent."""
    assert state.turns is not None
    state.talk.number = message.number + 1
    state.turns.kept.append(message)


def take_in(state: Exchange, turns: Turns, heard: Heard) -> None:
    """Draw conclusions from what the machine said. Raises MachineError if it was reset, asks for
    what is not known any more, or is not where it should be.
    """
    if heard.kind == "again":
        _wants(state, turns, heard)
    elif heard.kind == "place":
        _placed(state, turns, heard)
        if heard.value:  # its `ok` is in the same line
            _answered(state, turns)
    elif heard.kind == "ok":
        _answered(state, turns)
    elif heard.kind == "busy":
        turns.busy_at = time.monotonic()


def _answered(state: Exchange, turns: Turns) -> None:
    """Take an `ok` to the first message without one; a mark's comes after its place."""
    waiting = state.unanswered
    if not waiting or (waiting[0].done is not None and turns.place is None):
        turns.early = bool(waiting)  # one too many, or it comes before the place
        return
    if waiting[0].done is not None:
        turns.place, turns.early = None, False
    _pop(state)
    turns.worked_at = time.monotonic()
    state.progressed()


def _pop(state: Exchange) -> None:
    message = state.unanswered.popleft()
    state.credit.heard(Heard("ok"))
    state.journal.now.got(message.unit, message.line)


def _placed(state: Exchange, turns: Turns, heard: Heard) -> None:
    """Count the unit that ends at a place: the machine has done all that was sent before it."""
    marks = [one for one in state.unanswered if one.done is not None and one.number > turns.placed]
    if not marks:
        return
    mark = next((one for one in marks if expected.is_at(state, one, heard)), None)
    if mark is None:
        raise expected.astray(state, heard, marks[0])
    while state.unanswered[0] is not mark:  # some answers may have been lost
        _pop(state)
    while turns.kept and turns.kept[0].number <= mark.number:
        turns.kept.popleft()
    turns.placed, turns.place, turns.rests = mark.number, heard, heard
    if turns.ok_first and not heard.value:
        _answered(state, turns)
    turns.again, turns.low, turns.worked_at = 0, False, time.monotonic()
    assert mark.done is not None
    state.finished(max(mark.done, state.done - 1))


def _wants(state: Exchange, turns: Turns, heard: Heard) -> None:
    turns.pending = 0.0
    turns.wanted, turns.quiet_at = heard.value, time.monotonic() + QUIET


def _ask_again(state: Exchange, mark: Message) -> None:
    """Ask once more for the place: the answer after the last unit may be lost."""
    language = state.file.language
    *before, last = language.split(language.mark)
    for data in before:
        state.put(*_whole(state, replace(mark, data=data, done=None)))
    state.put(*_whole(state, replace(mark, data=last)))


def _whole(state: Exchange, message: Message) -> tuple[bytes, Message, bool]:
    message = framed(state, message)
    return message.data, message, True


def tick(state: Exchange, turns: Turns) -> None:
    """Send again what the machine wants, as it finds room. Raises MachineError if that fails."""
    now = time.monotonic()
    alone = len(state.unanswered) == 1 and turns.place is not None
    if alone and turns.early and now - turns.worked_at > QUIET:
        turns.ok_first = True
        _answered(state, turns)
    if turns.pending and now - turns.pending > ANSWERS_IN:
        turns.pending = 0.0
    if turns.wanted and now > turns.quiet_at:
        number, turns.wanted = turns.wanted, 0
        if number < state.file.language.first_number:
            _counts_anew(state, turns)
        elif number >= state.talk.number:
            _has_all(state)
        elif number > turns.placed:  # else it has asked for it before it had it
            _turn_back(state, turns, number)
    while turns.repeat and state.put_rest():
        message = turns.repeat[0]
        if (
            state.credit.room() < len(message.data)
            or state.talk.link.waiting() > state.most_waiting
        ):
            return
        went = state.talk.link.write(message.data)
        if not went:
            return
        state.rest = message.data[went:]
        state.credit.sent(len(message.data))
        state.unanswered.append(turns.repeat.popleft())
        state.progressed()


def _counts_anew(state: Exchange, turns: Turns) -> None:
    """Handle a number that is none of the job's: asked again, only one that was reset repeats it.

    Raises MachineError.
    """
    if turns.low:
        raise faults.was_reset(state)
    turns.low = True
    _ask(state, turns)


def _has_all(state: Exchange) -> None:
    """Note that the machine has read all; only the answer to the last mark may be lost."""
    state.credit.begin_anew()
    mark = next((one for one in reversed(state.unanswered) if one.done is not None), None)
    if mark is not None and state.turns and mark.number > state.turns.placed:
        _is_no_mark(state, state.turns, mark)
        _ask_again(state, replace(mark, unit=state.unit, line=state.line))


def _is_no_mark(state: Exchange, turns: Turns, mark: Message) -> None:
    """Have the answer to the mark that is asked again stand for this one too: else each answer
    would be taken for the one before.
    """
    plain = replace(mark, done=None)
    for messages in (state.unanswered, turns.kept):
        for index, one in enumerate(messages):
            if one.number == mark.number:
                messages[index] = plain


def _turn_back(state: Exchange, turns: Turns, number: int) -> None:
    """Prepare to send all again from the message that the machine wants."""
    turns.again = turns.again + 1 if number == turns.last_wanted else 1
    turns.last_wanted = number
    if turns.again > MOST_AGAIN or not turns.kept or number < turns.kept[0].number:
        raise faults.garbled(state, f"line {number}")
    turns.repeat = deque(one for one in turns.kept if one.number >= number)
    marks = [one for one in state.unanswered if one.done is not None and one.number < number]
    state.unanswered.clear()
    state.unanswered.extend(marks)
    state.credit.begin_anew()


def mind(state: Exchange, turns: Turns, patience: float) -> None:
    """Ask a silent machine which message it wants: it has lost some, or their answers were lost."""
    now = time.monotonic()
    if (
        turns.busy_at > state.progressed_at
        and turns.busy_at - turns.worked_at < BUSY_FOR * patience
    ):
        state.progressed_at = turns.busy_at
    last = max(state.progressed_at, turns.busy_at, state.looks.asked_at)
    if now - last < ASK_AFTER or turns.holds_back or state.rest or state.talk.link.waiting():
        return
    _ask(state, turns)


def _ask(state: Exchange, turns: Turns) -> None:
    """Ask which message it wants."""
    state.looks.asked_at = turns.pending = time.monotonic()
    language = state.file.language
    harmless = next(
        language.split(language.mark)
    )  # one that was reset takes it for its first, once
    state.talk.say(2 * language.numbered(harmless, 1))


def let_answer(state: Exchange, turns: Turns) -> None:
    """Wait until a machine that is to stop has room to be asked: it does all that it holds anyway,
    and what ran over would be lost, and would have to be found out. Its user hears of it.
    """
    with state.talk.stopping():
        while state.unanswered and not (turns.holds_back or state.trust.adrift):
            silent = time.monotonic() - state.progressed_at > SILENT
            if silent or state.credit.room() >= ROOM:
                return
            with contextlib.suppress(MachineError):  # what it means is noted
                state.take_in(state.talk.hear(QUIET, lambda _: True))


def awaits_place(state: Exchange, turns: Turns) -> bool:
    """Return whether it is not known yet that the machine is where the last unit ends."""
    return any(one.done is not None and one.number > turns.placed for one in state.unanswered)


def look(state: Exchange, turns: Turns) -> Account | None:
    """Return the machine's state if it has done all that it was sent; else None."""
    if state.unanswered or turns.holds_back or turns.rests is None:
        return None
    place = turns.rests
    return Account(True, stands=True, at=place.at, height=place.height, down=place.down)
