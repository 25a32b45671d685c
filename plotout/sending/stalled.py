"""What to do if a machine neither takes, answers nor finishes: no wait is endless or silent.

Ask its state. A machine that stands with nothing left to do while we wait for it has lost an
answer or a message: its position shows which. One that still works is waited for, until the
user's patience ends.
"""

from __future__ import annotations

import time

from plotout.conversation import Account, Heard
from plotout.errors import MachineError
from plotout.sending import faults, in_turn, silence
from plotout.sending.exchange import Exchange
from plotout.sending.lost import at_the_end, place_after
from plotout.sending.probing import ANSWERS_IN, reads
from plotout.sending.recover import at_stop

ASK_AFTER = 3.0  # s without progress after which, and then how often, a machine is asked its state
LOOKS = 4  # at least, before patience ends: two equal ones show that it stands
TRIES = 3  # of a question whose answer was lost
LOOK_EVERY = 0.2  # s between looks at a machine that has answered all
SILENCE = 15.0  # s without an answer to that before giving up


def mind(state: Exchange, patience: float) -> None:
    """Ask a machine that makes no progress; continue if its answer allows it.

    Raises MachineError if it stays silent, was reset or has lost a message; or after `patience` s
    if nobody can decide.
    """
    if state.trust.strange:
        see_what_is_lost(state)
    since = time.monotonic() - state.progressed_at
    after = min(ASK_AFTER, patience / LOOKS)
    if since < after:
        return
    stands = sum(state.file.language.waits(message.data) for message in state.unanswered)
    since -= stands
    if since < after:
        return
    if state.turns is not None:
        in_turn.mind(state, state.turns, patience)
    elif state.answers:
        _ask(state, after)
    if time.monotonic() - state.progressed_at < patience + stands:
        return
    since, what = _waited_for(state)
    if not state.watch.waiting(f"For {since:.0f} s the machine did not {what}"):
        raise MachineError(
            f"for {since:.0f} s the machine did not {what}",
            fix=f"Check the machine and the cable{_or_buffer(state)}; then: plotout resume",
        )
    state.progressed()


def _waited_for(state: Exchange) -> tuple[float, str]:
    """Return since when, s ago, and in words what a machine has not done."""
    now, turns = time.monotonic(), state.turns
    if turns is not None and turns.busy_at > turns.worked_at:
        return now - turns.worked_at, "finish anything, though it says that it is busy"
    what = "take anything" if state.within or not state.unanswered else "answer what it was sent"
    why = f": {state.looks.on_hold}" if state.looks.on_hold else ""
    return now - state.progressed_at, what + why


def _or_buffer(state: Exchange) -> str:
    """Return what else to check where a machine never has the room that it was asked for."""
    if not state.credit.repeat():
        return ""
    return " (and `buffer` in its profile, which may be too large: 'plotout ports' asks for it)"


def see_what_is_lost(state: Exchange) -> None:
    """After words that may be a greeting let the machine finish: a reset has lost what it held.

    Raises MachineError if any of that is not answered, or the machine does not stand at its end.
    """
    said, state.trust.strange = state.trust.strange, ""
    state.watch.said(f"The machine says: {said}. Waiting to see whether it was reset.")
    idle = False
    while not idle and not state.watch.wish.stop:
        state.listen()
        state.put_rest()
        account = None if state.rest else look(state)
        idle = account is not None and account.idle
        if idle:
            state.take_in(state.talk.hear(ANSWERS_IN, lambda _: not state.unanswered))
        if time.monotonic() - state.progressed_at > ASK_AFTER + SILENCE and not idle:
            return  # too long to be judged here
        if account is not None and _changed(state, account):
            state.progressed()
    if not idle:
        return
    begun = state.unit > state.first  # before that it may stand anywhere
    stop = place_after(state.file, state.unit, state.line) if begun else None
    account = state.file.language.account(state.talk)
    away = stop is not None and not at_stop(state.file, account, stop)
    if state.unanswered or account.fresh or away:
        raise faults.was_reset(state)
    state.trust.was_harmless(said)
    state.progressed()


def _ask(state: Exchange, every: float) -> None:
    if time.monotonic() - state.looks.asked_at < every:
        return
    if state.rest or state.talk.link.waiting():
        return  # a question would come out within what the port still holds
    state.looks.asked_at = time.monotonic()
    progress = state.progressed_at
    account = look(state)
    if state.progressed_at > progress:
        return
    if account is None:
        refuse_silence(state)
        return
    if _changed(state, account):
        if not account.idle:
            state.progressed()  # it moves, or finishes what it holds
        return
    if _answers_now(state) or not account.idle:
        return
    _stands(state)


