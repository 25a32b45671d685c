"""Units noted in the journal as sent before they are, so that a killed sender loses none."""

from __future__ import annotations

import time
from concurrent.futures import Future
from dataclasses import dataclass

from plotout.sending.journal import Journal

AHEAD = 32  # units noted at once, so that not every unit waits for the disk
MOST_AHEAD = 4096  # the same if units go out faster than the disk takes notes
OFTEN = 0.1  # s between notes that are no longer enough


@dataclass(slots=True)
class Promises:
    """What the journal says of a job of `units` units. noted: so many may be with the machine.

    coming: a note on its way to the disk, and `upto` what it says.
    """

    journal: Journal
    units: int
    noted: int = 0
    coming: Future[None] | None = None
    upto: int = 0
    begun_at: float = 0.0
    ahead: int = AHEAD

    def keep(self, unit: int) -> None:
        """Return once the journal says that the machine may hold a unit.

        The note is begun early, so that the line doesn't wait for the disk. Raises MachineError.
        """
        if self.coming is None and unit + self.ahead // 2 >= self.noted < self.units:
            now = time.monotonic()
            slow = now - self.begun_at > OFTEN
            self.ahead = AHEAD if slow else min(self.ahead * 2, MOST_AHEAD)
            self.upto = min(max(unit, self.noted) + self.ahead, self.units)
            self.coming, self.begun_at = self.journal.later(sent=self.upto), now
        if unit >= self.noted and self.coming is not None:
            self.coming.result()
            self.noted, self.coming = self.upto, None
