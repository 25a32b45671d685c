"""What was measured on a piece: its truings, and the edges that growth makes less fair."""

from __future__ import annotations

from dataclasses import dataclass, replace

from plotout.geometry.sureness import Otherwise
from plotout.pattern.accuracy import doubtful, unless

_EVEN = 1e-9  # mm by which a figure may be computed beyond its bound


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
    was not corrected although that was asked, in words, or "". known_to: mm (two sigma) to which
    what is off is known; 0 where it was drawn, or put right. otherwise: how much greater that is by
    other explanations of the pricks. doubt: the same as refused, where the pricks don't show
    whether it must be corrected.
    """

    kind: str
    edges: tuple[str, ...]
    before: float
    after: float
    tolerance: float
    detail: str = ""
    moved: float = 0.0
    refused: str = ""
    known_to: float = 0.0
    doubt: str = ""
    otherwise: tuple[Otherwise, ...] = ()

    @property
    def good(self) -> bool:
        """Return whether it is most likely within the tolerance."""
        return self.after <= self.tolerance + _EVEN

    @property
    def sure(self) -> bool:
        """Return whether it is surely within the tolerance, or surely not.

        If it isn't, no other explanation of the pricks may make it so: that it is speaks for the
        one taken.
        """
        return self._settled and not self.explained

    @property
    def explained(self) -> tuple[str, ...]:
        """What would explain, in words, that it is surely off, and would not show."""
        if self.good or not self._settled:
            return ()
        otherwise = ((one.why, self._by(one)) for one in self.otherwise)
        return tuple(why for why, other in otherwise if other.good or not other._settled)

    def _by(self, one: Otherwise) -> Trued:
        """Return the truing by another explanation of the pricks."""
        after = max(self.after + one.longer, 0.0)
        return replace(self, after=after, known_to=one.by(self.known_to), otherwise=())

    @property
    def _settled(self) -> bool:
        """Whether it is so by the explanation taken."""
        within = self.after + self.known_to <= self.tolerance
        beyond = self.after - self.known_to > self.tolerance
        return self.known_to < _EVEN or within or beyond

    @property
    def wrong(self) -> bool:
        """Return whether it is surely off, or can't be put right."""
        return bool(self.refused) or (self.sure and not self.good)

    def unsure(self) -> str:
        """Return in words what its pricks don't show, or ""."""
        if self.refused or (self.sure and not self.doubt):
            return ""
        subject = f"{self.kind}: {' and '.join(self.edges)}"
        return f"{subject}: {self.doubt or self._not_shown()}"

    def _not_shown(self) -> str:
        if self.explained:
            return unless(f"it is {self.after:.2f} mm off", self.explained)
        best = f"the {self.after:.2f} mm by which it is off"
        return doubtful("whether it is true", best, self.known_to, self.tolerance)

    def __str__(self) -> str:
        what = f"{self.kind}: {' and '.join(self.edges)}"
        words = f"{what}: {self.before:.2f} mm off" + (f" ({self.detail})" if self.detail else "")
        if self.moved:
            return f"{words}, put right to {self.after:.2f} mm"
        if abs(self.after - self.before) > 0.005:
            return f"{words}, {self.after:.2f} mm once the others were put right"
        return words
