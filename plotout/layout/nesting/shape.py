"""A card's shape for laying, and how it is moved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from plotout.geometry.polyline import moved, placing
from plotout.geometry.region import line_or_point
from plotout.geometry.sliding import along, sides_of, slide_left
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.model import Card, Placed

SIMPLE = 0.1
"""mm by which a shape may be larger than its card, to have fewer corners."""
_TOUCH = 0.002  # mm: so that cards which fit exactly are not judged too large
_ROUNDING = 1e-4
"""mm2 that two shapes may share because of rounding, for each mm round what they share.

A side of 500 mm may lie 0.0002 mm too far, and a corner stick in by 0.0005 mm, no more: an area
alone would let a corner in by 0.3 mm.
"""
_SEARCHED = 1e-8  # times that: where a shape is slid, its corners are as good as exact
_STEP = 0.001  # mm: how near a shape slides to what is in its way
_EXACT = 1e-6  # mm: the same where it is computed
_ROUNDS = 2  # left and down, and again
_BOXY = 0.85  # share of its bounds
_EDGE = 0.05  # mm: what is so near a cut-out's edge is not in it
_MANY = 60  # corners: a shape with fewer stays as it is


@dataclass(frozen=True, eq=False)
class Shape:
    """A card turned by `angle`, its bounds beginning at 0, 0.

    low: where the turned card's bounds begin before the shift to 0, 0. size: of its bounds.
    polygon: covers the card, with few corners; its cut-outs are open if asked.
    """

    card: Card
    angle: float
    low: tuple[float, float]
    size: tuple[float, float]
    polygon: Polygon
    _grown: dict[float, float] = field(default_factory=dict)

    @cached_property
    def area(self) -> float:
        """Area in mm2."""
        return float(self.polygon.area)

    @cached_property
    def boxy(self) -> bool:
        """Whether it nearly fills its bounds, so that they are what keeps others away."""
        return self.area > _BOXY * self.size[0] * self.size[1]

    @cached_property
    def key(self) -> bytes:
        """The same for shapes of the same form, of different cards perhaps."""
        return bytes(self.polygon.wkb)

    def with_gap(self, gap: float) -> float:
        """Return the area in mm2 with half the gap around it; slightly less, to be safe."""
        if gap not in self._grown:
            self._grown[gap] = float(0.998 * self.polygon.buffer(gap / 2.0).area)
        return self._grown[gap]

    def at(self, x: float, y: float) -> Polygon:
        """Return the polygon with the card's lower left bound at x, y."""
        return shifted(self.polygon, x, y)

    def placed(self, x: float, y: float) -> Placed:
        """Return the card as placed with its lower left bound at x, y."""
        return Placed(self.card, self.angle, (float(x - self.low[0]), float(y - self.low[1])))


def shape(card: Card, angle: float, *, inside: bool = False) -> Shape:
    """Return a card's shape, turned. inside: its cut-outs are free for other cards."""
    turned = moved(card.outline, placing(angle))
    low, high = turned.min(axis=0), turned.max(axis=0)
    polygon = body(card, placing(angle, (-low[0], -low[1])), inside=inside)
    simple: BaseGeometry = polygon
    if shapely.get_num_coordinates(polygon) > _MANY:
        simple = polygon.buffer(SIMPLE, join_style="mitre", mitre_limit=2.0).simplify(SIMPLE)
    return Shape(
        card,
        angle,
        (float(low[0]), float(low[1])),
        (float(high[0] - low[0]), float(high[1] - low[1])),
        simple if isinstance(simple, Polygon) else Polygon(polygon.exterior).buffer(SIMPLE),
    )


def body(card: Card, matrix: np.ndarray, *, inside: bool = False) -> Polygon:
    """Return the area that a card covers under a (2, 3) map.

    inside: without its cut-outs, but for those in which something else is worked.
    """
    whole = Polygon(moved(card.outline, matrix)).buffer(0.0)
    if not isinstance(whole, Polygon):  # a slit that touches the far side leaves slivers
        whole = max(whole.geoms, key=lambda part: part.area)
    if not inside:
        return Polygon(whole.exterior)
    holes = [Polygon(moved(one.points, matrix)).buffer(0.0) for one in _empty_cut_outs(card)]
    cut = whole.difference(shapely.union_all(holes)) if holes else whole
    return cut if isinstance(cut, Polygon) else Polygon(whole.exterior)


