"""Cuts that lie apart as drawn, and run together since a tool takes a width away."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from plotout.geometry.polyline import is_closed
from plotout.geometry.strokes import Mark, Stroke, Work
from plotout.machine import Tool
from plotout.tool.kerf import shortened

_DRAWN = 0.02  # mm: lines nearer than this are drawn as one, such as the bar and stem of a T


def run_together(
    pairs: Sequence[tuple[Stroke, Tool]], edges: Mapping[str, BaseGeometry]
) -> Iterator[str]:
    """Say in words which cuts within a card run together by their tool's kerf.

    edges: the cards' outlines, at which open cuts begin.
    A closed cut leaves its edge where it was drawn, an open one loses half a kerf on either side.
    Outlines lie where they were drawn, but a slit beside an opening in one may break into it.
    """
    wide = [pair for pair in pairs if pair[1].kerf > 0.0 and pair[0].card and _cuts(pair[0])]
    by_card = sorted(wide, key=lambda pair: pair[0].card)
    for card, members in groupby(by_card, key=lambda pair: pair[0].card):
        yield from _in_card(card, list(members), edges.get(card))


def _cuts(stroke: Stroke) -> bool:
    return stroke.work in (Work.CUT, Work.PUNCH)


def _in_card(
    card: str, pairs: list[tuple[Stroke, Tool]], edge: BaseGeometry | None
) -> Iterator[str]:
    inner = [pair for pair in pairs if pair[0].mark is not Mark.OUTLINE]
    if not inner:
        return
    kerf = max(tool.kerf for _, tool in inner)
    drawn = np.array([_drawn(stroke) for stroke, _ in inner])
    taken = np.array([_taken(stroke, tool, edge) for stroke, tool in inner])
    part = _parts(drawn)
    reported = set()
    meeting = shapely.STRtree(taken).query(taken, "intersects")
    for one, other in np.sort(meeting.T, axis=1).tolist():
        if part[one] != part[other] and (part[one], part[other]) not in reported:
            reported |= {(part[one], part[other]), (part[other], part[one])}
            yield (
                f"card '{card}': {_named(inner[one][0], drawn[one])} and "
                f"{_named(inner[other][0], drawn[other])} run together, since "
                f"{kerf:g} mm are cut away"
            )
    for stroke, _ in pairs:
        if (
            stroke.mark is Mark.OUTLINE
            and is_closed(stroke.points)
            and _may_part(stroke, taken, apart=meeting.shape[1] == len(taken))
        ):
            yield from _loose(card, stroke, drawn, taken, kerf)


def _may_part(outline: Stroke, taken: np.ndarray, *, apart: bool) -> bool:
    """Return whether cuts may divide a card: much quicker than to divide it.

    Cuts that lie apart can't, unless one closes on itself or meets the card's edge twice.
    apart: whether none of them meets another.
    """
    if not apart or shapely.get_num_interior_rings(taken).any():
        return True
    where = shapely.intersection(taken, shapely.LinearRing(outline.points))
    divided = shapely.get_type_id(where) == shapely.GeometryType.MULTILINESTRING
    where[divided] = shapely.line_merge(where[divided])  # where the outline's own start lies in it
    return bool((shapely.get_num_geometries(where) > 1).any())


def _loose(
    card: str, outline: Stroke, drawn: BaseGeometry, taken: BaseGeometry, kerf: float
) -> Iterator[str]:
    """Say what falls out of a card that the lines as drawn would have left in it."""
    whole = shapely.Polygon(outline.points)
    meant = shapely.get_num_geometries(_left(whole, drawn))
    left = shapely.get_parts(_left(whole, taken))
    for part in sorted(left, key=lambda shape: -shape.area)[meant:]:
        at = part.representative_point()
        yield (
            f"card '{card}': a piece falls out of it at x {at.x:.1f} mm, y {at.y:.1f} mm, since "
            f"{kerf:g} mm are cut away beside it"
        )


def _left(whole: BaseGeometry, cuts: BaseGeometry) -> BaseGeometry:
    left = whole.difference(shapely.union_all(cuts))
    large = [part for part in shapely.get_parts(left) if part.area > 1.0]
    return shapely.MultiPolygon(large)


def _drawn(stroke: Stroke) -> BaseGeometry:
    if len(stroke.points) == 1:
        return shapely.Point(stroke.points[0]).buffer(stroke.size / 2.0)
    if is_closed(stroke.points):
        return shapely.Polygon(stroke.points).buffer(_DRAWN / 2.0)
    return shapely.LineString(stroke.points).buffer(_DRAWN / 2.0)


def _taken(stroke: Stroke, tool: Tool, edge: BaseGeometry | None) -> BaseGeometry:
    if len(stroke.points) == 1 or is_closed(stroke.points):
        return _drawn(stroke)
    line = shortened(stroke.points, stroke.mark, tool.kerf, edge)
    middle = shapely.LineString(line) if len(line) > 1 else shapely.Point(line[0])
    return middle.buffer(tool.kerf / 2.0)


def _parts(shapes: np.ndarray) -> list[int]:
    """Return for each shape a number that those which touch, through others too, share."""
    part = list(range(len(shapes)))
    for one, other in shapely.STRtree(shapes).query(shapes, "intersects").T.tolist():
        if part[one] != part[other]:
            old, new = part[other], part[one]
            part = [new if number == old else number for number in part]
    return part


def _named(stroke: Stroke, shape: BaseGeometry) -> str:
    at = shape.centroid
    return f"the {stroke.mark} at x {at.x:.1f} mm, y {at.y:.1f} mm"
