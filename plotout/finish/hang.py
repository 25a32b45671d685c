"""Where cards are punched, so that they hang plumb, as one set, and no hole tears out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from plotout.finish.card_marks import clear_of, free_area
from plotout.geometry.grown import buffered
from plotout.geometry.region import lines_in, polygons
from plotout.geometry.strokes import FloatArray

EDGE = 6.0  # mm of card round the hole; common practice, about a hole's width
MARK = 2.0  # mm between the hole and a line or letter
SAME = 0.05  # mm
_DART = 60.0  # mm: no dart is wider at its mouth; common practice
_LOW = 2.0  # times the inset asked for: a lower hole is no longer near the card's top
_GAP = 20.0  # mm2: a smaller one is no dart

Room = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Plumb:
    """The vertical through a card's centre of area, and where on it a hole is safe.

    x, top: of the card's top edge there, mm. rooms: the ranges below it, mm, in which the hole's
    centre may lie, the highest first; none where no place is safe.
    """

    x: float
    top: float
    rooms: tuple[Room, ...]

    def nearest(self, inset: float) -> float | None:
        """Return the safe inset nearest to this one, mm, or None."""
        safe = [min(max(inset, least), most) for least, most in self.rooms]
        return min(safe, key=lambda value: abs(value - inset), default=None)


def plumb(
    card: BaseGeometry,
    uncut: BaseGeometry,
    cuts: Sequence[BaseGeometry],
    taken: Sequence[BaseGeometry],
    size: float,
    sewn: FloatArray | None = None,
) -> Plumb:
    """Return where a hole `size` mm wide is safe on a card.

    It lies above the centre of area, with at least EDGE mm of card around it, and MARK mm clear of
    everything `taken`; EDGE mm clear of `cuts`, and MARK of darts, where there is such a place.
    uncut: the card before it is notched: a notch in its top edge doesn't move that edge, and the
    hole of such a card hangs beside the others. sewn: the stitching line, (n, 2), if it is known.
    """
    centre = card.centroid
    low, high = uncut.bounds[1] - 1.0, uncut.bounds[3] + 1.0
    line = LineString([(centre.x, low), (centre.x, high)])
    top = max((part.bounds[3] for part in lines_in(uncut.intersection(line))), default=centre.y)
    whole = free_area(card, size / 2.0 + EDGE, taken, size / 2.0 + MARK)
    lowest = centre.y + size
    rooms: list[Room] = []
    darts = [] if sewn is None else _darts(sewn)
    for gaps, reach in ((darts, EDGE), (darts, MARK), ([], EDGE), ([], MARK)):
        room = whole.difference(clear_of(cuts, size / 2.0 + reach)).intersection(line)
        room = room.difference(clear_of(gaps, size / 2.0 + MARK))
        spans = [(part.bounds[1], part.bounds[3]) for part in lines_in(room)]
        rooms = [(top - end, top - max(begin, lowest)) for begin, end in spans if end > lowest]
        if rooms:
            break
    return Plumb(centre.x, top, tuple(sorted(rooms)))


def _darts(sewn: FloatArray) -> list[BaseGeometry]:
    """Return what lies between parts of a stitching line at most a dart's width apart."""
    piece = Polygon(sewn).buffer(0.0)
    wide = buffered(piece, _DART / 2.0, join_style="mitre")
    closed = buffered(wide, -_DART / 2.0, join_style="mitre")
    return [gap for gap in polygons(closed.difference(piece)) if gap.area > _GAP]


def common_inset(plumbs: Sequence[Plumb], wanted: float) -> float:
    """Return the inset in mm that most cards can have; of several, the nearest to `wanted`.

    None much lower, if any card can have another: a card is punched near its top.
    """
    ends = {end for one in plumbs for room in one.rooms for end in room}
    places = sorted({wanted, *ends}, key=lambda at: (abs(at - wanted), at))

    card = np.array([index for index, one in enumerate(plumbs) for _ in one.rooms], dtype=np.int64)
    least, most = np.array([room for one in plumbs for room in one.rooms]).reshape(-1, 2).T

    def having(inset: float) -> int:
        in_room = (least - inset < 1e-9) & (inset - most < 1e-9)
        return len(set(card[in_room].tolist()))

    near = [at for at in places if at <= _LOW * wanted and having(at)]
    return max(near or places, key=having)  # the first of several


def hole_place(
    on: Plumb, inset: float, wanted: float, size: float
) -> tuple[tuple[float, float] | None, str]:
    """Return the hole's centre, or None where no place is safe, and a warning or "".

    inset: the set's own, mm; wanted: the one asked for. A card without room for its hole there has
    it in the nearest safe place.
    """
    found = on.nearest(inset)
    if found is None:
        return None, (
            f"no place on the vertical through its centre of area is safe for the {size:.4g} mm "
            "hanging hole; punch it by hand, or give the set a smaller hole"
        )
    warning = ""
    if abs(found - inset) > SAME:
        warning = (
            f"the hanging hole is not {inset:.1f} mm from the top, as on the other cards, but in "
            "the nearest place where shape and marks leave room"
        )
    elif abs(inset - wanted) > SAME:
        warning = (
            f"the hanging hole is {inset:.1f} mm from the top, where most cards of the set have "
            f"room, not {wanted:.1f} mm: fewer cards have room there"
        )
    return (on.x, on.top - found), warning


def disc(at: tuple[float, float], size: float) -> BaseGeometry:
    """Return the hole with the margin of card that must stay clear around it."""
    return Point(at).buffer(size / 2.0 + MARK)
