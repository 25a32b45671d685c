"""The loop that sends a file: keeps the line full, knows what is done, stops safely."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Iterable
from concurrent.futures import Future
from dataclasses import dataclass, field

from plotout.errors import MachineError, Place
from plotout.wire.credit import Credit
from plotout.wire.cutfile import CutFile
from plotout.wire.hearing import Hearing
from plotout.wire.journal import Journal
from plotout.wire.language import HPGL_ROUND, Heard
from plotout.wire.link import Link
from plotout.wire.parts import Part, parts
from plotout.wire.safe import finished_by, make_safe
from plotout.wire.watch import Outcome, Watch

NAP = 0.002  # s between looks when nothing can be sent
AHEAD = 32  # units noted as sent before they are, so that the disk is not waited for each time
MOST_AHEAD = 4096  # the same where units go out faster than the disk takes notes
NOTE_EVERY = 0.1  # s between notes of what is done
ASK_AFTER = 5.0  # s without a word before a machine that answers is asked whether it is there
SILENCE = 30.0  # s without an answer to that before giving up
GO_ON_EVERY = 0.5  # s between words that send a machine on


@dataclass(slots=True)
class _Sending:
    file: CutFile
    link: Link
    credit: Credit
    journal: Journal
    watch: Watch
    answers: bool
    buffer: int
    done: int = 0
    unit: int = 0
    hearing: Hearing = field(init=False)
    unanswered: deque[Part] = field(default_factory=deque)
    noted: int = 0
    noted_at: float = 0.0
    promised: int = 0
    promised_at: float = 0.0
    coming: Future[None] | None = None
    coming_upto: int = 0
    ahead: int = AHEAD
    payload: int = 0
    forgot: bool = False
    last_word: float = field(default_factory=time.monotonic)
    asked_at: float = 0.0

    def __post_init__(self) -> None:
        self.hearing = Hearing(self.file.language)
        self.noted = self.done

    def listen(self) -> None:
        """Take in what the machine said, and note from time to time what is done."""
        self.take_in(self.hearing.take(self.link.read()))
        now = time.monotonic()
        if self.done > self.noted and now - self.noted_at > NOTE_EVERY:
            self.journal.later(done=self.done)
            self.noted, self.noted_at = self.done, now

    def take_in(self, heard: Iterable[Heard]) -> None:
        """Draw the conclusions. Raises MachineError for an error, or a machine that was reset.

        What a machine says after it was reset is about lines that reached it since: it has lost
        those before, so nothing that it says then tells what is done.
        """
        for each in heard:
            if self.forgot:
                return
            self.last_word = time.monotonic()
            if each.kind == "error":
                raise self._fault(each)
            if each.kind == "reset" and self.payload:
                raise self._was_reset()
            self.credit.heard(each)
            if each.kind in ("ok", "tally") and self.unanswered:
                done = self.unanswered.popleft().done
                if done is None:
                    continue
                if each.kind == "tally" and each.value != (done + 1) % HPGL_ROUND:
                    raise self._was_reset()  # it has lost strokes, and their counts with them
                self.finished(done)

    def _fault(self, heard: Heard) -> MachineError:
        line = self.unanswered[0].data.decode("latin-1").strip() if self.unanswered else ""
        to = f" to '{line}'" if line and heard.text.lower().startswith("error") else ""
        return MachineError(
            f"the machine answered '{heard.text}'{to} at stroke {self._at_work() + 1}",
            fix="The tool is up. What the number means stands in the control's manual; "
            "then: plotout resume",
            place=Place(file=self.file.path),
        )

    def _was_reset(self) -> MachineError:
        self.forgot = True
        self.journal.write(done=self.done, reset=True)
        return MachineError(
            f"the machine was reset at stroke {self._at_work() + 1}",
            fix="Home it, or register the sheet again; then: plotout resume",
            place=Place(file=self.file.path),
        )

    def _at_work(self) -> int:
        return min(self.done, self.file.units - 1)

    def finished(self, unit: int) -> None:
        """Note that a unit and all before it are done."""
        self.done = unit + 1
        self.watch.done(self.done, self.file.units)

    def promise(self, unit: int) -> None:
        """Note in the journal that units up to this one may be with the machine.

        The note is begun early, so that the line need not wait for the disk.
        """
        if self.coming is None and unit + self.ahead // 2 >= self.promised < self.file.units:
            now = time.monotonic()
            slow = now - self.promised_at > NOTE_EVERY
            self.ahead = AHEAD if slow else min(self.ahead * 2, MOST_AHEAD)
            self.coming_upto = min(max(unit, self.promised) + self.ahead, self.file.units)
            self.coming, self.promised_at = self.journal.later(sent=self.coming_upto), now
        if unit >= self.promised and self.coming is not None:
            self.coming.result()
            self.promised, self.coming = self.coming_upto, None

    def put(self, data: bytes, part: Part) -> int:
        """Send a part, or as much of it as there is room for; return how much went."""
        whole = self.file.language.by_line
        room = self.credit.room()
        if room <= 0 or (whole and room < len(data)):
            return 0
        went = self.link.write(data if whole else data[:room])
        if went and whole and went < len(data):
            went += self._rest(data[went:])
        if went:
            self.payload += went
            self.credit.sent(went)
            if self.answers and went == len(data) and (whole or part.done is not None):
                self.unanswered.append(part)
        return went

    def _rest(self, data: bytes) -> int:
        """A line is never left half-sent."""
        sent, until = 0, time.monotonic() + SILENCE
        while sent < len(data):
            sent += self.link.write(data[sent:])
            if time.monotonic() > until:
                raise MachineError("the port takes nothing", fix="Look at the cable.")
        return sent

    def mind_silence(self) -> None:
        """Ask a machine that has said nothing for long; raise MachineError if it stays silent."""
        silent = time.monotonic() - self.last_word
        if not self.answers or silent < ASK_AFTER:
            return
        if silent > ASK_AFTER + SILENCE:
            raise MachineError(
                f"the machine has said nothing for {silent:.0f} s",
                fix="Is it on, and is the speed right? Then: plotout resume",
            )
        if time.monotonic() - self.asked_at > ASK_AFTER:
            self.asked_at = time.monotonic()
            self.link.write(self.file.language.ask)


def send(
    file: CutFile,
    link: Link,
    credit: Credit,
    journal: Journal,
    *,
    first: int = 0,
    answers: bool = True,
    buffer: int = 1024,
    watch: Watch | None = None,
) -> Outcome:
    """Send from unit `first` to the end; where the machine answers, wait until all of it is done.

    Whatever ends it early (a wish to stop, an error of the machine's, a fault of ours), what the
    machine has not begun is thrown away and the tool is brought up before this returns or raises.
    """
    start = time.monotonic()
    state = _Sending(file, link, credit, journal, watch or Watch(), answers, buffer, done=first)
    ended = False
    try:
        ended = _run(state, first)
    finally:
        if not ended:
            said = make_safe(link, file, state.hearing)
            state.take_in(each for each in said if each.kind == "ok")
            count = next((each for each in reversed(said) if each.kind == "status"), None)
            if (
                count is not None
                and not state.forgot
                and finished_by(file, count, state.done, state.unit)
            ):
                state.finished(count.value - 1)
        if state.done > state.noted:
            journal.write(done=state.done)
        if ended:
            journal.write(ended=True)
    return Outcome(state.done, file.units, not ended, state.payload, time.monotonic() - start)


def _run(state: _Sending, first: int) -> bool:
    """Return True when all was sent and done, False when the user stopped it."""
    wish, units = state.watch.wish, state.file.units
    last_comment = ""
    for part in parts(state.file, first, state.answers):
        state.promise(part.unit)
        state.unit = part.unit
        if wish.pause and part.rests:
            _pause(state)
        if not _push(state, part):
            return False
        if part.data[:1] == b"(":
            last_comment = part.data.decode("latin-1").strip("() \n")
        if part.settles:
            if not _answered(state, 0):
                return False
            state.journal.later(reset=False)  # from now on the machine's count means something
        if part.by_hand and state.answers and not _by_hand(state, last_comment):
            return False
        if not state.answers:
            _reckon(state, part.unit)
    while state.done < units if state.answers else state.link.waiting() > 0:
        if wish.stop:
            return False
        state.listen()
        state.mind_silence()
        time.sleep(NAP)
    if not state.answers:
        state.finished(units - 1)
    return True


def _push(state: _Sending, part: Part) -> bool:
    """Send one part whole; return False when the user stopped it."""
    data = part.data
    while data:
        state.listen()
        if state.watch.wish.stop:
            return False
        went = state.put(data, part)
        data = data[went:]
        if data:
            question = state.credit.question()
            if question:
                state.link.write(question)
            if not went:
                state.mind_silence()
                time.sleep(NAP)
    return True


def _pause(state: _Sending) -> None:
    """Stand with the tool up until the user goes on or stops."""
    if not state.file.language.by_line:
        state.link.write(b"PU;")
    wish = state.watch.wish
    while wish.pause and not wish.stop:
        state.listen()
        state.last_word = time.monotonic()
        time.sleep(NAP)


def _answered(state: _Sending, but: int) -> bool:
    """Wait until all parts but so many are answered; return False when the user stopped it."""
    while len(state.unanswered) > but:
        if state.watch.wish.stop:
            return False
        state.listen()
        state.mind_silence()
        time.sleep(NAP)
    return True


def _by_hand(state: _Sending, what: str) -> bool:
    """See the machine through a stop in the program; return False when the user stopped it."""
    wish, go_on = state.watch.wish, state.file.language.go_on
    if not _answered(state, 1):  # all before the stop has to be done
        return False
    ours = state.watch.by_hand(what)
    told = 0.0
    while state.unanswered:
        if wish.stop:
            return False
        state.listen()
        state.last_word = time.monotonic()  # it may take as long as it takes
        if ours and not wish.pause and time.monotonic() - told > GO_ON_EVERY:
            state.link.write(go_on)
            told = time.monotonic()
        time.sleep(NAP)
    return True


def _reckon(state: _Sending, unit: int) -> None:
    """Without answers a unit counts as done when a whole buffer was sent after it."""
    starts = state.file.starts
    behind = int(starts[unit + 1]) - state.buffer - state.link.waiting()
    done = int(starts[1:].searchsorted(behind, side="right"))
    if done > state.done:
        state.finished(done - 1)
