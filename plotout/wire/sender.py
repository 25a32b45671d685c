"""The loop that sends a file: keeps the line full, knows what is done, stops safely."""

from __future__ import annotations

import re
import time
from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from plotout.errors import MachineError, Place
from plotout.wire.credit import Credit
from plotout.wire.cutfile import CutFile
from plotout.wire.journal import Journal
from plotout.wire.language import HPGL_ROUND, Heard, Language
from plotout.wire.link import Link

NAP = 0.002  # s between looks when nothing can be sent
AHEAD = 32  # units noted as sent before they are, so that the disk is not waited for each time
NOTE_EVERY = 0.1  # s between notes of what is done
SILENCE = 60.0  # s without a word from a machine that answers, with work in it, before giving up

_ENDS = re.compile(rb"[\r\n]+|(?<=\x06)")


@dataclass(slots=True)
class Wish:
    """What the user wants now; set from a key or a signal."""

    pause: bool = False
    stop: bool = False


@dataclass(frozen=True, slots=True)
class Outcome:
    """How sending ended. done: units known to be finished, of `units`. payload: bytes sent."""

    done: int
    units: int
    stopped: bool
    payload: int
    seconds: float


@dataclass(slots=True)
class Hearing:
    """Cuts what comes in into lines and says what they mean."""

    language: Language
    _rest: bytes = b""

    def take(self, data: bytes) -> list[Heard]:
        """Return the meaning of every line that is now whole."""
        if not data:
            return []
        *lines, self._rest = _ENDS.split(self._rest + data)
        return [self.language.hear(line.decode("latin-1")) for line in lines if line]


@dataclass(slots=True)
class _Sending:
    file: CutFile
    link: Link
    credit: Credit
    journal: Journal
    answers: bool
    tell: Callable[[int, int], None]
    buffer: int
    hearing: Hearing = field(init=False)
    tags: deque[int | None] = field(default_factory=deque)
    waiting: deque[int] = field(default_factory=deque)
    done: int = 0
    noted: int = 0
    noted_at: float = 0.0
    promised: int = 0
    payload: int = 0
    last_word: float = 0.0

    def __post_init__(self) -> None:
        self.hearing = Hearing(self.file.language)

    def listen(self) -> None:
        for heard in self.hearing.take(self.link.read()):
            self.last_word = time.monotonic()
            self.credit.heard(heard)
            self._note(heard)
        now = time.monotonic()
        if self.done > self.noted and now - self.noted_at > NOTE_EVERY:
            self.journal.write(done=self.done)
            self.noted, self.noted_at = self.done, now

    def _note(self, heard: Heard) -> None:
        if heard.kind == "error":
            raise MachineError(
                f"the machine answered '{heard.text}' at stroke {self._at_work() + 1}",
                fix="The tool is up. Look at the machine; then: plotout resume",
                place=Place(file=self.file.path),
            )
        if heard.kind == "reset" and self.payload:
            raise self._was_reset()
        if heard.kind == "ok" and self.tags:
            unit = self.tags.popleft()
            if unit is not None:
                self._finished(unit)
        elif heard.kind == "tally" and self.waiting:
            unit = self.waiting.popleft()
            if heard.value != (unit + 1) % HPGL_ROUND:
                raise self._was_reset()  # it has lost strokes, and their counts with them
            self._finished(unit)

    def _was_reset(self) -> MachineError:
        self.journal.write(done=self.done, reset=True)
        return MachineError(
            f"the machine was reset at stroke {self._at_work() + 1}",
            fix="Home it, or register the sheet again; then: plotout resume",
            place=Place(file=self.file.path),
        )

    def _at_work(self) -> int:
        return min(self.done, self.file.units - 1)

    def _finished(self, unit: int) -> None:
        self.done = unit + 1
        self.tell(self.done, self.file.units)

    def promise(self, unit: int) -> None:
        """Note in the journal that units up to this one may be with the machine."""
        if unit >= self.promised:
            self.promised = min(unit + AHEAD, self.file.units)
            self.journal.write(sent=self.promised)

    def put(self, part: bytes, tag: int | None) -> int:
        """Send a part, or as much of it as there is room for; return how much went."""
        whole = self.file.language.by_line
        room = self.credit.room()
        if room <= 0 or (whole and room < len(part)):
            return 0
        went = self.link.write(part if whole else part[:room])
        if went:
            self.payload += went
            if whole and went < len(part):
                went += self._rest(part[went:])
            self.credit.sent(went)
            if whole:
                self.tags.append(tag)
            elif tag is not None and went == len(part):
                self.waiting.append(tag)
        return went

    def _rest(self, part: bytes) -> int:
        """A line is never left half-sent."""
        sent, until = 0, time.monotonic() + SILENCE
        while sent < len(part):
            sent += self.link.write(part[sent:])
            if time.monotonic() > until:
                raise MachineError("the port takes nothing", fix="Look at the cable.")
        return sent


