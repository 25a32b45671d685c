"""The time that laying may take, from its beginning on, and whether the user has stopped it."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass, field

_SOME = 10


class OutOfTimeError(Exception):
    """A lay was given up, since its time was over before all its cards lay."""


@dataclass(slots=True)
class Limit:
    """seconds: from now on; 0 for as long as one lay takes. stopped: by the user (Ctrl-C)."""

    seconds: float
    stopped: bool = False
    _begun: float = field(default_factory=time.monotonic)
    _first: float = 0.0
    _per_card: float = 0.0

    @property
    def spent(self) -> float:
        """Seconds since laying began."""
        return time.monotonic() - self._begun

    @property
    def left(self) -> float:
        """Seconds left."""
        return max(self.seconds - self.spent, 0.0) if self.seconds else math.inf

    @property
    def share(self) -> float:
        """Share of the time that is spent; 0 where there is no limit."""
        return self.spent / self.seconds if self.seconds else 0.0

    @property
    def over(self) -> bool:
        """Whether the time is over or the user has stopped it."""
        return self.stopped or self.left <= 0.0

    def paced(self, laid: int) -> None:
        """Note that so many cards lie: the first few show how long one takes on few sheets."""
        if laid == 0:
            self._first = self.spent
        elif laid == _SOME and not self._per_card:
            self._per_card = (self.spent - self._first) / laid

    def hurries(self, cards: int) -> bool:
        """Return whether so many cards are left that there is time for one sheet each at most."""
        return self.stopped or cards * self._per_card >= self.left