def _changed(state: Exchange, account: Account) -> bool:
    return state.looks.changed(account, (state.payload, state.answered_at))


def refuse_silence(state: Exchange) -> None:
    """Raise MachineError for a machine that has not told its state for too long."""
    since = state.silence.lasts(state.progressed_at)
    if since > ASK_AFTER + SILENCE:
        raise faults.silent(since)


def _answers_now(state: Exchange) -> bool:
    """Ask a machine that stands again what it has not answered; return whether it answers now."""
    room = state.credit.room()
    for _ in range(TRIES):
        question = state.credit.repeat()
        if not question or state.watch.wish.stop:
            break
        state.talk.say(question)
        silence.doubt(state)
        state.take_in(state.talk.hear(ANSWERS_IN, lambda _: True))
    return state.credit.room() > room


def look(state: Exchange, tells: bool = True) -> Account | None:
    """Ask the machine for its state, and take in whatever else it says; None without an answer.
    tells: the user of a hold with work left.
    """
    talk = state.talk
    if state.turns is not None:
        return in_turn.look(state, state.turns)
    before, asked = len(talk.overheard), state.credit.asks
    with talk.urging():  # one that has stopped the line while it works answers too
        account = state.file.language.glance(talk, state.buffer)
        if asked and account is not None:
            account = _second(state) or account
    state.stale = 0 if account is not None else state.stale + 1 + asked
    if account is not None:
        state.silence.answered_at = time.monotonic()
    heard = talk.overheard[before:]
    status = next((one for one in reversed(heard) if one.kind == "status"), None)
    state.take_in(heard)
    if account is None:
        silence.doubt(state)
    if tells:
        _tell_of_hold(state, status)
    return account


def _second(state: Exchange) -> Account | None:
    """Wait for the answer to the second of two questions for room: it would be taken for one to a
    later question, and what was sent between them for received.
    """
    said = state.talk.hear(ANSWERS_IN + state.talk.late, lambda one: one.kind == "room")
    room = next((one for one in said if one.kind == "room"), None)
    idle = room is not None and room.value >= state.buffer
    return None if room is None else Account(idle, count=room.value)


def _tell_of_hold(state: Exchange, status: Heard | None) -> None:
    """Tell once why a machine stands with work left."""
    before, why = state.looks.on_hold, ""
    if status is not None and status.halted and not status.idle:
        why = status.means or "it is on hold, and goes on when it is told so at its panel"
        if why != before and state.unanswered:
            state.watch.said(f"The machine waits: {why}.")
    state.looks.on_hold = why


def see_rest(state: Exchange, patience: float) -> None:
    """Wait until a machine that takes whole lines rests: some answer before they have worked.

    Raises MachineError if it does not within `patience` s.
    """
    told = False
    state.progressed()
    if state.turns is not None or not state.answers:
        return  # its last place was given at rest, or it can't be asked
    while state.file.language.acknowledges and not state.watch.wish.stop:
        account = look(state)
        since = time.monotonic() - state.progressed_at
        if account is None:
            refuse_silence(state)
            continue
        if account.idle:
            return
        if _changed(state, account):
            state.progressed()
        elif since > ASK_AFTER and not state.looks.on_hold and at_the_end(state.file, account):
            return  # it rests, whatever it calls that
        if not told:
            told = True
            state.watch.said("All is answered, but the machine still moves. Waiting for it.")
        if since > patience:
            raise MachineError(
                "the machine does not come to rest at the end of the file",
                fix="Check whether it is held, or its feed set to nothing; then: plotout resume",
            )
        state.talk.hear(LOOK_EVERY)


def _let_on(state: Exchange) -> None:
    """Send again to a machine that has room for everything, but had stopped the line."""
    state.talk.link.restart()
    if state.talk.link.held():
        raise MachineError(
            "the machine has nothing left to do, but keeps the line stopped",
            fix="Check the cable and the machine's own settings; then: plotout resume",
        )
    silence.doubt(state)
    state.watch.said("The machine has room, but did not let the line go on. Continuing.")


def _stands(state: Exchange) -> None:
    """Handle a machine that has nothing to do while we wait for it."""
    if state.talk.link.held():
        _let_on(state)
        return
    if state.within:
        raise faults.was_reset(state)
    if state.unanswered and state.unanswered[0].settles:
        state.talk.say(state.unanswered[0].data)  # nothing was sent but this
        return
    if not reads(state):
        return
    account = state.file.language.account(state.talk)
    if account.fresh:
        raise faults.was_reset(state, unseen=True)
    if state.number:  # it refuses what it has already
        state.send_again(0)
        return
    raise faults.uncertain(state)
