"""No answers from the machine: at the line's speed, or controlled by it (XON/XOFF, RTS)."""

from __future__ import annotations

import time
from collections.abc import Callable

from plotout.conversation import Heard
from plotout.language import Language
from plotout.sending.flow_control.model import Flow


class Paced:
    """A steady pace. Lost time is not made up for, so that the port's own buffer holds little when
    the user wants to stop.
    """

    BURST = 64  # bytes at once

    def __init__(self, baud: int, now: Callable[[], float]) -> None:
        self._rate = baud / 10.0  # 8 bits, a start and a stop bit
        self._most = max(self.BURST, self._rate * 0.1)
        self._now = now
        self._at = now()
        self._room = float(self.BURST)

    @property
    def asks(self) -> bool:
        """See Credit: nothing is asked."""
        return False

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

    def question(self, short: bool) -> bytes:
        """See Credit."""
        return b""

    def repeat(self) -> bytes:
        """See Credit."""
        return b""

    def begin_anew(self) -> None:
        """See Credit."""


def _credit(_buffer: int, baud: int, _language: Language) -> Paced:
    return Paced(baud, time.monotonic)


FLOWS = (
    Flow("xon-xoff", _credit, heeds="xoff"),
    Flow("rts-cts", _credit, heeds="cts"),
    Flow("dtr", _credit, heeds="dsr"),
    Flow("paced", _credit),
)
