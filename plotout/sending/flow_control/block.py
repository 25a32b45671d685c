"""ENQ and ACK: a block may be sent after each ACK to an ENQ."""

from __future__ import annotations

from collections.abc import Callable

from plotout.conversation import Heard
from plotout.language import Language
from plotout.sending.flow_control.model import LEAST, Flow, reserve

ENQ, ACK = b"\x05", "\x06"


class Blocks:
    """handshake: makes, from a block's size, the command to answer ENQ with ACK."""

    def __init__(self, buffer: int, handshake: Callable[[int], bytes]) -> None:
        self._reserve = reserve(buffer)
        self._block = max(LEAST + self._reserve, buffer // 2)
        self._handshake = handshake
        self._room = 0
        self._asked = self._begun = False

    def room(self) -> int:
        """See Credit."""
        return self._room

    def sent(self, count: int) -> None:
        """See Credit."""
        self._room -= count

    def heard(self, what: Heard) -> None:
        """See Credit."""
        if ACK in what.text and self._asked:
            self._room, self._asked = self._block - self._reserve, False

    def question(self, short: bool) -> bytes:
        """See Credit. The rest of a block is given up: an answer means a whole block."""
        if self._asked or not (short or self._room <= 0):
            return b""
        self._asked, self._room = True, 0
        begin = b"" if self._begun else self._handshake(self._block)
        self._begun = True
        return begin + ENQ

    def repeat(self) -> bytes:
        """See Credit. Without the handshake: a machine that was reset must not acknowledge."""
        return ENQ if self._asked else b""

    def begin_anew(self) -> None:
        """See Credit."""
        self._room = 0
        self._asked = self._begun = False


def _credit(buffer: int, _baud: int, language: Language) -> Blocks:
    return Blocks(buffer, language.block_handshake)


FLOWS = (Flow("enq-ack", _credit, answers=True),)
