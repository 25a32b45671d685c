"""ENQ and ACK: a block may be sent after each ACK to an ENQ."""

from __future__ import annotations

from collections.abc import Callable

from plotout.conversation import Heard
from plotout.language import Language
from plotout.sending.flow_control.model import LEAST, Flow, reserve

ENQ, ACK = b"\x05", "\x06"
EARLY = 8  # of a block, one part is sent before the next one is asked for


class Blocks:
    """handshake: makes, from a block's size, the command to answer ENQ with ACK.

    An answer means that a whole block found room when the machine read the question, so that what
    was sent after that is deducted. It is asked early in a block: the line need not stand until
    the answer is there.
    """

    def __init__(self, buffer: int, handshake: Callable[[int], bytes]) -> None:
        self._reserve = reserve(buffer)
        self._block = max(LEAST + self._reserve, buffer // 2)
        self._handshake = handshake
        self._room = self._since_question = self._since_answer = 0
        self._asked = self._begun = False

    @property
    def asks(self) -> bool:
        """See Credit: the answer to ENQ comes when there is room."""
        return False

    def room(self) -> int:
        """See Credit."""
        return max(0, self._room)

    def sent(self, count: int) -> None:
        """See Credit."""
        self._room -= count
        self._since_question += count
        self._since_answer += count

    def heard(self, what: Heard) -> None:
        """See Credit."""
        if ACK in what.text and self._asked:
            self._room = self._block - self._reserve - self._since_question
            self._since_answer, self._asked = 0, False

    def question(self, short: bool) -> bytes:
        """See Credit."""
        if self._asked or not (short or self._since_answer >= self._block // EARLY):
            return b""
        self._asked, self._since_question = True, 0
        begin = b"" if self._begun else self._handshake(self._block)
        self._begun = True
        return begin + ENQ

    def repeat(self) -> bytes:
        """See Credit. Without the handshake: a machine that was reset must not acknowledge."""
        return ENQ if self._asked else b""

    def begin_anew(self) -> None:
        """See Credit."""
        self._room = self._since_question = self._since_answer = 0
        self._asked = self._begun = False


def _credit(buffer: int, _baud: int, language: Language) -> Blocks:
    return Blocks(buffer, language.block_handshake)


FLOWS = (Flow("enq-ack", _credit, answers=True),)
