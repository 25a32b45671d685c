"""A seam, or its part between two notches: whether its sides match, and how surely."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from plotout.geometry.sureness import Otherwise, likely_within
from plotout.pattern.accuracy import doubtful, may_be, unless
from plotout.pattern.sides import Ease, beyond

NEAR_ENOUGH = 2.0  # mm: seams are seldom let differ by more (common practice)
_EVEN = 1e-9  # mm by which a figure may be computed beyond its bound


@dataclass(frozen=True, slots=True)
class Stretch:
    """The seam between two notches that meet, or between one and the seam's end.

    begins, ends: in words; "" for the whole seam. first, second: mm of the sides. ease: least and
    most by which the first may be longer. known_to: mm to which the difference is known, two sigma;
    otherwise: what it is by other explanations of the pricks, the likeliest first.
    """

    begins: str
    ends: str
    first: float
    second: float
    ease: Ease
    tolerance: float
    known_to: float = 0.0
    otherwise: tuple[Otherwise, ...] = ()

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

        Only then does it surely match, or surely not. If it doesn't, no other explanation of the
        pricks may make it match: that it does speaks for the one taken.
        """
        if self._settled and not self.matches:
            return not self.explained
        return self._settled

    @property
    def explained(self) -> tuple[str, ...]:
        """What would explain, in words, that it surely doesn't match, and would not show."""
        if self.matches or not self._settled:
            return ()
        otherwise = ((one.why, self._by(one)) for one in self.otherwise)
        return tuple(why for why, other in otherwise if other.matches or not other._settled)

    @property
    def suspected(self) -> tuple[str, ...]:
        """What is likely, in words, if the sides are meant to match, where that isn't known.

        An outermost prick that strayed makes the sides differ; that they are alike speaks for it.
        """
        if self._settled:
            return ()
        others = [(one, self._by(one).off) for one in self.otherwise]
        return tuple(
            one.why for one in likely_within(self.tolerance, self.off, self.known_to, others)
        )

    def _by(self, one: Otherwise) -> Stretch:
        """Return the stretch by another explanation of its pricks."""
        first, known_to = self.first + one.longer, one.by(self.known_to)
        return replace(self, first=first, known_to=known_to, otherwise=())

    @property
    def _settled(self) -> bool:
        """Whether all likely differences by the explanation taken are on one side of a bound."""
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
        if explained := self.explained:
            return unless(f"{self.mismatch(sides)}", explained)
        best = f"the difference of {self.difference:.1f} mm"
        if not self.matches:
            long = "long" if self.off > 0.0 else "short"
            best = f"it is {abs(self.off):.{digits(self.off)}f} mm too {long} on the cards "
            best += f"({self._measured(sides)}), but the difference"
        sure = self._good_with()
        doubt = doubtful(f"whether it matches{where}", best, self.known_to, self.tolerance, sure)
        return may_be(doubt, self.suspected)

    def _good_with(self) -> str:
        """Return in words with which tolerance it would surely match, if that may be near enough.

        More pricks seldom bring more: how exactly they are set limits what is known.
        """
        low, high = self.difference - self.known_to, self.difference + self.known_to
        needed = max(high - self.ease[1], self.ease[0] - low)
        if needed > NEAR_ENOUGH:
            return ""
        return f": with a tolerance of {math.ceil(needed * 10.0) / 10.0:.1f} mm it would be good"

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
