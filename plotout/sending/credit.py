"""Flow control: how many bytes the machine can take now."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable
from typing import Protocol

from plotout.sending.language import Heard, Hpgl
from plotout.sending.link import WireSettings

RESERVE = 16  # bytes of the machine's buffer never filled: enquiries and marks pass through it


class Credit(Protocol):
    """Keeps count of what the machine can take."""

    def room(self) -> int:
        """Return how many bytes may be sent now."""

    def sent(self, count: int) -> None:
        """Note that a part of `count` bytes was sent: with counted lines, one line."""

    def heard(self, what: Heard) -> None:
        """Note what the machine said."""

    def question(self) -> bytes:
        """Return what to ask the machine now, or nothing."""


class Counted:
    """Every line is answered `ok`; what is not yet answered lies in the machine's buffer."""

    def __init__(self, buffer: int) -> None:
        self._buffer = buffer - 1
        self._lines: deque[int] = deque()
        self._used = 0

    def room(self) -> int:
        """See Credit."""
        return self._buffer - self._used

    def sent(self, count: int) -> None:
        """See Credit."""
        self._lines.append(count)
        self._used += count

    def heard(self, what: Heard) -> None:
        """An answer of any kind to a line frees its bytes."""
        if what.kind in ("ok", "error") and self._lines:
            self._used -= self._lines.popleft()

    def question(self) -> bytes:
        """See Credit."""
        return b""


class Enquiry:
    """ESC . B asks the free room. The answer holds for the moment when the machine read it, so
    what was sent after the question is taken off.
    """

    def __init__(self, buffer: int) -> None:
        self._buffer = buffer
        self._step = max(64, buffer // 4)
        self._room = 0
        self._since_question = 0
        self._asked = False

    def room(self) -> int:
        """See Credit."""
        return max(0, self._room - RESERVE)

    def sent(self, count: int) -> None:
        """See Credit."""
        self._room -= count
        self._since_question += count

    def heard(self, what: Heard) -> None:
        """See Credit."""
        if what.kind == "room":
            self._room = what.value - self._since_question
            self._asked = False

    def question(self) -> bytes:
        """Ask again when a quarter of the buffer was sent since, or there is too little room."""
        if self._asked or (self._room > self._buffer - self._step and self._since_question == 0):
            return b""
        if self._room > self._buffer // 2 and self._since_question < self._step:
            return b""
        self._asked, self._since_question = True, 0
        return Hpgl().ask


class Blocks:
    """ENQ/ACK (ESC . H and I set it up): a block may be sent after each ACK to an ENQ."""

    SETUP = b"\x1b.I%d;5;6:"  # block size; ENQ is 5, ACK is 6

    def __init__(self, buffer: int) -> None:
        self._block = max(32, buffer // 2)
        self._room = 0
        self._asked = False
        self._begun = False

    def room(self) -> int:
        """See Credit."""
        return self._room

    def sent(self, count: int) -> None:
        """See Credit."""
        self._room -= count

    def heard(self, what: Heard) -> None:
        """See Credit."""
        if "\x06" in what.text:
            self._room, self._asked = self._block, False

    def question(self) -> bytes:
        """See Credit."""
        if self._room > 0 or self._asked:
            return b""
        self._asked = True
        begin = b"" if self._begun else self.SETUP % self._block
        self._begun = True
        return begin + b"\x05"


class Paced:
    """No word from the machine: never faster than the line, or left to the wire (XON/XOFF, RTS).

    What could not be sent is not made good later, so that little is ever left in the port's own
    buffer when the user wants to stop.
    """

    BURST = 64  # bytes at once

    def __init__(self, baud: int, now: Callable[[], float] = time.monotonic) -> None:
        self._rate = baud / 10.0  # 8 bits, a start and a stop bit
        self._most = max(self.BURST, self._rate * 0.1)
        self._now = now
        self._at = now()
        self._room = float(self.BURST)

    def room(self) -> int:
        """See Credit."""
        now = self._now()
        self._room = min(self._room + (now - self._at) * self._rate, self._most)
        self._at = now
        return int(self._room)

    def sent(self, count: int) -> None:
        """See Credit."""
        self._room -= count

    def heard(self, what: Heard) -> None:
        """See Credit."""

    def question(self) -> bytes:
        """See Credit."""
        return b""


def credit_for(settings: WireSettings) -> Credit:
    """Return the flow control that a profile asks for."""
    if settings.flow == "ok":
        return Counted(settings.buffer)
    if settings.flow == "enquiry":
        return Enquiry(settings.buffer)
    if settings.flow == "enq-ack":
        return Blocks(settings.buffer)
    return Paced(settings.baud)
