"""What all methods of flow control have in common."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

from plotout.conversation import Heard
from plotout.language import Language

LEAST = 32
"""Bytes of a piece: enough for any instruction but a list."""
RESERVE = 20
"""Bytes of a machine's buffer that are never filled: what stops it must still find room."""


def reserve(buffer: int) -> int:
    """Return the bytes of a machine's buffer that stay free; a tiny one has none to spare."""
    return min(RESERVE, max(0, buffer - LEAST))


class Credit(Protocol):
    """A counter of what the machine can take."""

    @property
    def asks(self) -> bool:
        """Whether a question that is answered at once has no answer yet."""

    def room(self) -> int:
        """Return how many bytes may be sent now."""

    def sent(self, count: int) -> None:
        """Note that a message, or a part of one, of `count` bytes was sent."""

    def heard(self, what: Heard) -> None:
        """Note what the machine said."""

    def question(self, short: bool) -> bytes:
        """Return what to ask the machine now, or nothing. short: the room is too small for what
        comes next.
        """

    def repeat(self) -> bytes:
        """Return what to ask a machine again that stands and has not answered; empty if nothing."""

    def begin_anew(self) -> None:
        """Start anew: the machine holds nothing, and waits for nothing."""


@dataclass(frozen=True, slots=True)
class Flow:
    """A method. name: in a profile's `sending` table. answers: the machine must be able to answer.

    credit: makes a Credit of the machine's buffer in bytes, the line's baud, and the language.
    heeds: how the machine stops the line, see `link.PortLink`.
    """

    name: str
    credit: Callable[[int, int, Language], Credit] = field(repr=False)
    answers: bool = False
    heeds: str = ""
