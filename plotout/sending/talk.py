"""A conversation with a machine at a port, by which languages ask and listen."""

from __future__ import annotations

import contextlib
import math
import re
import time
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, field

from plotout.conversation import Heard
from plotout.language import Language
from plotout.sending.link import Link, write_whole
from plotout.sending.waits import Waits

NAP = 0.002  # s between looks
PATIENCE = 5.0  # s for a port that accepts nothing
UNTOLD = 1.0  # s of waiting that need no words
LONGEST_ANSWER = 4096  # bytes kept of a line that does not end: noise, or a wrong baud rate
NOISE = b"\x00\xff\x11\x13"
"""In no answer: what comes from a line that is switched on; XON and XOFF, which some machines send
in any flow (those that stop the line are taken out before).
"""
STANDS = (
    "The machine has stopped the line. Waiting {:.0f} s at most for it to take what it is sent; "
    "its own stop key is quicker."
)
LATER = 1.5  # times its latest answer
MOST_LATE = 3.0  # s that an answer takes
ENDS = ("ok", "error")  # of the answer to a line
_ENDS = re.compile(rb"[\r\n]+|(?<=\x06)")


def form(words: str) -> str:
    """Return words without their numbers: a machine may tell its temperature every second."""
    return re.sub(r"\d+", "0", words)


@dataclass(slots=True)
class Hearing:
    """Divides input into lines and finds their meanings. reset: a greeting was among them; halted:
    an error after which the machine does nothing more.
    """

    language: Language
    reset: bool = False
    halted: bool = False
    _rest: bytes = b""

    def take(self, data: bytes) -> list[Heard]:
        """Return the meanings of the lines completed by `data`."""
        if not data:
            return []
        *lines, rest = _ENDS.split(self._rest + data.translate(None, NOISE))
        self._rest = rest[-LONGEST_ANSWER:]
        heard = [self.language.hear(line.decode("latin-1")) for line in lines if line]
        self.reset |= any(answer.kind == "reset" for answer in heard)
        self.halted |= any(answer.kind == "error" and answer.halted for answer in heard)
        return heard


@dataclass(slots=True)
class PortTalk:
    """See `plotout.conversation.Talk`. overheard: everything the machine said.

    yields: s that what is urgent waits for a stopped line, before it is pushed past it: what the
    port still holds is pushed with it, which a machine that can't drop has no room for.
    number: of the next message; 0 if they aren't numbered. opened_at: when its port was. lag: s
    that its latest answer took. owed: answers to lines that were not waited for any longer, and may
    still come.
    """

    link: Link
    language: Language
    hearing: Hearing = field(init=False)
    overheard: list[Heard] = field(default_factory=list)
    tell: Callable[[str], None] = lambda _words: None
    yields: float = 0.0
    number: int = 0
    lag: float = 0.0
    owed: int = 0
    opened_at: float = field(init=False)
    _waits: Waits = field(default_factory=Waits)
    _urgent: bool = False
    _commanded: bool = False
    _in_vain: bool = False  # it has waited for the line: not again until that goes on

    def __post_init__(self) -> None:
        self.hearing = Hearing(self.language)
        self.opened_at = time.monotonic()

    @property
    def halted(self) -> bool:
        """See Talk."""
        return self.hearing.halted

    @property
    def late(self) -> float:
        """See Talk."""
        return LATER * self.lag

    def say(self, data: bytes, seconds: float = PATIENCE) -> None:
        """See Talk."""
        if self._urgent:
            self.link.urge(data)
        else:
            self._wait(seconds, self.link.held)
            write_whole(self.link, data, 0.0 if self._in_vain else seconds)

    def urge(self, data: bytes) -> None:
        """See Talk."""
        if self.yields:
            self._wait(self.yields, lambda: self.link.held() or bool(self.link.waiting()))
        self.link.urge(data)

    def _wait(self, seconds: float, stands: Callable[[], bool]) -> None:
        """Wait for a line that stands, so many s at most; after once in vain not until it moves."""
        begun, told = time.monotonic(), False
        while not self._in_vain and stands():
            waited = time.monotonic() - begun
            self._in_vain = waited >= seconds
            if waited > UNTOLD and not told:
                told = True
                self.tell(STANDS.format(seconds))
            self.link.nap(NAP)

    @contextlib.contextmanager
    def urging(self) -> Iterator[None]:
        """Let what is said within pass a line that the machine has stopped."""
        before, self._urgent = self._urgent, True
        try:
            yield
        finally:
            self._urgent = before

    @contextlib.contextmanager
    def stopping(self) -> Iterator[None]:
        """Tell the user if the machine is not soon seen to stop with its tool up."""
        self._waits.of_stop()
        try:
            yield
        finally:
            self._waits.stop_due = math.inf

    def hear(self, seconds: float, until: Callable[[Heard], bool] | None = None) -> list[Heard]:
        """See Talk."""
        said: list[Heard] = []
        begun = time.monotonic()
        while True:
            new = self.hearing.take(self.link.read())
            self._in_vain = self._in_vain and self.link.held()
            said += new
            self.overheard += new
            if time.monotonic() >= begun + seconds or (until and any(map(until, new))):
                return said
            self._waits.lasts(begun, self.lag, self.tell)
            self.link.nap(NAP)

    def ask(self, question: bytes, kinds: Collection[str], seconds: float = 1.0) -> Heard | None:
        """See Talk."""
        self.say(question)
        asked_at = time.monotonic()
        said = self.hear(seconds + self.late, lambda heard: heard.kind in kinds)
        answer = next((heard for heard in said if heard.kind in kinds), None)
        if answer is not None:
            self.lag = max(self.lag, time.monotonic() - asked_at)
        return answer

    def command(self, line: bytes, own: Collection[str] = (), seconds: float = 1.0) -> list[Heard]:
        """See Talk. How late a machine answers its first line shows how late it answers others."""
        self._let_come()
        self.say(line)
        said_at = time.monotonic()
        seconds, self._commanded = seconds if self._commanded else MOST_LATE, True
        until = said_at + seconds + self.late
        said: list[Heard] = []
        while not _is_answer(said, own) and time.monotonic() < until:
            said += self.hear(until - time.monotonic(), _ends)
        if _is_answer(said, own):
            self.lag = max(self.lag, time.monotonic() - said_at)
        elif not any(map(_ends, said)):
            self.owed += 1
        return said

    def _let_come(self) -> None:
        """Let the answers come that are owed: they would be taken for those to other lines."""
        until = time.monotonic() + MOST_LATE
        while self.owed > 0 and time.monotonic() < until:
            self.owed -= sum(map(_ends, self.hear(until - time.monotonic(), _ends)))
        self.owed = 0


def _ends(heard: Heard) -> bool:
    return heard.kind in ENDS


def _is_answer(said: list[Heard], own: Collection[str]) -> bool:
    """Return whether "ok" or an error is among these messages, after one of its own kinds."""
    words = (index for index, heard in enumerate(said) if heard.kind in own)
    first = next(words, len(said)) if own else 0
    return any(map(_ends, said[first:]))
