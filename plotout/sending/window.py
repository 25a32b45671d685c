"""A mapped file that is read once: pages behind are released."""

from __future__ import annotations

import mmap
from dataclasses import dataclass, field

WINDOW = 4 * 1024 * 1024


@dataclass(slots=True)
class Window:
    """Keeps no more than a few MB of a mapped file in memory while it is read forwards."""

    data: bytes | mmap.mmap = field(repr=False)
    _kept_from: int = 0

    def passed(self, at: int) -> None:
        """Note that everything before byte `at` was read; going back starts anew."""
        self._kept_from = min(self._kept_from, at)
        if at - self._kept_from < WINDOW or not isinstance(self.data, mmap.mmap):
            return
        if hasattr(mmap, "MADV_DONTNEED"):  # not on Windows
            start = self._kept_from // mmap.PAGESIZE * mmap.PAGESIZE
            self.data.madvise(mmap.MADV_DONTNEED, start, at - start)
        self._kept_from = at
