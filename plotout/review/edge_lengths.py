"""Whether edges may be of one length, as surely as their lengths are known."""

from __future__ import annotations

from plotout.geometry.polyline import length
from plotout.geometry.sureness import Known, known_together
from plotout.pattern.model import Edge

HARDLY_KNOWN = 5.0  # mm: a length that is less surely known is as long as nothing (judgement)


def as_long(first: Edge, second: Edge, slack: float) -> bool:
    """Return whether two edges differ by no more than `slack`, mm, or than two sigma beyond it.

    Those that were pricked are as long if their pricks don't show otherwise.
    """
    apart = abs(length(first.points) - length(second.points))
    if apart <= slack:
        return True
    known = known_together(Known(edge.known_to, edge.unproved) for edge in (first, second)).to
    return known <= HARDLY_KNOWN and apart <= slack + known
