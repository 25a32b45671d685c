"""A user who is not there: moves a virtual machine's tool over marks, and enters them.

HP-GL's digitising: HP 7550A Interfacing and Programming Manual, DP, OD, DC and OS (from memory).
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field

from plotout.sending.virtual.motion import Motion, Point

READY = 16  # bit 4 of the status: ready for data
ENTERED = 4  # bit 2: a point was entered
LOOKS = 2  # how often a machine is asked before its user has found a mark


@dataclass(slots=True)
class Hand:
    """places: where the user finds the marks, one after another, machine units."""

    places: deque[Point] = field(default_factory=deque)
    waiting: bool = False
    entered: Point | None = None
    looks: int = 0

    def begin(self) -> None:
        """DP: from now on a place can be entered."""
        self.waiting, self.entered, self.looks = True, None, 0

    def end(self) -> None:
        """DC: no more."""
        self.waiting, self.entered = False, None

    def status(self, motion: Motion) -> int:
        """OS: after a few questions the user has found the next mark."""
        self.looks += 1
        if self.waiting and self.looks > LOOKS and self.places:
            self.move(motion)
            self.waiting, self.entered = False, motion.at
        return READY + (ENTERED if self.entered is not None else 0)

    def place(self) -> str:
        """OD: the place that was entered, which is then no longer new."""
        (x, y), self.entered = self.entered or (0.0, 0.0), None
        return f"{x:.0f},{y:.0f},0"

    def move(self, motion: Motion) -> None:
        """Go to the next mark by the machine's own keys."""
        if self.places:
            motion.at = self.places.popleft()
