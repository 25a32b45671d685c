"""What a simulated machine offers: it receives bytes, answers, and draws."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from typing import Protocol

from plotout.conversation import Point


class VirtualMachine(Protocol):
    """A simulated machine: it receives bytes, answers, and moves a `Head` in time.

    buffer: its receive buffer in bytes; held: the bytes in it; overruns: bytes lost for want of
    room; greeting: sent when it starts; unit: mm per unit of its head; answers: bytes to send back.
    """

    buffer: int
    held: bytearray
    overruns: int
    greeting: bytes
    unit: float

    @property
    def head(self) -> VirtualHead:
        """Its head."""

    @property
    def answers(self) -> deque[bytes]:
        """Bytes to send back, in order."""

    def receive(self, data: bytes) -> None:
        """Receive bytes from the line."""

    def step(self) -> float | None:
        """Do the next small step; return its seconds, or None if there is none."""

    def stumble(self) -> None:
        """Report an error at what comes next."""

    def reset(self) -> None:
        """Switch off and on."""


class VirtualHead(Protocol):
    """What the line to a virtual machine needs of its head; `plotout.kit.Head` is one.

    at: where it is, machine units; left: remaining s of the present move; places: where its user
    finds marks, one after another.
    """

    at: Point
    left: float
    places: deque[Point]

    @property
    def strokes(self) -> Sequence[VirtualStroke]:
        """What it drew."""


class VirtualStroke(Protocol):
    """A stroke that a virtual machine drew. whole: it was ended by lifting, not by a stop or a
    reset.
    """

    tool: int
    whole: bool

    @property
    def points(self) -> Sequence[Point]:
        """Its points, machine units."""