def _parts(file: CutFile, first: int, marks: bool) -> Iterator[tuple[int, bytes, int | None]]:
    """Give (unit, bytes, unit that is done when this part is answered) in order."""
    language = file.language
    head = file.head(first)
    if marks:
        head = language.opened(head, first)
    for part in _split(language, head):
        yield first, part, None
    owed: int | None = None
    for unit in range(first, file.units):
        parts = list(_split(language, file.unit(unit)))
        if marks:
            parts[-1] = language.counted(parts[-1], unit + 1)
        for nth, part in enumerate(parts):
            yield unit, part, None
            if owed is not None and nth == 0:
                yield unit, language.mark, owed  # the tool is up by now
                owed = None
        if marks and language.by_line and unit + 1 < file.units:
            owed = unit
        elif marks:
            yield unit, language.mark, unit


def _split(language: Language, data: bytes) -> Iterator[bytes]:
    if not language.by_line:
        yield data
        return
    for line in data.splitlines():
        if line.strip():
            yield line.strip() + b"\n"


def send(
    file: CutFile,
    link: Link,
    credit: Credit,
    journal: Journal,
    *,
    first: int = 0,
    answers: bool = True,
    buffer: int = 1024,
    wish: Wish | None = None,
    tell: Callable[[int, int], None] = lambda _done, _units: None,
) -> Outcome:
    """Send from unit `first` to the end and wait until all of it is done.

    Whatever ends it early (a wish to stop, an error of the machine's, a fault of ours), what the
    machine has not begun is thrown away and the tool is brought up before this returns or raises.
    """
    wish = wish or Wish()
    start = time.monotonic()
    state = _Sending(file, link, credit, journal, answers, tell, buffer, done=first, noted=first)
    state.last_word = start
    ended = False
    try:
        ended = _run(state, first, wish)
    finally:
        if not ended:
            make_safe(link, file)
        if state.done > state.noted:
            journal.write(done=state.done)
        if ended:
            journal.write(ended=True)
    return Outcome(state.done, file.units, not ended, state.payload, time.monotonic() - start)


def _run(state: _Sending, first: int, wish: Wish) -> bool:
    """Return True when all was sent and done, False when the user stopped it."""
    for unit, part, tag in _parts(state.file, first, state.answers):
        state.promise(unit)
        if not _push(state, part, tag, wish):
            return False
        if not state.answers:
            _reckon(state, unit)
    while state.answers and state.done < state.file.units:
        if wish.stop:
            return False
        state.listen()
        _mind_silence(state)
        time.sleep(NAP)
    state.done = state.file.units
    return True


def _push(state: _Sending, part: bytes, tag: int | None, wish: Wish) -> bool:
    while part:
        state.listen()
        if wish.stop:
            return False
        went = 0 if wish.pause else state.put(part, tag)
        part = part[went:]
        if part:
            question = state.credit.question()
            if question:
                state.link.write(question)
            if not went:
                if not wish.pause:
                    _mind_silence(state)
                time.sleep(NAP)
    return True


def _reckon(state: _Sending, unit: int) -> None:
    """Without answers a unit counts as done when a whole buffer was sent after it."""
    behind = state.file.starts[unit + 1] - state.buffer
    done = int((state.file.starts[1:] <= behind).sum())
    if done > state.done:
        state.done = done
        state.tell(done, state.file.units)
        state.listen()


def _mind_silence(state: _Sending) -> None:
    if state.answers and time.monotonic() - state.last_word > SILENCE:
        raise MachineError(
            f"the machine has said nothing for {SILENCE:.0f} s",
            fix="Is it on, and is the speed right? Then: plotout resume",
        )


def make_safe(link: Link, file: CutFile) -> None:
    """Throw away what the machine has not begun, and bring the tool up and off."""
    try:
        link.discard()
        rest, until = file.language.drop + file.park(), time.monotonic() + 1.0
        while rest and time.monotonic() < until:
            rest = rest[link.write(rest) :]
    except MachineError:
        pass  # the line is gone: nothing more can be said to the machine
