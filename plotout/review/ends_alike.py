"""Whether what two pieces have past both ends of their seam goes on from one to the other.

So it is of panels beside each other. By topology; the angle is estimated.
"""

from __future__ import annotations

from collections.abc import Iterator, Set

from plotout.pattern.chain import Chain
from plotout.pattern.number_cut import Key
from plotout.review.hems_met import Beside, beside

_STRAIGHT, _GOES_ON = 180.0, 90.0  # degrees by which two edges that go on may turn: an armhole


def end_alike(one: Chain, other: Chain, sewn: Set[Key]) -> bool:
    """Return whether the edges past both ends of a seam go on into each other: both are sewn to
    something, or neither is.
    """
    return all(
        first is not None
        and second is not None
        and _goes_on(first, second)
        and (_key(first) in sewn) == (_key(second) in sewn)
        for first, second in _past(one, other)
    )


def open_ended(one: Chain, other: Chain, sewn: Set[Key]) -> bool:
    """Return whether edges to which nothing is sewn go on into each other at both ends."""
    ends = [end for both in _past(one, other) for end in both if end is not None]
    return end_alike(one, other, sewn) and not any(_key(end) in sewn for end in ends)


def _past(one: Chain, other: Chain) -> Iterator[tuple[Beside | None, Beside | None]]:
    return ((beside(one, last=last), beside(other, last=last)) for last in (False, True))


def _goes_on(one: Beside, other: Beside) -> bool:
    return abs(one.corner + other.corner - _STRAIGHT) <= _GOES_ON


def _key(end: Beside) -> Key:
    return end.piece.name, end.edge.name
