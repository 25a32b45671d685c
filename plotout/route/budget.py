"""Limits of a search: steps and seconds."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass

Progress = Callable[[str, float], None]

STAGE = "ordering"


def quiet(_stage: str, _share: float) -> None:
    """Report nothing."""


@dataclass(slots=True)
class Budget:
    """Remaining steps and seconds; `stopped` once the user pressed Ctrl-C.

    size: the number of strokes still to order, so that every group gets its share.
    """

    steps: int | None
    seconds: float | None
    size: int
    progress: Progress = quiet
    stopped: bool = False
    _whole: int = 0
    _began: float | None = None

    def __post_init__(self) -> None:
        self._whole = max(self.size, 1)

    @property
    def asked(self) -> bool:
        """Whether the caller set the length of the search, which then continues without gains."""
        return self.steps is not None or self.seconds is not None

    def shares(self, strokes: int, usual: int, at_once: int) -> Iterator[int]:
        """Yield steps for a group of so many strokes, `at_once` at a time, until they are used up.

        usual: steps by default. There are fewer when time runs out.
        """
        part = strokes / max(self.size, strokes, 1)
        steps = usual if self.steps is None else int(self.steps * part)
        now = time.monotonic()
        if self._began is None:  # the compilation, once per computer, is not part of the search
            self._began = now
        until = float("inf")
        if self.seconds is not None:
            until = now + max(self._began + self.seconds - now, 0.0) * part
            steps = steps if self.steps is not None else 2**62
        if self.steps is not None:
            self.steps -= steps
        done, before = 0, self._whole - self.size
        self.size -= strokes
        while done < steps and not self.stopped and time.monotonic() < until:
            now_steps = min(at_once, steps - done)
            yield now_steps
            done += now_steps
            self.progress(STAGE, (before + strokes * done / steps) / self._whole)
