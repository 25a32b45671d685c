"""What a machine has shown when it was last looked at."""

from __future__ import annotations

import math
from dataclasses import dataclass

from plotout.conversation import Account, Point

NEAR = 0.03  # mm, or the machine's own units


@dataclass(slots=True)
class Looks:
    """The last looks at a machine.

    asked_at: when it was asked since it made no progress; account: what it answered, when so many
    bytes of the job were sent and answers to it last came at that time (`then`). on_hold: why
    it was seen to stand with work left, "" if it didn't. overdue: see `is_overdue`, with
    overdue_at, when it was last asked for that. Times in s of the monotonic clock.
    at, last: where it first and last said that it was; moved: it has said that it was elsewhere.
    """

    asked_at: float = 0.0
    account: Account | None = None
    then: tuple[int, float] = (0, 0.0)
    on_hold: str = ""
    overdue: bool = False
    overdue_at: float = 0.0
    at: Point | None = None
    last: Point | None = None
    moved: bool = False

    def saw(self, at: Point | None) -> None:
        """Take where it says that it is, if it does."""
        if at is not None:
            self.at, self.last = self.at or at, at
            self.moved = self.moved or math.dist(at, self.at) > NEAR

    def changed(self, account: Account, then: tuple[int, float]) -> bool:
        """Return whether it has changed since the last look, and take this for that. One that was
        sent something, or has answered, between them has worked, though it looks the same again.
        """
        before = (self.account, self.then)
        self.account, self.then = account, then
        return (account, then) != before
