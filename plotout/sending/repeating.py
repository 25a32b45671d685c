"""A machine that asks for a message again: it got it damaged, or out of order.

Once messages are numbered and checked, it refuses all that follow on a damaged one, so that it can
be told exactly which to send again. A machine that wants numbers says so at the first message,
before anything moves. If messages without numbers followed on a damaged one, it has worked them:
then the job must stop.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from plotout.conversation import Heard
from plotout.sending import faults
from plotout.sending.messages import Message
from plotout.sending.talk import form

if TYPE_CHECKING:
    from plotout.sending.exchange import Exchange
    from plotout.sending.talk import PortTalk

QUIET = 0.3  # s without an answer: it has refused all that it got after a damaged message
GLANCE = 0.02  # s between looks at what the user wants
MOST_QUIET = 60.0  # s for it to come to rest
TRIES = 5
MOST_AGAIN = 5  # times in a row
ANSWERS = ("ok", "again", "error", "reset")


def framed(state: Exchange, message: Message) -> Message:
    """Return a message as it is sent: numbered, if the machine wants that."""
    if not state.number:
        return message
    data = state.file.language.numbered(message.data, state.number)
    state.number += 1
    return replace(message, data=data, number=state.number - 1)


def send_for(state: Exchange, heard: Heard) -> None:
    """Send again what the machine asks for. Raises MachineError if that is not certain."""
    state.end_piece()
    state.rest = b""
    wanted = _last_wish(_until_quiet(state)) or heard
    if state.watch.wish.stop:
        return
    waiting, first = state.unanswered, state.file.language.first_number
    if state.number and waiting:
        index = wanted.value - waiting[0].number
        if not 0 <= index <= len(waiting):
            raise faults.garbled(state, wanted.text)
        state.send_again(index)
    elif len(waiting) == 1 and waiting[0].settles and _counts_from(state, first):
        state.number = first
        waiting.append(framed(state, waiting.popleft()))
        state.send_again(0)
    elif not state.watch.wish.stop:
        raise faults.garbled(state, wanted.text)


def _counts_from(state: Exchange, number: int) -> bool:
    """Have the machine expect that number next; return whether it does."""
    forms = state.file.language.expect(number)
    for attempt in range(TRIES if forms else 0):
        state.talk.say(forms[attempt % len(forms)])
        kinds = {answer.kind for answer in _until_quiet(state)}
        if kinds == {"ok"}:
            return True
    return False


def _last_wish(answers: Sequence[Heard]) -> Heard | None:
    return next((answer for answer in reversed(answers) if answer.kind == "again"), None)


def _until_quiet(state: Exchange) -> list[Heard]:
    """Wait until the machine answers no more and is idle, or the user wants to stop; return its
    answers. One that waits for its moves to end still holds lines: more would not find room.
    """
    talk = state.talk
    begun = len(talk.overheard)
    until, idle, count = time.monotonic() + MOST_QUIET, False, -1
    while (count < len(_answers(talk, begun)) or not idle) and time.monotonic() < until:
        count = len(_answers(talk, begun))
        quiet = time.monotonic() + QUIET
        while time.monotonic() < quiet and not state.watch.wish.stop:
            talk.hear(GLANCE)
        if state.watch.wish.stop:
            break
        account = state.file.language.glance(talk, state.buffer)
        idle = account is not None and account.idle
    answers = _answers(talk, begun)
    if any(answer.kind == "reset" for answer in answers):
        raise faults.was_reset(state)
    strange = [one.text for one in talk.overheard[begun:] if one.kind == "strange"]
    new = next((words for words in strange if form(words) not in state.trust.harmless), "")
    if new:
        state.trust.wonders_at(new, state.done)
    alarms = [answer for answer in answers if answer.kind == "error" and answer.at is not None]
    if alarms:  # other errors are of pieces of lines that it threw away
        raise faults.reported(state, alarms[0])
    return answers


def _answers(talk: PortTalk, begun: int) -> list[Heard]:
    return [one for one in talk.overheard[begun:] if one.kind in ANSWERS]
