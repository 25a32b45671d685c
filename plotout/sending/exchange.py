"""The exchange with a machine: what was sent and answered, and what is therefore done."""

from __future__ import annotations

import contextlib
import time
from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass, field

from plotout.conversation import Heard
from plotout.errors import MachineError
from plotout.sending import faults, in_step, in_turn, repeating, silence
from plotout.sending.cutfile import CutFile
from plotout.sending.extent import Box
from plotout.sending.flow_control import Credit
from plotout.sending.journal import Journal
from plotout.sending.link import write_whole
from plotout.sending.looks import Looks
from plotout.sending.messages import Message
from plotout.sending.silence import Silence
from plotout.sending.standing import Standing, was_reset
from plotout.sending.talk import PortTalk, form
from plotout.sending.trust import Trust
from plotout.sending.watch import Watch

ENDING = 0.05  # s for a port to take the rest of a piece when a job is stopped
TELL_EVERY = 15.0  # s without a finished stroke
TAKES_NOTHING = "; the machine takes nothing more for now: it may be held at its panel"
NOT_BEGUN = (
    "Nothing is sent yet: the machine takes nothing. It may be held at its panel, or its flow "
    "control or its buffer may be set to something else than in its profile."
)
RENEWED_UNTOLD = (
    "Note: this machine does not tell that it was initialized, so a reset without a word might not "
    "be noticed. If it is reset, or its power fails, stop the job (q), and look at the sheet."
)
NOTE_EVERY = 0.1  # s between notes of what is done


