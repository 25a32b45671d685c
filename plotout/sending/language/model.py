"""What a file is made of, and what a machine says: the little that sending must know.

A file is cut into units. A unit runs from the lift after one stroke to the end of the next
stroke's work, so that a job can go on at any unit: it begins with the tool up and an absolute
move. The last unit is the file's ending.

Sources: HP 7550A Interfacing and Programming Manual (instructions, `OA`, ESC . device control);
NIST IR 6556 (RS-274/NGC words). `ok`, `error:`, `!`, `?` and control-X of small G-code
controllers are common practice.
"""

from __future__ import annotations

from array import array
from dataclasses import dataclass
from mmap import mmap
from typing import Protocol

Buffer = bytes | mmap
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Heard:
    """One thing that a machine said.

    kind: "ok", "room" (free bytes), "at" (position after a stroke: it is done), "tally" (units
    done), "status", "error", "reset" or "other". value: free bytes, units done, or the error's
    number. at: machine units. down: whether the tool is down, None where it isn't said. means:
    what an error's number means, in words; empty where that isn't known.
    """

    kind: str
    text: str = ""
    value: int = 0
    at: Point | None = None
    idle: bool = False
    halted: bool = False
    down: bool | None = None
    means: str = ""


class Language(Protocol):
    """How one family of machines is spoken to."""

    @property
    def name(self) -> str:
        """Name in a profile's `wire` table."""

    @property
    def by_line(self) -> bool:
        """True when every line is sent whole and answered."""

    @property
    def mark(self) -> bytes:
        """Sent after a stroke; answered when all before it is done."""

    @property
    def tally(self) -> bytes:
        """Asks how many units are done, by what `counted` left with the machine."""

    @property
    def place(self) -> bytes:
        """Asks where the tool is, in its turn."""

    def counted(self, part: bytes, done: int) -> bytes:
        """Return a unit's last part so that the machine, having done it, knows `done` units."""

    @property
    def ask(self) -> bytes:
        """Asks where the machine is and whether it moves, at once."""

    @property
    def who(self) -> bytes:
        """Asks the machine what it is."""

    @property
    def hold(self) -> bytes:
        """Halts motion at once without losing the place; empty where there is no such word."""

    @property
    def go_on(self) -> bytes:
        """Ends a hold, and a stop in the program."""

    @property
    def drop(self) -> bytes:
        """Throws away what the machine has not begun, at once."""

    @property
    def park(self) -> bytes:
        """Tool up and off."""

    def awaits_hand(self, part: bytes) -> bool:
        """Return whether the machine stops at this part until somebody sends it on."""

    def opened(self, head: bytes, done: int) -> bytes:
        """Return a preamble so that the machine begins to count at `done` units."""

    def unit_starts(self, data: Buffer) -> array[int]:
        """Return the byte offset of every unit; what lies before the first is the preamble."""

    def state(self, data: Buffer, end: int) -> bytes:
        """Return the settings in force at byte `end`, to be sent before going on there."""

    def work_ends(self, unit: bytes, start: Point) -> tuple[list[Point], list[Point]]:
        """Return where a unit stands before its work begins, and the points of its work."""

    def hear(self, line: str) -> Heard:
        """Return what one line from the machine means."""
