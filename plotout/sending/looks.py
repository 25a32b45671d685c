"""What a machine has shown when it was last looked at."""

from __future__ import annotations

from dataclasses import dataclass

from plotout.conversation import Account


@dataclass(slots=True)
class Looks:
    """The last looks at a machine.

    asked_at: when it was asked since it made no progress; account: what it answered. on_hold: why
    it was seen to stand with work left, "" if it didn't. overdue: see `is_overdue`, with
    overdue_at, when it was last asked for that. Times in s of the monotonic clock.
    """

    asked_at: float = 0.0
    account: Account | None = None
    on_hold: str = ""
    overdue: bool = False
    overdue_at: float = 0.0

    def changed(self, account: Account) -> bool:
        """Return whether it has changed since the last look, and take this for that."""
        before, self.account = self.account, account
        return account != before
