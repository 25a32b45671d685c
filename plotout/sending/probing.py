"""Does a machine that stands read what it is sent?"""

from __future__ import annotations

from plotout.sending import faults
from plotout.sending.exchange import Exchange
from plotout.sending.messages import Message
from plotout.sending.talk import ENDS

ANSWERS_IN = 1.0  # s for a machine that stands to answer


def reads(state: Exchange) -> bool:
    """Return whether a machine that stands reads what it is sent. One that has stopped reading, for
    a while or for ever, has nothing left to do either, but holds lines that it will work.

    It is asked what it answers in words of its own: a mere "ok" may be to a line before it. Raises
    MachineError if those words show that an answer is missing.
    """
    steps, question = state.steps, state.file.language.no_line
    if state.number or not (steps or question):
        return True
    if steps is not None:
        if not steps.probes:
            steps.probes = True
            _probe(state, steps.question, turn=True)
            state.take_in(state.talk.hear(ANSWERS_IN, lambda heard: heard.kind in ENDS))
        return False
    return not any(message.aside for message in state.unanswered) and _refuses(state, question)


def _refuses(state: Exchange, question: bytes) -> bool:
    """Return whether a machine refuses, as its next answer, what is no line: it reads. Raises
    MachineError if it acknowledges something instead.
    """
    said = state.talk.hear(0.0)
    _probe(state, question)
    said += state.talk.hear(ANSWERS_IN, lambda heard: heard.kind in ENDS)
    kinds = [heard.kind for heard in said]
    refused = kinds.index("error") if "error" in kinds else len(said)
    before = state.progressed_at
    state.take_in(said[:refused])
    if refused == len(said):
        if "ok" in kinds:
            raise faults.uncertain(state)
        return False
    if not state.unanswered[0].aside:
        return state.progressed_at == before
    state.take_in(said[refused:])
    return False


def _probe(state: Exchange, question: bytes, turn: bool = False) -> None:
    """Ask a machine that stands, after all that it has not answered."""
    state.talk.say(question)
    state.credit.sent(len(question))
    state.expects(Message(state.unit, question, state.line, aside=True, turn=turn))
