"""Who watches a job: what the user wants, what the user is told, and how it ended."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from plotout.language import Safe


@dataclass(slots=True)
class Wish:
    """What the user wants now; set from a key or a signal."""

    pause: bool = False
    stop: bool = False


@dataclass(frozen=True, slots=True)
class Watch:
    """Who watches. done: told the units finished, of how many. by_hand: told what the machine
    waits for; returns True when `wish.pause` says when to go on, False when the machine's own
    button does. waiting: told what is waited for; returns whether to go on waiting.
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

    safe: how the machine was stopped, where it was.
    """

    done: int
    units: int
    stopped: bool
    payload: int
    seconds: float
    safe: Safe | None = None
    strokes: int = 0

    @property
    def strokes_done(self) -> int:
        """How many of them are known to be finished."""
        return min(self.done, self.strokes)
