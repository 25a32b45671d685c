"""What the user wants of a job, messages to the user, and how it ended."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from plotout.conversation import Safe


def strokes_named(first: int, last: int, one: str = "", more: str = "") -> str:
    """Return strokes by their numbers, with the verb for one of them or for more."""
    named = f"Stroke {first} {one}" if first == last else f"Strokes {first} to {last} {more}"
    return named.rstrip()


@dataclass(slots=True)
class Wish:
    """What the user wants now; set from a key or a signal. pauses: how often a pause was wanted."""

    pause: bool = False
    stop: bool = False
    pauses: int = 0


@dataclass(frozen=True, slots=True)
class Watch:
    """Callbacks of a job. done: takes the units finished, of how many. by_hand: takes what the
    machine waits for; returns True if `wish.pause` decides when to continue, False if the
    machine's own button does. waiting: takes what is awaited; returns whether to keep waiting.
    """

    wish: Wish = field(default_factory=Wish)
    done: Callable[[int, int], None] = lambda _done, _units: None
    by_hand: Callable[[str], bool] = lambda _what: True
    waiting: Callable[[str], bool] = lambda _what: False
    said: Callable[[str], None] = lambda _text: None


@dataclass(frozen=True, slots=True)
class Outcome:
    """How sending ended. done: units known to be finished, of `units`; `strokes` of them are
    strokes, and may be followed by the file's ending. payload: bytes sent.

    safe: how the machine was stopped, if it was. settled: it then showed that just `done` are
    finished; else more may be. partly: it was stopped within the next stroke.
    left: see `journal.Told`. twice: the first and the last of the strokes that may be cut twice.
    """

    done: int
    units: int
    stopped: bool
    payload: int
    seconds: float
    safe: Safe | None = None
    strokes: int = 0
    partly: bool = False
    left: tuple[tuple[int, int], ...] = ()
    twice: tuple[int, int] | None = None
    settled: bool = False

    @property
    def strokes_done(self) -> int:
        """Return how many strokes are known to be finished, or were left out."""
        return min(self.done, self.strokes)

    @property
    def left_out(self) -> tuple[tuple[int, int], ...]:
        """Return the first and the last number of strokes that were left out."""
        ranges = ((a + 1, min(b, self.strokes)) for a, b in self.left)
        return tuple((first, last) for first, last in ranges if first <= last)

    @property
    def strokes_left_out(self) -> int:
        """Return how many strokes were left out."""
        return sum(last - first + 1 for first, last in self.left_out)
