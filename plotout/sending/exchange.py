"""The exchange with a machine: what went out, what came back, and what that says is done."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Iterable
from concurrent.futures import Future
from dataclasses import dataclass, field

from plotout.errors import MachineError, Place
from plotout.sending.credit import Credit
from plotout.sending.cutfile import CutFile
from plotout.sending.hearing import Hearing
from plotout.sending.journal import Journal
from plotout.sending.language import HPGL_ROUND, Heard
from plotout.sending.link import Link, write_whole
from plotout.sending.parts import Part
from plotout.sending.watch import Watch

AHEAD = 32  # units noted as sent before they are, so that the disk is not waited for each time
MOST_AHEAD = 4096  # the same where units go out faster than the disk takes notes
NOTE_EVERY = 0.1  # s between notes of what is done
ASK_AFTER = 5.0  # s without a word before a machine that answers is asked whether it is there
SILENCE = 30.0  # s without an answer to that before giving up


@dataclass(slots=True)
class Exchange:
    """What was sent of a job, what the machine answered, and what is therefore known to be done.

    adrift: the machine was reset or stumbled, so that its answers tell no more what is done.
    """

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
    adrift: bool = False
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

        What a machine says after that is about lines that reached it since: it has lost some of
        those before, so nothing that it says then tells what is done.
        """
        for each in heard:
            if self.adrift:
                return
            self.last_word = time.monotonic()
            if each.kind == "error" and not self._asks_in_vain():
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

    def _asks_in_vain(self) -> bool:
        """An HP-GL machine may not know all of the preamble: no line is wrong for that."""
        return bool(
            self.unanswered and self.unanswered[0].settles and not self.file.language.by_line
        )

    def _fault(self, heard: Heard) -> MachineError:
        self._loses_count()
        line = self.unanswered[0].data.decode("latin-1").strip() if self.unanswered else ""
        to = f" to '{line}'" if line and heard.text.lower().startswith("error") else ""
        means = f": {heard.means}" if heard.means else ""
        return MachineError(
            f"the machine answered '{heard.text}'{to} at stroke {self._at_work() + 1}{means}",
            fix="The tool is up. The machine's manual has the last word on what that means. "
            "Put it right; then: plotout resume",
            place=Place(file=self.file.path),
        )

    def _was_reset(self) -> MachineError:
        self._loses_count()
        return MachineError(
            f"the machine was reset at stroke {self._at_work() + 1}",
            fix="Home it, or register the sheet again; then: plotout resume",
            place=Place(file=self.file.path),
        )

    def _loses_count(self) -> None:
        self.adrift = True
        self.journal.write(done=self.done, adrift=True)

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
            write_whole(self.link, data[went:], SILENCE)  # a line is never left half-sent
            went = len(data)
        if went:
            self.payload += went
            self.credit.sent(went)
            if self.answers and went == len(data) and (whole or part.done is not None):
                self.unanswered.append(part)
        return went

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
