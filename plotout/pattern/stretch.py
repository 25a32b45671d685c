"""A seam, or its part between two notches: whether its sides match, and how surely."""

from __future__ import annotations

from dataclasses import dataclass

from plotout.pattern.accuracy import doubtful
from plotout.pattern.sides import Ease

_EVEN = 1e-9  # mm by which a figure may be computed beyond its bound


@dataclass(frozen=True, slots=True)
class Stretch:
    """The seam between two notches that meet, or between one and the seam's end.

    begins, ends: in words; "" for the whole seam. first, second: mm of the sides. ease: least and
    most by which the first may be longer. known_to: mm to which the difference is known, two sigma.
    """

    begins: str
    ends: str
    first: float
    second: float
    ease: Ease
    tolerance: float
    known_to: float = 0.0

    @property
    def difference(self) -> float:
        """First less second, in mm."""
        return self.first - self.second

    @property
    def off(self) -> float:
        """By how much the difference exceeds what the ease allows, mm; below 0: too short."""
        return beyond(self.difference, self.ease)

    @property
    def matches(self) -> bool:
        """Return whether its most likely difference is within the tolerance."""
        return abs(self.off) <= self.tolerance + _EVEN

    @property
    def sure(self) -> bool:
        """Return whether all likely differences are within the tolerance, or all beyond one end.

        Only then does it surely match, or surely not.
        """
        low, high = self.difference - self.known_to, self.difference + self.known_to
        least, most = self.ease[0] - self.tolerance, self.ease[1] + self.tolerance
        within = least <= low and high <= most
        return self.known_to < _EVEN or within or high < least or low > most

    def mismatch(self, sides: tuple[str, str]) -> str:
        """Return in words by how much it does not match. sides: the names of its pieces."""
        long = "long" if self.off > 0.0 else "short"
        too = f"{abs(self.off):.{digits(self.off)}f} mm too {long}: {self._measured(sides)}"
        return f"from {self.begins} to {self.ends} it is {too}" if self.begins else too

    def doubt(self, sides: tuple[str, str]) -> str:
        """Return in words that it may match or not. sides: the names of its pieces."""
        where = f" from {self.begins} to {self.ends}" if self.begins else ""
        best = f"the difference of {self.difference:.1f} mm"
        if not self.matches:
            long = "long" if self.off > 0.0 else "short"
            best = f"it is {abs(self.off):.{digits(self.off)}f} mm too {long} on the cards "
            best += f"({self._measured(sides)}), but the difference"
        return doubtful(f"whether it matches{where}", best, self.known_to, self.tolerance)

    def _measured(self, sides: tuple[str, str]) -> str:
        least, most = self.ease
        bound = f"at most {most:g}" if self.off > 0.0 else f"at least {least:g}"
        to = digits(self.off)
        return (
            f"{self.first:.{to}f} mm of '{sides[0]}' to {self.second:.{to}f} mm of '{sides[1]}', "
            f"ease {bound} mm"
        )


def digits(off: float) -> int:
    """Return how many decimals show lengths, mm, that differ by so much: one, if that does."""
    return 1 if abs(off) >= 0.05 else 2 if abs(off) >= 0.005 else 3


def beyond(apart: float, ease: Ease) -> float:
    """Return by how much a difference exceeds its ease, mm."""
    least, most = ease
    return apart - most if apart > most else min(apart - least, 0.0)
