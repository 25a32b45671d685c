"""Whether an answer is overdue: to a mark that the machine has read, by the room that it reports.

A plotter that was reset without a word has lost what it held, and would draw what comes next with
a pen and a speed of its own. Nothing more is sent while an answer is overdue; what the machine's
silence means is then found out as ever. One that only answers late is merely sent less.
"""

from __future__ import annotations

import time

from plotout.sending.exchange import Exchange
from plotout.sending.silence import DUE
from plotout.sending.stalled import look

LOOK_EVERY = 0.3  # s


def is_overdue(state: Exchange) -> bool:
    """Return whether the oldest mark without an answer has left the machine's buffer."""
    if state.file.language.acknowledges or not state.unanswered:
        return False
    if time.monotonic() - state.answered_at < DUE:
        return False
    if time.monotonic() - state.looks.overdue_at < LOOK_EVERY:
        return state.looks.overdue
    if state.rest or state.talk.link.waiting():
        return True  # it has not all of it yet: look when the port has sent it
    answered_at = state.answered_at
    account = look(state)
    state.looks.overdue_at = time.monotonic()
    if account is None or account.count is None or state.answered_at > answered_at:
        state.looks.overdue = False
    else:
        state.looks.overdue = _sent_since(state) > state.buffer - account.count
    return state.looks.overdue


def _sent_since(state: Exchange) -> int:
    """Return the fewest bytes that were sent after the oldest mark without an answer: of the file
    alone, which leaves out what is sent between its units.
    """
    if not state.unanswered:
        return 0
    starts = state.file.starts
    first = max(state.unanswered[0].unit + 1, state.first)
    return int(starts[state.unit]) + state.of_unit - int(starts[min(first, state.file.units)])
