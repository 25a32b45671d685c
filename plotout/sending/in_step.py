"""Are a machine's answers in step with what it was sent?

They are only counted, so one too many counts a stroke too early, and fills the buffer beyond its
end. From time to time something is asked that is answered in words of its own, when its turn comes:
if that question has had its answer before those words come, there was one too many, and the job
stops. One that is missing proves nothing: a machine that was reset has lost the lines too.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from plotout.sending import faults
from plotout.sending.messages import Message

if TYPE_CHECKING:
    from plotout.sending.exchange import Exchange

EVERY = 256  # bytes between two questions: some ten lines
ANSWERS_IN = 1.0  # s


@dataclass(slots=True)
class Steps:
    """Questions that are not answered yet. since: bytes sent since the last one."""

    owed: int = 0
    since: int = 0


def begin(state: Exchange) -> None:
    """Ask once, of a machine at rest: one that doesn't know the question is never asked again."""
    question = state.file.language.turn
    if not question:
        return
    heard = state.talk.ask(question, ("turn", "error"), ANSWERS_IN)
    if heard is not None and heard.kind == "turn":
        state.talk.hear(ANSWERS_IN, lambda one: one.kind == "ok")
        state.steps = Steps()


def next_question(state: Exchange, message: Message) -> Message | None:
    """Return what to ask after a message, if it is time to."""
    steps = state.steps
    if steps is None or state.number or message.by_hand:
        return None
    steps.since += len(message.data)
    if steps.since < EVERY:
        return None
    steps.since = 0
    steps.owed += 1
    question = state.file.language.turn
    return Message(message.unit, question, message.line, aside=True, turn=True)


def take_in(state: Exchange, steps: Steps) -> None:
    """Look whether the question whose own words came still has no answer. Raises MachineError."""
    if not steps.owed:
        return
    steps.owed -= 1
    if not any(message.turn for message in state.unanswered):
        raise faults.too_many_answers(state)
