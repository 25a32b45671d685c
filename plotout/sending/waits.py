"""Waiting for a machine's answers, of which its user hears: dozens of questions may be asked."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass

SHORT = 0.5  # s of a wait that needn't count: most answers come sooner
TELL_EVERY = 10.0  # s of waiting
FORGOTTEN = 30.0  # s without a wait, after which the earlier ones count no more
ANSWERS_LATE = "The machine answers late, after up to {:.1f} s. Still asking it."
AWAITED = "Still waiting for the machine's answers: {:.0f} s so far."
STOPS_WITHIN = 1.5  # s, the time in which most machines show that they have stopped
STOPPING = (
    "The machine has not been seen to stop with its tool up yet: it finishes what it holds, or "
    "does not listen. To stop it at once, press its emergency stop or stop key, or switch it off."
)


@dataclass(slots=True)
class Waits:
    """Waits after one another. whole: s of all of them; untold: s since the user was told of them;
    until: when the last one was looked at. stop_due: when a machine that was told to stop should
    have shown that it has; inf: it was not told to.
    """

    whole: float = 0.0
    untold: float = 0.0
    until: float = 0.0
    stop_due: float = math.inf

    def of_stop(self) -> None:
        """Note that the machine is told to stop now."""
        self.stop_due = time.monotonic() + STOPS_WITHIN

    def lasts(self, begun: float, lag: float, tell: Callable[[str], None]) -> None:
        """Note that a wait still lasts, and tell the user from time to time. begun: when it did, by
        the monotonic clock. lag: s that the latest answer took.
        """
        now = time.monotonic()
        if now > self.stop_due:
            self.stop_due = now + TELL_EVERY
            tell(STOPPING)
        if now - begun <= SHORT or self.stop_due < math.inf:
            return
        if begun - self.until > FORGOTTEN:
            self.whole = self.untold = 0.0
        passed = now - max(begun, self.until)
        self.whole, self.untold, self.until = self.whole + passed, self.untold + passed, now
        if self.untold >= TELL_EVERY:
            self.untold = 0.0
            tell(ANSWERS_LATE.format(lag) if lag > SHORT else AWAITED.format(self.whole))
