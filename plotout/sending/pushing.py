"""Hands messages to the machine, whole and one after another, as there is room for them."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import replace

from plotout.errors import MachineError
from plotout.sending import in_turn, repeating
from plotout.sending.exchange import Exchange
from plotout.sending.knowing import see_that_it_knows
from plotout.sending.messages import Message
from plotout.sending.overdue import is_overdue
from plotout.sending.silence import AWAY, doubt, proof, seen
from plotout.sending.stalled import mind, see_what_is_lost
from plotout.sending.standing import was_reset
from plotout.sending.talk import MOST_LATE

NAP = 0.002  # s between looks when nothing can be sent


def push(state: Exchange, message: Message, patience: float) -> bool:
    """Send one whole message; return False if the user stopped it."""
    if not message.data:
        return True
    framed = in_turn.framed if state.turns else repeating.framed
    message = framed(state, message)
    if not message.data:  # only a comment
        return True
    pieces = deque(state.file.language.pieces(message.data, state.piece))
    longest = max(map(len, pieces))
    if state.answers and longest >= state.buffer > 0:  # there will never be room for it
        raise MachineError(
            f"a line of {longest} bytes is longer than the machine's buffer, {state.buffer} bytes",
            fix="Shorten it in the file, or correct 'buffer' in the profile's sending table.",
        )
    begun: list[bytes] = []
    seen, looked = -1, False
    while pieces:
        if state.silence.away:
            looked = True
            if not _still_knows(state, patience):
                return False
        if seen != len(begun) and _hides(state, pieces[0]):
            seen = len(begun)  # once before each
            doubt(state)
            state.silence.renewed |= state.file.language.initializes(pieces[0])
        if state.silence.unproven and message.done is None:  # a mark is a proof itself
            question, pieces[0] = proof(state, b"".join(begun), pieces[0])
            if not _proven(state, message, question, patience):
                return False
            begun.append(question)
        if _hand_over(state, pieces[0], message, patience, len(pieces) == 1, looked):
            begun.append(pieces.popleft())
            looked = False
        elif state.watch.wish.stop:
            return False
    return True


def _still_knows(state: Exchange, patience: float) -> bool:
    """Have a machine answer all, and see that it knows the job; return False if the user stopped
    it. One that still works after a short while has not answered all. Raises MachineError if it was
    reset.
    """
    state.listen()  # what came meanwhile
    gap, state.silence.away = state.silence.away, 0.0
    if gap < AWAY and state.unanswered:
        return True
    if not answered(state, patience):
        return False
    if state.payload:
        see_that_it_knows(state)
    seen(state)  # at a slow port that itself takes a while
    return True


def _hides(state: Exchange, piece: bytes) -> bool:
    """Return whether a piece has a count given anew, whatever became of the one before it."""
    language = state.file.language
    return state.counts and not language.acknowledges and language.renews(piece)


def _proven(state: Exchange, message: Message, question: bytes, patience: float) -> bool:
    """Send what proves within a message that the machine keeps its count, and wait for that; return
    False if the user stopped it.
    """
    state.silence.unproven = False
    if not state.payload:
        return _stands_as_before(state, patience)
    if not question:
        return True
    asked = replace(message, data=question, done=state.marked)
    while not _hand_over(state, question, asked, patience, last=True):
        if state.watch.wish.stop:
            return False
    return answered(state, patience)


def _stands_as_before(state: Exchange, patience: float) -> bool:
    """Look again at a machine that did not answer before anything was sent to it; return False if
    the user stopped it. Raises MachineError if it may have been reset.
    """
    if not until(state, patience, lambda: not state.credit.asks):
        return False
    if state.stale:  # a late answer would be taken for one of what is asked now
        state.take_in(state.talk.hear(MOST_LATE))
    if state.standing is not None:
        state.standing.agreed()
        if state.standing.moved:
            raise was_reset()
    state.silence.unproven = False
    return True


def _hand_over(
    state: Exchange,
    piece: bytes,
    message: Message,
    patience: float,
    last: bool,
    looked: bool = False,
) -> bool:
    """Send one whole piece; return False if the user stopped it, or if the machine must first be
    seen to keep its count, or to know the job: then nothing was sent. looked: it was just seen to
    know it: only a long absence since counts, or a slow port would never be sent anything.
    """
    went, proven = False, not state.silence.unproven
    absence = AWAY if looked else 0.0
    while not went or state.rest:
        state.listen()
        if state.watch.wish.stop:
            return False
        if state.trust.strange and not state.rest:
            see_what_is_lost(state)
        if state.rest:
            state.put_rest()
        elif not went and ((proven and state.silence.unproven) or state.silence.away > absence):
            return False
        elif not went and not is_overdue(state):
            went = state.put(piece, message, last)
        if not state.rest:
            state.ask_for_room(b"" if went else piece)
        if state.rest or not went:
            mind(state, patience)
            state.talk.link.nap(NAP)
    return True


def until(state: Exchange, patience: float, come: Callable[[], bool]) -> bool:
    """Wait until something has come; return False if the user stopped it."""
    while not come():
        if state.watch.wish.stop:
            return False
        state.listen()
        mind(state, patience)
        state.talk.link.nap(NAP)
    return True


def answered(state: Exchange, patience: float, but: int = 0) -> bool:
    """Wait until all but `but` messages are answered; return False if the user stopped it."""
    return until(state, patience, lambda: len(state.unanswered) <= but)
