"""Are a machine's answers in step with what it was sent?

They are only counted, so one too many counts a stroke too early, and fills the buffer beyond its
end. From time to time something is asked that is answered in words of its own, when its turn comes:
if that question has had its answer before those words come, there was one too many; if one before
it has none yet, that was lost, or the line that it is to: a machine that was reset and says nothing
of it has lost some. Either way the job stops: what was counted since is not certain.
A machine that doesn't know the question refuses it, or says so: that will do. One that answers it
by a mere "ok" may refuse what is no line at all.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from plotout.conversation import Heard
from plotout.sending import faults
from plotout.sending.messages import Message

if TYPE_CHECKING:
    from plotout.sending.exchange import Exchange

EVERY = 256  # bytes between two questions: some ten lines
ANSWERS_IN = 1.0  # s
ENDS = ("ok", "error")  # an answer
OUT_OF_STEP = (
    "Note: this machine answers nothing by which an answer too many, or a reset without a word, "
    "could be noticed at once. See that nothing else talks to it, and compare the sheet with the "
    "drawing in the end."
)
NO_MODES = (
    "Note: this machine does not say which modes are in force, so a reset without a word might not "
    "be noticed. Compare the sheet with the drawing in the end."
)


@dataclass(slots=True)
class Steps:
    """Questions that are not answered yet. words: those that answer one; refused: they are an
    error, in place of an "ok". since: bytes sent since the last one. tells: they show that the
    machine was reset, too, so they are asked after every unit, before the next sets its feed.
    probes: one was asked of a machine that stands, to see whether it reads. stepped: what was done
    when the last answer came in step: it may be to the question after one that was lost.
    """

    question: bytes
    words: str
    refused: bool
    tells: bool = False
    probes: bool = False
    stepped: int = 0
    owed: int = 0
    since: int = 0

    def hears(self, heard: Heard) -> bool:
        """Return whether these are the words of an answer."""
        return heard.text == self.words or heard.kind == "turn"


def begin(state: Exchange) -> None:
    """Find out, of a machine at rest, by which question its answers can be compared."""
    language = state.file.language
    if not language.turn:
        return
    for question in filter(None, (language.turn, language.no_line)):
        words = _own_words(state, question)
        if words is not None:
            tells = words.kind == "turn" and language.forgot(state.talk) is not None
            refused = words.kind == "error"
            state.steps = Steps(question, words.text, refused, tells, stepped=state.done)
            break
    if state.steps is None:
        state.watch.said(OUT_OF_STEP)
    elif not state.steps.tells:
        state.watch.said(NO_MODES)


def _own_words(state: Exchange, question: bytes) -> Heard | None:
    """Return the words that answer a question besides "ok", or instead of it."""
    asked = question.decode("ascii").strip()
    state.talk.say(question)
    said = state.talk.hear(ANSWERS_IN, lambda one: one.kind in ENDS)
    if not any(one.kind in ENDS for one in said):
        return None
    for heard in said:
        if heard.kind in ("turn", "error"):
            return heard
        if heard.kind == "other" and asked in heard.text:
            return heard
    return None


def next_question(state: Exchange, message: Message) -> Message | None:
    """Return what to ask after a message, if it is time to."""
    steps = state.steps
    if steps is None or state.number or message.by_hand:
        return None
    steps.since += len(message.data)
    ends_a_unit = steps.tells and message.done is not None
    if steps.since < EVERY and not ends_a_unit:
        return None
    steps.since = 0
    return Message(message.unit, steps.question, message.line, aside=True, turn=True)


def take_in(state: Exchange, steps: Steps, heard: Heard) -> None:
    """Look whether the question whose own words came is the first without an answer, as it should
    be. Raises MachineError.
    """
    if not steps.owed:
        return
    asked = [message.turn for message in state.unanswered]
    steps.owed, steps.probes = steps.owed - 1, False
    if sum(asked) <= steps.owed:
        raise faults.too_many_answers(state)
    if heard.halted:
        raise faults.was_reset(state, unseen=True)
    if not asked[0]:
        raise faults.out_of_step(state, heard) if steps.refused else faults.uncertain(state)
    state.proven, steps.stepped = steps.stepped, state.done
