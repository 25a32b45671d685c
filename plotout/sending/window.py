"""A mapped file that is read once: pages behind are released, and how far it is read is told."""

from __future__ import annotations

import mmap
import time
from collections.abc import Callable
from dataclasses import dataclass, field

WINDOW = 4 * 1024 * 1024
LARGE = 4 * 1024 * 1024  # bytes from which reading takes long enough to report it
TELL_EVERY = 5.0  # s


@dataclass(slots=True)
class Window:
    """Keeps no more than a few MB of a mapped file in memory while it is read forwards.

    said, doing: told from time to time of a large file, with how much of it is read.
    """

    data: bytes | mmap.mmap = field(repr=False)
    said: Callable[[str], None] = lambda _text: None
    doing: str = ""
    _kept_from: int = 0
    _told_at: float = field(default_factory=time.monotonic)

    def passed(self, at: int) -> None:
        """Note that everything before byte `at` was read; going back starts anew."""
        self._kept_from = min(self._kept_from, at)
        if at - self._kept_from < WINDOW:
            return
        if isinstance(self.data, mmap.mmap) and hasattr(mmap, "MADV_DONTNEED"):  # not on Windows
            start = self._kept_from // mmap.PAGESIZE * mmap.PAGESIZE
            self.data.madvise(mmap.MADV_DONTNEED, start, at - start)
        self._kept_from = at
        now = time.monotonic()
        if self.doing and now - self._told_at > TELL_EVERY:
            self._told_at = now
            self.said(f"{self.doing}: {100 * at // len(self.data)} % ...")
