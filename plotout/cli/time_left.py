"""The time left of a job that is being sent, by what its strokes have taken so far."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from plotout.sending.order import Progress

_SLACK = 1e-4  # of the sums, so that strokes of one length count half by number, half by length


@dataclass(slots=True)
class TimeLeft:
    """A stroke takes a time of its own, and more by its length: both are fitted by least squares.

    Letters come first and take long for their length, outlines last: by the length alone the time
    left would be given several times too long near the end.
    """

    _since: tuple[float, Progress] | None = None
    _strokes2: float = 0.0
    _mm2: float = 0.0
    _strokes_mm: float = 0.0
    _strokes: float = 0.0
    _mm: float = 0.0

    def skip(self) -> None:
        """Leave out the time until the next progress: the machine stood."""
        self._since = None

    def passed(self, now: float, progress: Progress) -> None:
        """Take in the progress at a time, s."""
        before, self._since = self._since, (now, progress)
        if before is None:
            return
        seconds = now - before[0]
        strokes, mm = progress.done - before[1].done, progress.mm - before[1].mm
        if strokes <= 0 or seconds <= 0.0:  # it came to its first stroke
            return
        self._strokes2 += strokes * strokes / seconds
        self._mm2 += mm * mm / seconds
        self._strokes_mm += strokes * mm / seconds
        self._strokes += strokes
        self._mm += mm

    def left(self, progress: Progress) -> float | None:
        """Return the s left, None before anything is known."""
        strokes, mm = progress.strokes - progress.done, progress.mm_whole - progress.mm
        if not self._strokes:
            return None
        a, b, c = self._strokes2 * (1.0 + _SLACK), self._strokes_mm, self._mm2 * (1.0 + _SLACK)
        if c <= 0.0:
            return strokes * self._strokes / a
        whole = a * c - b * b
        by_stroke = (c * self._strokes - b * self._mm) / whole
        by_mm = (a * self._mm - b * self._strokes) / whole
        if by_stroke < 0.0:
            by_stroke, by_mm = 0.0, self._mm / c
        elif by_mm < 0.0:
            by_stroke, by_mm = self._strokes / a, 0.0
        return strokes * by_stroke + mm * by_mm
