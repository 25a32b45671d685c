"""Are a machine's answers in step with what it was sent?

They are only counted, so one too many counts a stroke too early, and fills the buffer beyond its
end. From time to time something is asked that is answered in words of its own, when its turn comes:
if that question has had its answer before those words come, there was one too many; if one before
it has none yet, that was lost, or the line that it is to: a machine that was reset and says nothing
of it has lost some. Either way the job stops: what was counted since is not certain.
A machine that doesn't know the question refuses it, or says so: that will do. One that answers it
by a mere "ok" may refuse what is no line at all.

A reset may lose whole units, with their questions, and the next ones then answer for them. So no
two of three questions in a row have equally many messages before them: some that do nothing make up
for that. While no more than two questions have no answer, one can be taken for another only until
the next: what was counted at a question is proven when the next one, too, comes in step.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from plotout.conversation import Heard
from plotout.sending import faults
from plotout.sending.messages import Message
from plotout.sending.talk import ENDS

if TYPE_CHECKING:
    from plotout.sending.exchange import Exchange

EVERY = 256  # bytes between two questions: some ten lines
MOST = 2  # questions without an answer
OUT_OF_STEP = (
    "Note: this machine answers nothing by which an answer too many, or a reset without a word, "
    "could be noticed at once. See that nothing else talks to it, and compare the sheet with the "
    "drawing in the end."
)
NO_MODES = (
    "Note: this machine does not say which modes are in force, so a reset without a word might not "
    "be noticed, nor what is changed at its panel in a pause. Compare the sheet with the drawing "
    "in the end."
)


@dataclass(slots=True)
class Steps:
    """Questions that are not answered yet. words: those that answer one. worded: they have come,
    but not the "ok" after them.
    due: one is to be asked after a unit. since, sent: bytes and messages since the last one; gaps:
    messages before each of the last ones. filler: a message that does nothing.
    stepped: what was done when the last one came in step: it may have been to one that was lost.
    tells: they show a reset, too, if they come before the next unit sets its feed. lasting: the
    number in force until a reset, by `Language.lasting`, and how often before it may have become
    another; kept: those that an answer has shown.
    probes: one was asked of a machine that stands, to see whether it reads.
    """

    question: bytes
    words: Heard
    filler: bytes = b""
    worded: bool = False
    due: bool = True
    since: int = 0
    sent: int = 0
    gaps: deque[int] = field(default_factory=lambda: deque(maxlen=MOST))
    stepped: int = 0
    tells: bool = False
    lasting: tuple[int, int] = (0, 0)
    kept: tuple[int, int] | None = None
    probes: bool = False

    @property
    def refused(self) -> bool:
        """Whether the words are an error, in place of an "ok"."""
        return self.words.kind == "error"

    def counts(self, message: Message) -> None:
        """Count a message that was sent."""
        if message.turn:
            self.gaps.append(self.sent)
        self.sent = 0 if message.turn else self.sent + 1

    def missing(self) -> int:
        """Return how many messages make the next gap another than the last ones."""
        if not self.filler:
            return 0
        return next(count for count in range(MOST + 1) if self.sent + count not in self.gaps)

    def hears(self, heard: Heard) -> bool:
        """Return whether these are the words of an answer."""
        if self.words.kind == "turn":  # other modes are other words
            return heard.kind == "turn"
        return heard.text == self.words.text


def begin(state: Exchange) -> None:
    """Find out, of a machine at rest, by which question its answers can be compared."""
    language = state.file.language
    if not language.turn:
        return
    for question in filter(None, (language.turn, language.no_line)):
        words = _own_words(state, question)
        if words is not None:
            tells = words.kind == "turn" and language.forgot(state.talk) is not None
            steps = Steps(question, words, _filler(state), tells=tells)
            steps.lasting, steps.stepped = (words.value if tells else 0, 0), state.done
            state.steps = steps
            break
    if state.steps is None:
        state.watch.said(OUT_OF_STEP)
    elif not state.steps.tells:
        state.watch.said(NO_MODES)


def _filler(state: Exchange) -> bytes:
    """Return a message that does nothing, and that the machine acknowledges once."""
    for filler in state.file.language.fillers:
        said = state.talk.command(filler)
        if [one.kind for one in said if one.kind in ENDS] == ["ok"]:
            return filler
    return b""


def _own_words(state: Exchange, question: bytes) -> Heard | None:
    """Return the words that answer a question besides "ok", or instead of it."""
    asked = question.decode("ascii").strip()
    said = state.talk.command(question)
    if not any(one.kind in ENDS for one in said):
        return None
    own = [one for one in said if one.kind in ("turn", "error")]  # an echo may come before them
    own += [one for one in said if one.kind == "other" and asked in one.text]
    return own[0] if own else None


def questions(state: Exchange, message: Message) -> list[Message]:
    """Return what to ask before a message: something after each unit, and within long ones.

    After a unit it waits until something is next that would hide a reset: it shows one until then.
    """
    steps = state.steps
    if steps is None or state.number or message.by_hand:
        return []
    steps.since += len(message.data)
    language, shows = state.file.language, steps.lasting
    lasting = language.lasting(message.data)
    if lasting is not None:
        steps.lasting = (lasting or shows[0], shows[1] + (not lasting))
    hides = steps.due and (message.done is not None or language.renews(message.data))
    asks = steps.since >= EVERY or hides
    steps.due = message.done is not None or (steps.due and not hides)
    if not asks:
        return []
    steps.since = 0
    filler = Message(state.unit, steps.filler, state.line, aside=True)
    question = replace(filler, data=steps.question, turn=True, shows=shows)
    return [*[filler] * steps.missing(), question]


def has_room(state: Exchange) -> bool:
    """Return whether another question may be without an answer."""
    return sum(message.turn for message in state.unanswered) < MOST


def take_in(state: Exchange, steps: Steps, heard: Heard) -> None:
    """Look whether the question whose own words came is the first without an answer, as it should
    be. Raises MachineError.
    """
    steps.probes = False
    if not any(message.turn for message in state.unanswered):
        return  # somebody else has asked
    front = state.unanswered[0]
    if front.turn and heard.value == front.shows[0] > 0:
        steps.kept = front.shows
    if heard.halted or (front.turn and front.shows == steps.kept and heard.value == 0):
        raise faults.was_reset(state, unseen=True)
    if steps.worded:  # in several lines
        return
    if not front.turn:
        raise faults.out_of_step(state, heard) if steps.refused else faults.uncertain(state)
    steps.worded = not steps.refused
    state.trust.proven, steps.stepped = steps.stepped, state.done


def ends(state: Exchange, steps: Steps, refused: bool) -> None:
    """Take in the end of the answer to a question, whose own words came before it if it is in step.
    refused: it is an error. Raises MachineError.
    """
    worded, steps.worded = steps.worded, False
    if refused != steps.refused or not (worded or refused):
        raise faults.too_many_answers(state)
