"""Finds slits of which one side goes on from its seam otherwise than the other.

Noted, never corrected. Closed, a slit's two sides lie on each other, so that they are at one angle
to their seam (by geometry); that a bend of a few degrees on one side alone isn't meant is common
practice, from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from plotout.geometry.polyline import length
from plotout.pattern.model import PatternSet, Seam
from plotout.pattern.sides import chains, sewn_edges
from plotout.pattern.true_measure import bow
from plotout.review.hems_met import Beside, beside

_OFF = 1.0  # degrees between both sides that are asked about
_GOES_ON = 10.0  # degrees off the line of the seam: more is a corner, as that of a vent
_STRAIGHT, _LONG = 1.0, 30.0  # mm by which a slit's side may bow; length that it has at least


def slit_doubts(seams: Sequence[Seam], pattern_set: PatternSet) -> Iterator[str]:
    """Yield the seams past whose end two straight edges in no seam go on at unlike angles.

    seams: those that can be walked. Edges that are pricked are not known so well.
    """
    sewn = sewn_edges(pattern_set.seams)
    for seam in seams:
        sides = () if seam.of_one_edge else chains(seam, pattern_set.piece)
        for last in (False, True):
            ends = [end for side in sides if (end := beside(side, last=last)) is not None]
            free = [end for end in ends if (end.piece.name, end.edge.name) not in sewn]
            if len(free) < 2 or not all(map(_goes_on, free)):
                continue
            one, other = free
            if abs(one.corner - other.corner) > _OFF:
                yield (
                    f"seam '{seam.name}': past its {'end' if last else 'start'} "
                    f"'{one.edge.name}' of '{one.piece.name}' lies at {one.corner:.1f} degrees to "
                    f"it, but '{other.edge.name}' of '{other.piece.name}' at {other.corner:.1f}: "
                    "closed, these sides of a slit would not lie on each other: is one off?"
                )


def _goes_on(end: Beside) -> bool:
    straight = bow(end.edge.points) <= _STRAIGHT and length(end.edge.points) >= _LONG
    drawn = end.edge.known_to == 0.0
    return straight and drawn and abs(end.corner - 180.0) <= _GOES_ON
