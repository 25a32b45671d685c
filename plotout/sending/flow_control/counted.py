"""Every message is answered by `ok`; unanswered ones are in the machine's buffer."""

from __future__ import annotations

from collections import deque

from plotout.conversation import Heard
from plotout.language import Language
from plotout.sending.flow_control.model import Flow

SPARE = 4  # bytes that stay free at least: a question to a machine that stands takes two


class Counted:
    """A count of the bytes of unanswered messages. As many as the longest of them has stay free:
    one answer too many would let the next message overfill the buffer.
    """

    def __init__(self, buffer: int) -> None:
        self._buffer = buffer
        self._messages: deque[int] = deque()
        self._used = 0

    @property
    def asks(self) -> bool:
        """See Credit: nothing is asked."""
        return False

    def room(self) -> int:
        """See Credit. A long line may fill it alone."""
        spare = max(SPARE, *self._messages, 0) if self._used else 1
        return self._buffer - self._used - spare

    def sent(self, count: int) -> None:
        """See Credit."""
        self._messages.append(count)
        self._used += count

    def heard(self, what: Heard) -> None:
        """See Credit. Any answer to a message frees its bytes."""
        if what.kind in ("ok", "error") and self._messages:
            self._used -= self._messages.popleft()

    def question(self, short: bool) -> bytes:
        """See Credit."""
        return b""

    def repeat(self) -> bytes:
        """See Credit."""
        return b""

    def begin_anew(self) -> None:
        """See Credit."""
        self._messages.clear()
        self._used = 0


def _credit(buffer: int, _baud: int, _language: Language) -> Counted:
    return Counted(buffer)


FLOWS = (Flow("ok", _credit, answers=True),)
