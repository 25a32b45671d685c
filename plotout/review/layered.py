"""Whether the two sides of a seam may be layers, which lie on each other once they are turned.

Their allowances are graded (common practice): a facing, an under collar, the back of a flap. Not so
those of a tube's own seam, of a crown and the ring that it is set into, and of panels beside each
other. Where nothing shows it, they may be.
"""

from __future__ import annotations

from plotout.geometry.polyline import signed_area
from plotout.pattern.chain import Chain
from plotout.pattern.cloths import share_a_cloth
from plotout.pattern.model import PatternSet
from plotout.pattern.number_cut import Key, Sides
from plotout.pattern.sides import sewn_edges
from plotout.review.edges_met import edges_met
from plotout.review.ends_alike import end_alike
from plotout.review.grain_doubts import bent
from plotout.review.hems_met import beside
from plotout.review.side_doubts import are_panels, one_side

_NARROW = 15.0  # times as long as wide (estimated); a disc of one edge counts as 12.6
_AS_WIDE = 0.5  # times the wider of two panels that the other is at least: a facing is narrower


def may_be_layers(sides: Sides, pattern_set: PatternSet) -> bool:
    """Return whether nothing shows that the sides of a seam are no layers."""
    within = {link.piece.name for side in sides for link in side.links}
    set_in = bent(sides) and not any(map(_is_strip, sides))
    return len(within) > 1 and not set_in and not _are_side_by_side(sides, pattern_set)


def _is_strip(side: Chain) -> bool:
    """Return whether a side is one piece, narrow for its seam: a casing or a facing, as a layer."""
    pieces = {link.piece.name: link.piece for link in side.links}
    area = sum(abs(signed_area(piece.outline)) for piece in pieces.values())
    return len(pieces) == 1 and area < side.own**2 / _NARROW


def _are_side_by_side(sides: Sides, pattern_set: PatternSet) -> bool:
    """Return whether two pieces are panels about as wide, which go on into each other at both ends
    of their seam. Past a flap's seam there are both ends of one edge, or its sides are sewn, too.
    """
    one, other = map(one_side, sides)
    if one is None or other is None or not are_panels(one, other):
        return False
    (_, wide), (_, its) = one.extent, other.extent
    if min(wide, its) < _AS_WIDE * max(wide, its):
        return False
    if not share_a_cloth(one.piece, other.piece, pattern_set.say):
        return False
    return end_alike(*sides, sewn_edges(pattern_set.seams)) and not _are_turned(sides, pattern_set)


def _are_turned(sides: Sides, pattern_set: PatternSet) -> bool:
    """Return whether a seam goes round two layers: past its ends lies one edge of a piece, or edges
    that are sewn to each other.
    """
    met = edges_met(pattern_set.seams)
    past = [tuple(_past(side, last=last) for side in sides) for last in (False, True)]
    return any(before == after for before, after in zip(*past, strict=True)) or any(
        its in met.get(own, set()) for own, its in past
    )


def _past(side: Chain, *, last: bool) -> Key:
    """Return the edge past an end of a side of which that isn't a fold."""
    end = beside(side, last=last)
    assert end is not None
    return end.piece.name, end.edge.name
