"""The machine is asked how much room it has."""

from __future__ import annotations

from plotout.conversation import Heard
from plotout.language import Language
from plotout.sending.flow_control.model import Flow, reserve

OFTEN = 256  # bytes between two questions at most: a machine that is off is soon noticed


class Enquiry:
    """The free room by the machine's answer, which holds for the moment when it read the question,
    less what was sent after that. If the machine's buffer is larger than in its profile, only so
    much is filled: when it is first asked, it is empty.
    """

    def __init__(self, buffer: int, ask: bytes) -> None:
        self._buffer = buffer
        self._reserve = reserve(buffer)
        self._ask = ask
        self._step = max(64, min(buffer // 4, OFTEN))
        self._room = self._since_question = self._size = 0
        self._asked = False

    @property
    def asks(self) -> bool:
        """See Credit."""
        return self._asked

    def room(self) -> int:
        """See Credit."""
        return max(0, self._room - self._reserve)

    def sent(self, count: int) -> None:
        """See Credit."""
        self._room -= count
        self._since_question += count

    def heard(self, what: Heard) -> None:
        """See Credit."""
        if what.kind == "room":
            self._size = max(self._size, what.value)
            unused = max(0, self._size - self._buffer)
            self._room = what.value - unused - self._since_question
            self._asked = False

    def question(self, short: bool) -> bytes:
        """Ask again when a quarter of the buffer was sent since, or the room is too small."""
        if self._asked or not (short or self._since_question >= self._step):
            return b""
        self._asked, self._since_question = True, 0
        return self._ask

    def repeat(self) -> bytes:
        """See Credit."""
        return b""

    def begin_anew(self) -> None:
        """See Credit."""
        self._room = self._since_question = 0
        self._asked = False


def _credit(buffer: int, _baud: int, language: Language) -> Enquiry:
    return Enquiry(buffer, language.room)


FLOWS = (Flow("enquiry", _credit, answers=True),)
