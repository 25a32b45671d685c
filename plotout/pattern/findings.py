"""What was measured on a piece: its truings, and the edges that growth makes less fair."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Unfair:
    """An edge that is less fair in another size than as it is drawn: what, and how much."""

    what: str
    detail: str


@dataclass(frozen=True, slots=True)
class Trued:
    """A truing of a piece: how far off it was, and is once all were corrected, in mm.

    kind: square, straight, equal, parallel, symmetric or on-grain. edges: the first is the one
    corrected.
    detail: the same in words ("84.20 degrees"). moved: how far any point was moved. refused: why it
    was not corrected although that was asked, in words, or "".
    """

    kind: str
    edges: tuple[str, ...]
    before: float
    after: float
    tolerance: float
    detail: str = ""
    moved: float = 0.0
    refused: str = ""

    @property
    def good(self) -> bool:
        """Return whether it is within the tolerance."""
        return self.after <= self.tolerance + 1e-9

    def __str__(self) -> str:
        what = f"{self.kind}: {' and '.join(self.edges)}"
        words = f"{what}: {self.before:.2f} mm off" + (f" ({self.detail})" if self.detail else "")
        if self.moved:
            return f"{words}, put right to {self.after:.2f} mm"
        if abs(self.after - self.before) > 0.005:
            return f"{words}, {self.after:.2f} mm once the others were put right"
        return words
