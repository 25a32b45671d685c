"""A question for room that stays unanswered: the machine may have been reset meanwhile.

A plotter that comes back after its power failed has room for everything, says nothing of it, and
would draw what comes next with a pen, a speed and a place of its own. So before it is sent more, it
is asked for its count, and that is waited for.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from plotout.sending.talk import form

if TYPE_CHECKING:
    from plotout.sending.exchange import Exchange

DUE = 0.7  # s without an answer after which the machine is asked for more
AWAY = 2.0  # s in which nobody looked
DRY = 0.3  # s of that in which a machine may have worked all that it held


@dataclass(slots=True)
class Silence:
    """since: when a question was last not outstanding. unproven: one stayed unanswered, and the
    machine has not been seen since to keep its count, or to stand as it did before the job.
    looked_at: by the clock, which goes on while the computer sleeps. words: of the machine,
    without their numbers, that the user was told. answered_at: when it last told its state.
    away: s in which nobody has looked at a machine that acknowledges: what it has answered may be
    from before a reset, and it must be seen to know the job before it is sent more; 0: seen since.
    renewed: it was sent what may initialize it (IN) since it was last asked whether it was.
    """

    since: float = 0.0
    unproven: bool = False
    looked_at: float = field(default_factory=time.time)
    words: set[str] = field(default_factory=set)
    answered_at: float = 0.0
    away: float = 0.0
    renewed: bool = False

    def lasts(self, progressed_at: float) -> float:
        """Return for how long, s, a machine has neither answered a question nor made progress."""
        return time.monotonic() - max(progressed_at, self.answered_at)


def notice(state: Exchange) -> None:
    """Look whether an answer is overdue that comes at once from a machine that is on, or nobody has
    looked for a while, since this process or the whole computer was asleep.
    """
    before, state.silence.looked_at = state.silence.looked_at, time.time()
    gap = state.silence.looked_at - before
    if gap > AWAY:
        doubt(state)
    if gap > DRY and state.file.language.acknowledges and state.turns is None:
        state.silence.away = max(gap, state.silence.away)
    silence, now, link = state.silence, time.monotonic(), state.talk.link
    if state.file.language.acknowledges or not state.credit.asks:
        silence.since = now
    elif now - silence.since > DUE + state.talk.late and not silence.unproven:
        if state.rest or link.waiting() or link.held():
            silence.since = now  # the question has not left yet
        else:
            doubt(state)


def seen(state: Exchange) -> None:
    """Note that the machine was looked at just now."""
    state.silence.looked_at = time.time()


def doubt(state: Exchange) -> None:
    """Note that a machine that keeps a count must be seen to keep it before it is sent more; and
    that one that has been sent nothing yet must be seen to stand as it did.
    """
    unbegun = state.payload == 0
    state.silence.unproven = not state.file.language.acknowledges and (state.counts or unbegun)


def wonder(state: Exchange, words: str) -> None:
    """Tell the user, once, what a machine says that keeps a count; it may be a greeting."""
    if form(words) not in state.silence.words:
        state.silence.words.add(form(words))
        state.watch.said(f"The machine says: {words}.")
    doubt(state)


def proof(state: Exchange, begun: bytes, rest: bytes) -> tuple[bytes, bytes]:
    """Return what a machine answers by its count, and what follows it in place of `rest` of a
    message of which `begun` was sent; empty where nothing can come between them.
    """
    language = state.file.language
    parted = language.parted(begun, rest, state.marked + 1)
    return (b"", rest) if parted is None else (parted[0] + language.mark, parted[1])
