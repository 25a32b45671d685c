"""Hands messages to the machine, whole and one after another, as there is room for them."""

from __future__ import annotations

from collections.abc import Callable

from plotout.errors import MachineError
from plotout.sending import in_turn, repeating
from plotout.sending.exchange import Exchange
from plotout.sending.messages import Message
from plotout.sending.overdue import is_overdue
from plotout.sending.stalled import mind, see_what_is_lost

NAP = 0.002  # s between looks when nothing can be sent


def push(state: Exchange, message: Message, patience: float) -> bool:
    """Send one whole message; return False if the user stopped it."""
    if not message.data:
        return True
    framed = in_turn.framed if state.turns else repeating.framed
    message = framed(state, message)
    if not message.data:  # only a comment
        return True
    *pieces, last = state.file.language.pieces(message.data, state.piece)
    longest = max(len(piece) for piece in (*pieces, last))
    if state.answers and longest >= state.buffer > 0:  # there will never be room for it
        raise MachineError(
            f"a line of {longest} bytes is longer than the machine's buffer, {state.buffer} bytes",
            fix="Shorten it in the file, or correct 'buffer' in the profile's sending table.",
        )
    for piece in pieces:
        if not _hand_over(state, piece, message, patience):
            return False
    return _hand_over(state, last, message, patience, last=True)


def _hand_over(
    state: Exchange, piece: bytes, message: Message, patience: float, last: bool = False
) -> bool:
    """Send one whole piece; return False if the user stopped it."""
    went = False
    while not went or state.rest:
        state.listen()
        if state.watch.wish.stop:
            return False
        if state.strange and not state.rest:
            see_what_is_lost(state)
        if state.rest:
            state.put_rest()
        elif not went and (state.within or not is_overdue(state)):
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
