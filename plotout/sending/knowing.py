"""Whether a machine that rests still knows what a job's beginning has set: a reset ends that."""

from __future__ import annotations

import time

from plotout.sending import faults
from plotout.sending.exchange import Exchange
from plotout.sending.stalled import SILENCE, look, see_what_is_lost
from plotout.sending.talk import MOST_LATE

DOES_NOT_TELL = "The machine does not tell whether it was reset meanwhile. Waiting for its answer."


def see_that_it_knows(state: Exchange) -> None:
    """Look before a machine at rest is sent more, or its job is called done. One that has told it
    before must tell it now: power that has failed may come back at any time.

    Raises MachineError if it was reset, whether a greeting was heard or not, or stays silent.
    """
    if state.trust.strange:
        see_what_is_lost(state)
    if not state.answers:
        return
    begun, asked = time.monotonic(), 1
    before = len(state.talk.overheard)
    forgot = _forgot(state)
    if forgot is None and _tells(state):
        state.watch.said(DOES_NOT_TELL)
        while forgot is None and not state.watch.wish.stop:
            since = time.monotonic() - begun
            if since > SILENCE:
                raise faults.silent(since)
            if look(state) is not None:
                forgot, asked = _forgot(state), asked + 1
    if forgot or was_initialized(state):
        raise faults.was_reset(state, unseen=True)
    _let_come(state, asked, before)


def _forgot(state: Exchange) -> bool | None:
    with state.talk.urging():  # it holds nothing, though it may have stopped the line
        return state.file.language.forgot(state.talk)


def was_initialized(state: Exchange) -> bool:
    """Return whether a machine that tells it was initialized by something else than its file: some
    keep over that what `forgot` asks for, and lose their pen. What was counted since it was last
    seen not to have been is not sure then.
    """
    standing, language = state.standing, state.file.language
    if standing is None or not standing.tells or language.acknowledges or not state.counts:
        return False
    initialized = language.initialized(state.talk)
    renewed, state.silence.renewed = state.silence.renewed, False
    if initialized is False:
        state.trust.kept = state.done
    elif initialized and not renewed:
        state.trust.proven = min(state.trust.proven, state.trust.kept)
    return bool(initialized) and not renewed


def _tells(state: Exchange) -> bool:
    """Return whether the machine has shown before that it tells what a reset would end."""
    if state.file.language.acknowledges:
        return state.steps is not None and state.steps.tells
    return state.counts


def _let_come(state: Exchange, asked: int, before: int) -> None:
    """Let the answers to all questions come: late, they would be taken for those to others. before:
    what was heard until the first.
    """
    until, talk = time.monotonic() + MOST_LATE, state.talk
    while asked > 1 and time.monotonic() < until:
        heard = talk.overheard[before:]
        if sum(one.kind in ("count", "turn") for one in heard) >= asked:
            break
        talk.hear(MOST_LATE / 10.0)
