"""Precedence of cuts: inner before outer, and all of a card before it is free."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from plotout.geometry.polyline import length
from plotout.geometry.region import line_shapes
from plotout.geometry.strokes import FloatArray, Mark, Work
from plotout.route.line import RouteLine

Ints = NDArray[np.int64]

TOUCH = 0.02
"""mm by which a line may lie outside a contour and still count as inside: a card's slits begin on
its outline, and rounding may put those of a turned card just beyond it."""


def after(lines: Sequence[RouteLine]) -> Ints:
    """Return for every line to cut the one that must come after it, -1 for none, (n,).

    That is the smallest closed line around it. All cuts on a card come before the card's outline;
    if that is in several parts (on a roll worked in frames, or where two cards share an edge),
    before the longest of them.
    """
    found = np.full(len(lines), -1, dtype=np.int64)
    cut = [index for index, line in enumerate(lines) if line.stroke.work is Work.CUT]
    closed = [index for index in cut if lines[index].stroke.closed and lines[index].long]
    if closed:
        _within_contours(lines, closed, found)
    _before_outlines(lines, cut, found)
    return found


def _within_contours(lines: Sequence[RouteLine], closed: Sequence[int], found: Ints) -> None:
    """Set for every line the smallest of the closed ones around it."""
    areas = [shapely.Polygon(lines[index].points) for index in closed]
    valid = [area if area.is_valid else shapely.make_valid(area) for area in areas]
    size = [area.area for area in valid]
    own = dict(zip(closed, size, strict=True))
    least: dict[int, int] = {}
    for k, j in _pairs([line.points for line in lines], np.array(valid)):
        # equal contours are not inside one another
        if closed[j] == k or (k in own and own[k] >= size[j]):
            continue
        if k not in least or size[j] < size[least[k]]:
            least[k] = j
    for k, j in least.items():
        found[k] = closed[j]


def _pairs(runs: Sequence[FloatArray], areas: NDArray[np.object_]) -> list[tuple[int, int]]:
    """Return pairs of polylines, (n, 2), and the areas that hold them within TOUCH mm; sorted."""
    shapes = line_shapes([np.vstack([run, run[-1:]]) for run in runs])
    inner, outer = shapely.STRtree(areas).query(shapes, predicate="intersects")
    box, room = shapely.bounds(shapes)[inner], shapely.bounds(areas)[outer]
    fits = (box[:, :2] >= room[:, :2] - TOUCH).all(axis=1)
    fits &= (box[:, 2:] <= room[:, 2:] + TOUCH).all(axis=1)
    inner, outer = inner[fits], outer[fits]
    sure = shapely.within(shapes[inner], areas[outer])
    doubted = np.flatnonzero(~sure)
    if len(doubted):
        used, which = np.unique(outer[doubted], return_inverse=True)
        wider = shapely.buffer(areas[used], TOUCH)
        sure[doubted] = shapely.within(shapes[inner[doubted]], wider[which])
    return sorted(zip(inner[sure].tolist(), outer[sure].tolist(), strict=True))


def _before_outlines(lines: Sequence[RouteLine], cut: Sequence[int], found: Ints) -> None:
    """Put every cut of a card before the card's outline, whose longest part comes last."""
    last: dict[str, int] = {}
    for index in cut:
        stroke = lines[index].stroke
        if stroke.mark is Mark.OUTLINE and stroke.card:
            known = last.get(stroke.card)
            if known is None or length(stroke.points) > length(lines[known].points):
                last[stroke.card] = index
    for index in cut:
        card = lines[index].stroke.card
        end = last.get(card, index)
        held = found[index] >= 0 and lines[found[index]].stroke.card == card
        if not held and index not in _chain(end, found):
            found[index] = end


def _chain(index: int, found: Ints) -> set[int]:
    """Return a line and all that must come after it."""
    chain = set()
    while index >= 0 and index not in chain:
        chain.add(index)
        index = int(found[index])
    return chain
