"""Lays a roll with the strip-packing engine."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence

import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from plotout.layout.nesting.engine import Found, Task, lays
from plotout.layout.nesting.filling import Filling, Ground, Turned
from plotout.layout.nesting.shape import SIMPLE
from plotout.model import Placed

_LATE = 2.0  # s: the engine takes this long to start and stop
_ROUND = 1.02  # a round corner is made of straight lines, enlarged so that none is inside it


def shorter(
    turned: Sequence[Turned],
    ground: Ground,
    seconds: float,
    seed: int,
    tell: Callable[[float], None],
    goal: float = 0.0,
) -> Iterator[Filling]:
    """Yield ever shorter lays of all cards on one length of roll, or on one sheet.

    goal: used length at which to stop, mm. Nothing for stock that is not a plain rectangle, or a
    card that fills its whole width.
    """
    sheet, gap = ground.sheet, ground.gap
    half = _ROUND * gap / 2.0 + SIMPLE / 3.0 if gap else 0.0
    height = sheet.room[1] + gap
    tallest = max(min(size for shape in shapes for size in shape.size) for shapes in turned)
    if ground.held or sheet.outline is not None:
        return
    if tallest + 2.0 * (half + SIMPLE) >= height:
        return
    polygons = []
    for shapes in turned:
        upright = shapes[0]
        grown: BaseGeometry = upright.polygon
        if gap:  # without a gap shapes are exact: parts of one piece may fit together again
            grown = grown.buffer(half, quad_segs=4).simplify(SIMPLE / 4.0)
        back = affinity.rotate(
            affinity.translate(grown, *upright.low), -upright.angle, origin=(0.0, 0.0)
        )
        polygons.append([(float(x), float(y)) for x, y in shapely.get_coordinates(back)[:-1]])
    task = Task(height, polygons, sheet.angles, max(1, round(seconds)), seed, goal + gap)
    begun = time.monotonic()
    for found in lays(task):
        spent = time.monotonic() - begun
        tell(min(1.0, spent / seconds))
        if spent > seconds + _LATE:
            return
        if found is not None and found.length <= sheet.room[0] + gap:
            yield _filling(found, turned, ground)


def _filling(found: Found, turned: Sequence[Turned], ground: Ground) -> Filling:
    left, bottom = ground.sheet.inner[:2]
    filling = Filling(ground)
    for index, angle, x, y in found.spots:
        shift = (x + left - ground.gap / 2.0, y + bottom - ground.gap / 2.0)
        placed = Placed(turned[index][0].card, round(angle, 6) % 360.0, shift)
        filling.placed.append(placed)
        filling.right = max(filling.right, float(placed.outline[:, 0].max()))
    return filling
