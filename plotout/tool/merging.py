"""Cuts that lie apart as drawn, and run together since a tool takes a width away."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from plotout.geometry.grown import buffered
from plotout.geometry.nearest import connected
from plotout.geometry.polyline import is_closed
from plotout.geometry.strokes import FloatArray, Mark, Stroke, Work
from plotout.machine import Tool

_DRAWN = 0.02  # mm: lines nearer than this are drawn as one, such as the bar and stem of a T
_FINE = 16  # sides of a quarter of a round end
_MANY = 32  # cuts that another meets
_AT_ONCE = 1_000  # cuts looked at together, since each may meet very many


def run_together(
    pairs: Sequence[tuple[Stroke, Tool]], lines: Sequence[FloatArray]
) -> Iterator[str]:
    """Say in words which cuts within a card run together by their tool's kerf.

    lines: the middles of the open cuts, (n, 2), mm, as `shape.drawn` gives them with all others.
    A closed cut leaves its edge where it was drawn, an open one loses half a kerf on either side.
    Outlines lie where they were drawn, but a slit beside an opening in one may break into it.
    """
    wide = [
        (stroke, tool, line)
        for (stroke, tool), line in zip(pairs, lines, strict=True)
        if tool.kerf > 0.0 and stroke.card and _cuts(stroke)
    ]
    by_card = sorted(wide, key=lambda cut: cut[0].card)
    for card, members in groupby(by_card, key=lambda cut: cut[0].card):
        yield from _in_card(card, list(members))


def _cuts(stroke: Stroke) -> bool:
    return stroke.work in (Work.CUT, Work.PUNCH)


def _in_card(card: str, cuts: list[tuple[Stroke, Tool, FloatArray]]) -> Iterator[str]:
    inner = [cut for cut in cuts if cut[0].mark is not Mark.OUTLINE]
    if not inner:
        return
    kerf = max(tool.kerf for _, tool, _ in inner)
    drawn = _drawn([stroke for stroke, _, _ in inner])
    taken = _taken(inner, drawn)
    part = _parts(drawn)
    reported: set[tuple[int, int]] = set()
    apart = True
    for meeting in _meeting(taken):
        apart = apart and not len(meeting)
        of = part[meeting]
        for (one, other), (a, b) in zip(
            *(rows[of[:, 0] != of[:, 1]].tolist() for rows in (meeting, of)), strict=True
        ):
            if (a, b) in reported:
                continue
            reported |= {(a, b), (b, a)}
            yield (
                f"card '{card}': {_named(inner[one][0], drawn[one])} and "
                f"{_named(inner[other][0], drawn[other])} run together, since "
                f"{kerf:g} mm are cut away"
            )
    for stroke, _, _ in cuts:
        if (
            stroke.mark is Mark.OUTLINE
            and is_closed(stroke.points)
            and _may_part(stroke, taken, apart=apart)
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
    card: str,
    outline: Stroke,
    drawn: NDArray[np.object_],
    taken: NDArray[np.object_],
    kerf: float,
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


def _left(whole: BaseGeometry, cuts: NDArray[np.object_]) -> BaseGeometry:
    left = whole.difference(_united(cuts))
    large = [part for part in shapely.get_parts(left) if part.area > 1.0]
    return shapely.MultiPolygon(large)


def _united(cuts: NDArray[np.object_]) -> BaseGeometry:
    """Return what cuts take away together. Those that meet many are added last: of the teeth of a
    comb all the others lie apart, and to unite such cuts at once costs their number's square.
    """
    met = np.zeros(len(cuts), dtype=np.int64)
    for meeting in _meeting(cuts):
        met += np.bincount(meeting.ravel(), minlength=len(cuts))
    rest = shapely.disjoint_subset_union_all(cuts[met <= _MANY])
    return shapely.union(rest, shapely.union_all(cuts[met > _MANY]))


def _drawn(strokes: Sequence[Stroke]) -> NDArray[np.object_]:
    """Return what each cut takes away that is as wide as a drawn line, (n,)."""
    shapes = [_shape(stroke.points) for stroke in strokes]
    reach = [
        stroke.size / 2.0 if len(stroke.points) == 1 else _DRAWN / 2.0 for stroke in strokes
    ]  # fmt: skip
    return np.asarray(buffered(shapes, reach, quad_segs=_FINE))


def _taken(
    cuts: Sequence[tuple[Stroke, Tool, FloatArray]], drawn: NDArray[np.object_]
) -> NDArray[np.object_]:
    """Return what each cut takes away, (n,): of a closed one, what is drawn."""
    found = drawn.copy()
    wide = [
        index
        for index, (stroke, _, _) in enumerate(cuts)
        if len(stroke.points) > 1 and not is_closed(stroke.points)
    ]
    middles = [_shape(cuts[index][2]) for index in wide]
    reach = [cuts[index][1].kerf / 2.0 for index in wide]
    found[wide] = buffered(middles, reach, quad_segs=_FINE)
    return found


def _shape(points: FloatArray) -> BaseGeometry:
    if len(points) == 1:
        return shapely.Point(points[0])
    return shapely.Polygon(points) if is_closed(points) else shapely.LineString(points)


def _parts(shapes: NDArray[np.object_]) -> NDArray[np.int64]:
    """Return for each shape a number that those which touch, through others too, share, (n,)."""
    alone = np.arange(len(shapes))
    return connected(np.vstack([np.column_stack([alone, alone]), *_meeting(shapes)]))


def _meeting(shapes: NDArray[np.object_]) -> Iterator[NDArray[np.int64]]:
    """Give the pairs of shapes that meet, (k, 2), the lower number first, some shapes at a time."""
    tree = shapely.STRtree(shapes)
    for begin in range(0, len(shapes), _AT_ONCE):
        one, other = tree.query(shapes[begin : begin + _AT_ONCE], "intersects")
        pairs = np.column_stack([one + begin, other])
        yield pairs[pairs[:, 0] < pairs[:, 1]]


def _named(stroke: Stroke, shape: BaseGeometry) -> str:
    at = shape.centroid
    return f"the {stroke.mark} at x {at.x:.1f} mm, y {at.y:.1f} mm"