@dataclass(slots=True)
class Exchange:
    """What was sent of a job, what the machine answered, and what is known to be done.

    answers: it answers at all; buffer: bytes that it takes. first: unit with which this run began;
    unit, line: of the message sent last; of_unit: bytes of `unit` sent so far; marked: the unit of
    the last mark that was sent. unanswered: messages whose answers are to come, the oldest first;
    late: others given up whose answers may still come; stale: answers about its room that are late,
    and no longer true.
    within: a message is partly sent. piece: bytes handed to the port at once; rest: those that it
    has not taken yet; most_waiting: those that it may hold when the next piece comes; payload: all
    that were sent.
    number: of the next message; 0 if they aren't numbered. again: times in a row that messages had
    to be sent again. counts: it has taken the job's first count: from then on another one shows a
    reset. reset: the machine may have been switched off since. settled: it was stopped, and showed
    that just `done` are done; partly: it was stopped within the next one. noted: what is done by
    the journal, and when that was.
    progressed_at: when the machine last took, answered or finished something; answered_at: when it
    answered, or the oldest message without an answer was sent; told_at: when the user last heard of
    progress. standing: how the machine stood before the job. turns: of a machine that takes its
    messages in turn. steps: of one whose answers can be compared with what it was sent. box: the
    work's reach, machine mm. looks, silence, trust: see there.
    """

    file: CutFile
    talk: PortTalk
    credit: Credit
    journal: Journal
    watch: Watch
    answers: bool
    buffer: int
    done: int = 0
    unit: int = 0
    line: int = -1
    unanswered: deque[Message] = field(default_factory=deque)
    noted: int = 0
    noted_at: float = 0.0
    payload: int = 0
    within: bool = False
    piece: int = 64
    most_waiting: int = 32
    rest: bytes = b""
    progressed_at: float = 0.0
    answered_at: float = 0.0
    looks: Looks = field(default_factory=Looks)
    number: int = 0
    again: int = 0
    first: int = 0
    reset: bool = False
    counts: bool = False
    trust: Trust = field(default_factory=Trust)
    standing: Standing | None = None
    settled: bool = False
    partly: bool = False
    late: int = 0
    of_unit: int = 0
    told_at: float = 0.0
    turns: in_turn.Turns | None = None
    steps: in_step.Steps | None = None
    box: Box | None = None
    marked: int = -1
    silence: Silence = field(default_factory=Silence)
    stale: int = 0

    def __post_init__(self) -> None:
        if self.answers and self.file.language.in_turn:
            self.turns = in_turn.Turns(worked_at=time.monotonic())
        if self.standing is not None:
            self.looks.saw(self.standing.place)
        self.first = self.noted = self.trust.proven = self.trust.kept = self.done
        self.progressed_at = self.told_at = time.monotonic()

    def listen(self) -> None:
        """Read what the machine said, and note from time to time what is done."""
        self.take_in(self.talk.hearing.take(self.talk.link.read()))
        if self.talk.link.fell():
            raise faults.was_off(self)
        if self.turns is not None:
            in_turn.tick(self, self.turns)
        silence.notice(self)
        now = time.monotonic()
        if now - self.told_at > TELL_EVERY:
            self.told_at = now
            self._tell_of_long()
        if self.trust.sure is None and self.done > self.noted and now - self.noted_at > NOTE_EVERY:
            self.journal.later(done=self.done)
            self.noted, self.noted_at = self.done, now

    def _tell_of_long(self) -> None:
        """Report how much of a long stroke is sent, if none was finished for long."""
        waits = self.watch.wish.pause or any(message.by_hand for message in self.unanswered)
        still = time.monotonic() - self.progressed_at > TELL_EVERY
        if waits:
            return
        if not self.payload:
            self.watch.said(NOT_BEGUN)
        elif self.unit < self.file.strokes:
            whole = len(self.file.unit(self.unit))
            share = min(100, 100 * self.of_unit // whole)
            words = f"Stroke {self.unit + 1} of {self.file.strokes}: {share} % sent"
            self.watch.said(f"{words}{TAKES_NOTHING if still else ''}.")
        elif self.unanswered:
            words = "All is sent; the machine still works"
            self.watch.said(f"{words}{', or is held at its panel' if still else ''}.")

    def begun(self) -> None:
        """Note that the machine has taken the job's first count: from now on it is valid.

        Raises MachineError if it may have been reset since its user said that it is in place.
        """
        if self.standing is not None:
            try:
                self.standing.begun([self.trust.strange, *self.trust.harmless])
            except MachineError:
                self.reset = True
                raise
        self.journal.later(adrift=False)
        self.counts = True
        if not self.file.language.acknowledges:
            self._tells_renewals()

    def _tells_renewals(self) -> None:
        """See whether the machine tells that its file has just initialized it; say if it doesn't.
        From now on that is forgotten by asking.
        """
        language = self.file.language
        self.trust.renewal = bool(language.initialized(self.talk))
        if not self.trust.renewal and language.renews(self.file.head(self.first)):
            self.watch.said(RENEWED_UNTOLD)

    def take_in(self, heard: Iterable[Heard]) -> None:
        """Draw conclusions. Raises MachineError for an error, or a machine that was reset.

        What a machine says after that concerns messages that reached it since: it has lost some
        earlier ones, so its answers no longer show what is done.
        """
        heard = iter(heard)
        for answer in heard:
            if self.trust.adrift:
                return
            self.looks.saw(answer.at)
            if self.steps is not None and self.steps.hears(answer):
                in_step.take_in(self, self.steps, answer)
            if answer.kind == "error" and self.unanswered and self.unanswered[0].aside:
                if self.unanswered[0].turn and self.steps and not self.steps.refused:
                    raise faults.out_of_step(self, answer)
                self.credit.heard(answer)
                self._ends_question(self.unanswered.popleft(), refused=True)
                continue
            if answer.kind == "error" and not self._asks_in_vain():
                raise faults.of_error(self, answer, heard)
            if answer.kind == "reset":
                raise faults.was_reset(self)
            if self.turns is not None:
                in_turn.take_in(self, self.turns, answer)
                continue
            if answer.kind == "strange" and form(answer.text) not in self.trust.harmless:
                self._wonders_at(answer.text)
            if answer.kind == "again":
                repeating.send_for(self, answer)
                return
            self._credits(answer)
            if answer.kind == "ok":
                self._acknowledged()
            elif answer.kind == "count":
                self._counted(answer)

    def _wonders_at(self, words: str) -> None:
        """Take words that may be a greeting. A machine that tells its count is asked for that, if
        it would also tell a reset that has kept it; one that has not been given it yet has nothing
        to lose but its place. Raises MachineError.
        """
        if not self.file.language.acknowledges:
            if not self.counts:
                raise was_reset()
            silence.wonder(self, words)
            if not self.trust.renewal:
                raise faults.may_have_been_reset(self, words)
            return
        self.trust.wonders_at(words, self.done)

    def _credits(self, answer: Heard) -> None:
        """Count the room that an answer shows, but for one that comes too late to be true. After
        the last of those it is asked anew: the answer for it may have been among them.
        """
        if answer.kind != "room" or not self.stale:
            self.credit.heard(answer)
            return
        self.stale -= 1
        if not self.stale and self.credit.asks:
            self.credit.begin_anew()

    def _acknowledged(self) -> None:
        """Take the answer to the first message that has none. One too many shows that those before
        it may have been to something else.
        """
        if self.unanswered:
            self.again = 0
            self._answered(self.unanswered.popleft())
        elif self.late:
            self.late -= 1
        elif self.talk.owed:
            self.talk.owed -= 1
        elif self.counts and self.file.language.acknowledges:
            raise faults.too_many_answers(self)

    def _answered(self, message: Message) -> None:
        self.progressed()
        self.answered_at = time.monotonic()
        self.progressed_at += self.file.language.waits(message.data)  # it may just begin to
        if message.aside:
            self._ends_question(message, refused=False)
            return
        self.journal.now.got(message.unit, message.line)
        if message.done is not None:
            self.finished(message.done)

    def _ends_question(self, message: Message, refused: bool) -> None:
        if message.turn and self.steps is not None:
            in_step.ends(self, self.steps, refused)

    def _counted(self, heard: Heard) -> None:
        """Count what is done. Raises MachineError if one is missing: it was lost on the line, or
        its unit was, or the machine has dropped that.
        """
        same = self.file.language.same_count
        for index, message in enumerate(self.unanswered):
            assert message.done is not None
            if same(heard.value, message.done + 1):
                if index:
                    raise faults.uncertain(self)
                self._answered(self.unanswered.popleft())
                self.trust.proven = self.done
                return
        if not self.unanswered:
            return
        lost = faults.was_reset(self)  # it has lost strokes, and their counts with them
        if not self.counts:
            lost.problem = (
                "the machine did not give back the count that it was just given: it was reset, or "
                "can't keep one"
            )
            lost.fix = "Start again. If it stays so, set 'answers = false' under [sending]."
        raise lost

    def _asks_in_vain(self) -> bool:
        """Return whether a machine that needn't acknowledge ignores a question: no harm."""
        return bool(
            self.unanswered and self.unanswered[0].settles and not self.file.language.acknowledges
        )

    def loses_count(self) -> None:
        """Note that the machine's answers no longer show what is done."""
        self.trust.adrift = True
        self.only_what_is_sure()
        self.journal.close(done=self.done, adrift=True)

    def is_unsure(self) -> None:
        """Note that answers are missing: only what was counted while none was is certain."""
        self.trust.is_unsure()
        self.only_what_is_sure()

    def only_what_is_sure(self) -> None:
        """Take back what was counted after a reset, or words that may have been a greeting."""
        self.done = self.trust.of(self.done)

    def at_work(self) -> str:
        """Return in words where the machine is at work, as far as is known."""
        first, last = self.done + 1, min(self.unit + 1, self.file.strokes)
        if first > self.file.strokes:
            return "after the last stroke"
        return f"at stroke {first}" if first >= last else f"at one of strokes {first} to {last}"

    def finished(self, unit: int) -> None:
        """Note that a unit and all before it are done."""
        self.done = unit + 1
        self.progressed()
        self.told_at = self.progressed_at
        self.watch.done(self.done, self.file.units)

    def progressed(self) -> None:
        """Note that the machine makes progress; one that stands for a while does so until then."""
        self.progressed_at = max(self.progressed_at, time.monotonic())

    def put(self, piece: bytes, message: Message, last: bool) -> bool:
        """Send a whole piece of a message; return False, with nothing sent, if there is no room.

        last: it is its message's last. What the port doesn't take at once is in `rest`.
        """
        if self.credit.room() < len(piece) or self.talk.link.waiting() > self.most_waiting:
            return False
        if self.turns is not None and self.turns.holds_back:
            return False
        self.journal.now.sent(message.unit, message.line)
        went = self.talk.link.write(piece)
        if not went:
            return False
        self.rest = piece[went:]
        self.progressed()
        self.payload += len(piece)
        self.credit.sent(len(piece))
        self.within = not last
        self.of_unit = self.of_unit + len(piece) if message.unit == self.unit else len(piece)
        self.unit, self.line = message.unit, message.line
        whole = self.file.language.acknowledges
        if self.answers and last and (whole or message.done is not None):
            self.expects(message)
        if self.turns is not None:
            in_turn.sent(self, message)
        return True

    def expects(self, message: Message) -> None:
        """Note that a message was sent whose answer is to come."""
        if not self.unanswered:
            self.answered_at = time.monotonic()
        self.unanswered.append(message)
        self.marked = self.marked if message.done is None else message.done
        if self.steps is not None:
            self.steps.counts(message)

    def send_again(self, worked: int) -> None:
        """Send the messages not answered again, but for the first `worked`, which were worked."""
        self.again += 1
        if self.again > repeating.MOST_AGAIN:
            raise faults.garbled(self, "again and again")
        for _ in range(worked):
            self._answered(self.unanswered.popleft())
        self.credit.begin_anew()
        self.late += worked + len(self.unanswered)
        for message in self.unanswered:
            self.talk.say(message.data)
            self.credit.sent(len(message.data))
        self.progressed()

    def ask_for_room(self, piece: bytes) -> None:
        """Ask the machine, if it is time to, what it can take. piece: what is sent next."""
        question = self.credit.question(short=self.credit.room() < len(piece))
        if question:
            self.rest = question[self.talk.link.write(question) :]

    def end_piece(self) -> None:
        """Complete what the port has begun to take, so that no number is cut off."""
        with contextlib.suppress(MachineError):
            write_whole(self.talk.link, self.rest, ENDING)

    def put_rest(self) -> bool:
        """Hand over the rest of a piece; return whether the port has taken all of it."""
        if self.rest:
            went = self.talk.link.write(self.rest)
            self.rest = self.rest[went:]
            if went:
                self.progressed()
        return not self.rest