def _empty_cut_outs(card: Card) -> list[Stroke]:
    """Return a card's cut-outs in which nothing else of it is worked."""
    strokes = card.strokes
    which = [
        index
        for index, stroke in enumerate(strokes)
        if stroke.mark is Mark.CUTOUT and stroke.work is Work.CUT and stroke.closed
    ]
    if not which:
        return []
    within = shapely.buffer([Polygon(strokes[index].points) for index in which], -_EDGE)
    tree = shapely.STRtree([line_or_point(stroke.points) for stroke in strokes])
    cut_out, other = tree.query(within, predicate="intersects")
    own = np.array(which)
    worked = set(own[cut_out[own[cut_out] != other]].tolist())
    return [strokes[index] for index in which if index not in worked]


def shifted(polygon: Polygon, x: float, y: float) -> Polygon:
    """Return a polygon moved by x, y mm."""
    if len(polygon.interiors):
        return affinity.translate(polygon, x, y)
    return shapely.polygons(np.add(shapely.get_coordinates(polygon), (x, y)))  # three times faster


def slid(
    polygon: Polygon,
    size: tuple[float, float],
    corner: tuple[float, float],
    *,
    others: Sequence[Polygon],
    free: BaseGeometry,
    gap: float,
    reach: float,
) -> tuple[float, float]:
    """Slide a shape left and down as far as its neighbours allow, at most `reach` mm at a time.

    polygon: with its lower left bound at 0, 0. corner: where that bound is. size: of its bounds.
    Returns the new corner.
    """
    width, height = size
    box = shapely.box(
        corner[0] - _ROUNDS * reach - gap,
        corner[1] - _ROUNDS * reach - gap,
        corner[0] + width + gap,
        corner[1] + height + gap,
    )
    near = np.array(others, dtype=object)
    near = near[shapely.intersects(near, box)]
    shapely.prepare(near)
    low = free.bounds
    rectangle = free.equals(shapely.box(*low))

    def fits(x: float, y: float) -> bool:
        if x < low[0] or y < low[1]:
            return False
        here = shifted(polygon, x, y)
        if not rectangle and not free.covers(here):
            return False
        return clear(here, near, gap - _TOUCH)

    x, y = corner
    if rectangle and gap > _TOUCH:
        there = _slid_at_once(polygon, near, corner, low[:2], gap, reach)
        if fits(*there):  # measured once more, by other means
            return there
    for _ in range(_ROUNDS):
        x -= _most(lambda step, x=x, y=y: fits(x - step, y), min(reach, x - low[0]))
        y -= _most(lambda step, x=x, y=y: fits(x, y - step), min(reach, y - low[1]))
    return x, y


def _slid_at_once(
    polygon: Polygon,
    near: NDArray[np.object_],
    corner: tuple[float, float],
    low: tuple[float, float],
    gap: float,
    reach: float,
) -> tuple[float, float]:
    """Slide as in `slid`, where there is a gap to keep and the sheet is a rectangle."""
    sides = sides_of(*shapely.get_coordinates(shapely.get_rings(near), return_index=True))
    moving = sides_of(*shapely.get_coordinates(shapely.get_rings(polygon), return_index=True))
    others = [along(axis, sides) for axis in (0, 1)]
    at = np.array(corner)
    for axis in (0, 1) * _ROUNDS:
        far = min(reach, float(at[axis] - low[axis]))
        if far > 0.0:
            step = slide_left(along(axis, moving + at), others[axis], gap, far)
            step = step if step == far else max(step - _EXACT, 0.0)
            at[axis] = max(float(at[axis] - step), low[axis])
    return float(at[0]), float(at[1])


def clear(here: Polygon, near: NDArray[np.object_], gap: float) -> bool:
    """Return whether a shape keeps `gap` mm from all the others and overlaps none of them."""
    if not len(near):
        return True
    if gap > 0.0:
        return not shapely.dwithin(near, here, gap).any()
    touching = near[shapely.intersects(near, here)]
    return not len(touching) or not overlaps(touching, here, _SEARCHED).any()


def overlaps(some: NDArray[np.object_], other: BaseGeometry, times: float = 1.0) -> NDArray[Any]:
    """Return the area in mm2 that each of some shapes shares with another one.

    It is 0 for what comes of rounding alone. times: how much more of that is passed over.
    """
    shared = shapely.intersection(some, other)
    area = shapely.area(shared)
    return np.where(area > times * _ROUNDING * shapely.length(shared), area, 0.0)


def _most(may: object, reach: float) -> float:
    """Return the greatest allowed step up to `reach`, to 0.001 mm."""
    assert callable(may)
    if reach <= 0.0:
        return 0.0
    if may(reach):
        return reach
    done, step = 0.0, reach / 2.0
    while step > _STEP:
        if may(done + step):
            done += step
        step /= 2.0
    return done
